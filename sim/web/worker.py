"""The process that does the work: it takes one job at a time and says how far it is."""

import sys
import traceback
from collections.abc import Callable
from dataclasses import dataclass, field
from multiprocessing.connection import Connection
from typing import Any, Generic, Literal, NamedTuple, TypeVar

from hydraulics.errors import FilterrunError
from plots.words import Sentence, speaking, spoken
from sim.errors import CaseError, Problem
from sim.processes import serve_parent
from sim.study.compare import plain_first
from sim.web.errors import Refused

Tell = Callable[[Sentence], None]
Kind = Literal["told", "done", "refused"]
T_co = TypeVar("T_co", covariant=True)


@dataclass(frozen=True, slots=True)
class Job(Generic[T_co]):
    """One piece of work: a function of a module, and its arguments, which tell the job from others.

    The function takes `Tell` after them, and travels to the worker by its name. `longest`: seconds that the job may
    take where that is not the usual time. `given` follows from the arguments: what an earlier job made, passed first.
    `language`: what its answer is said in, that of whoever asks.
    """

    function: Callable[..., T_co]
    args: tuple[Any, ...]
    longest: float | None = None
    given: bytes | None = field(default=None, compare=False)
    language: str = field(default_factory=spoken)


class Message(NamedTuple):
    """What a worker says of its job: how far it is, its result, or why there is none."""

    kind: Kind
    value: Any


def work(pipe: Connection) -> None:
    """Do the jobs that come through the pipe until it is closed."""
    serve_parent()
    while True:
        try:
            job = pipe.recv()
        except (EOFError, OSError):
            return
        pipe.send(_done(job, lambda words: pipe.send(Message("told", words))))


def _done(job: Job[Any], tell: Tell) -> Message:
    given = () if job.given is None else (job.given,)
    try:
        with speaking(job.language), plain_first(lambda: None):
            return Message("done", job.function(*given, *job.args, tell))
    except Refused as refused:
        return Message("refused", refused)
    except CaseError as error:
        return Message("refused", case_refused(error))
    except FilterrunError as error:
        return Message("refused", Refused(422, one_sentence(str(error))))
    except Exception:
        traceback.print_exc(file=sys.stderr)
        return Message("refused", Refused(500, "This could not be worked out; the terminal of the page says why."))


def case_refused(error: CaseError) -> Refused:
    """Every problem of a case; its one sentence is on the first of them."""
    first = error.problems[0]
    more = "" if len(error.problems) == 1 else f"; {error.count} in all"
    return Refused(422, one_sentence(f"{_where(first)}{first.given}; allowed is {first.allowed}{more}"),
                   [_told(each) for each in error.problems], [each.key for each in error.problems])  # fmt: skip


def _told(problem: Problem) -> str:
    line = "" if problem.line is None else f"line {problem.line}, "
    return f"{line}{_where(problem)}{problem.given}. Allowed: {problem.allowed}. Try: {problem.try_}."


def _where(problem: Problem) -> str:
    return f"{problem.key}: " if problem.key else ""


def one_sentence(text: str) -> str:
    """Text on one line that ends with a full stop."""
    line = " ".join(text.split())
    return line if line.endswith(".") else f"{line}."
