"""Whether runs have compiled code, and plain Python at once, for a first answer, while another process makes it.

Both give the same to the bit. Making it takes as long as hundreds of runs by it, so many runs wait for it.
"""

import contextlib
import gc
import os
import subprocess
import sys
from collections.abc import Callable, Iterator
from functools import cache
from pathlib import Path
from typing import Any

from hydraulics.compiled import compile_entry, is_compiled, kept_mark, used_fields
from sim.plant.damage import lose_capacity, lose_media, mudball
from sim.plant.figures import read_at, read_vessel, return_rise, run_figures, service_flow
from sim.plant.kernel import advance
from sim.plant.layout import DTYPES
from sim.plant.unit import asked_flow
from sim.plant.washing import (
    begin_step,
    bring_up,
    end_step,
    find_row,
    hold_anew,
    hold_unit,
    return_to_service,
    set_wash_flow,
    set_watch,
    stand_by,
    start,
)
from sim.processes import safely

try:
    import fcntl
except ImportError:  # no such locks on this system: the first run waits
    fcntl = None  # type: ignore[assignment]

OFTEN = (
    advance, asked_flow, begin_step, bring_up, end_step, hold_unit, return_to_service, run_figures, set_watch,
    stand_by, start,
)  # fmt: skip
SELDOM = (
    find_row, hold_anew, lose_capacity, lose_media, mudball, read_at, read_vessel, return_rise, service_flow,
    set_wash_flow,
)  # fmt: skip
"""These take all that `advance` takes, and so share with it what they call."""
COURTESY = 10  # how much less urgent it is to make compiled code than what a person waits for

_told: Callable[[], None] | None = None
_ran_plain = _is_made = False
_makers: list[subprocess.Popen[bytes]] = []


@contextlib.contextmanager
def plain_first(told: Callable[[], None] | None) -> Iterator[None]:
    """Runs that begin within this do not wait for compiled code; `told` is called where it has to be made.

    None: they do wait. `all_compiled` is asked of runs from here on.
    """
    global _ran_plain
    _ran_plain = False
    with waiting(told):
        yield


@contextlib.contextmanager
def waiting(told: Callable[[], None] | None = None) -> Iterator[None]:
    """Runs that begin within this wait for compiled code, whatever is said around it."""
    global _told
    before, _told = _told, told
    try:
        yield
    finally:
        _told = before


def all_compiled() -> bool:
    """Whether all runs have been compiled since `plain_first` was last said."""
    return is_compiled() and not _ran_plain


@cache
def entry(verb: Any, compiled: bool) -> tuple[Any, frozenset[str]]:
    """What runs a verb, and the tables that it takes; the others are None."""
    used = used_fields(verb, DTYPES) | (used_fields(advance, DTYPES) if verb in SELDOM else frozenset())
    return compile_entry(verb, DTYPES, used) if compiled else verb, used


def has_compiled() -> bool:
    """Whether a run that begins now has compiled code, which it has made here, or waits for, unless `plain_first`."""
    global _ran_plain, _is_made
    lacking = _lacking()
    if lacking is not None:
        if _told is not None:
            if not _ran_plain:
                _told()
                _have_made(lacking)
            _ran_plain = True
            return False
        with _lock(lacking).open("w") as lock:
            fcntl.flock(lock, fcntl.LOCK_SH)
    _is_made = is_compiled()
    return _is_made


def is_lacking() -> bool:
    """Whether there is no compiled code yet and runs may begin without."""
    return _lacking() is not None


def _lacking() -> Path | None:
    """The mark of compiled code that is to be made meanwhile; with FILTERRUN_PLAIN=0 runs wait for it."""
    if _is_made or fcntl is None or os.environ.get("FILTERRUN_PLAIN") == "0" or not is_compiled():
        return None
    mark = _mark()
    return None if mark is None or mark.exists() else mark


def _mark() -> Path | None:
    return kept_mark(*OFTEN, *SELDOM)


def _lock(mark: Path) -> Path:
    """Locked as long as a process makes compiled code."""
    return mark.with_name("making")


def _have_made(mark: Path) -> None:
    """Start a process that makes it, unless there is one; no failure matters here."""
    here = str(Path(__file__).parents[2])
    script = f"import sys; sys.path.insert(0, {here!r}); from sim.plant.made import make; make()"
    with contextlib.suppress(OSError), _lock(mark).open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)  # the other process has it too, and gives it back as it ends
        with safely():
            maker = subprocess.Popen(
                [sys.executable, "-c", script], stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL,
                stderr=subprocess.DEVNULL, pass_fds=[lock.fileno()], start_new_session=True,
            )  # fmt: skip
        _makers.append(maker)


def make() -> None:
    """Compile all verbs into the cache, and mark that they are there."""
    gc.disable()  # there is enough memory for it, and a fifth of the time
    os.nice(COURTESY)
    for verb in OFTEN + SELDOM:
        entry(verb, True)
    mark = _mark()
    if mark is not None:
        mark.touch()
