"""`filterrun new FILE`: a commented case from a few numbers, given as options or asked for at a terminal."""

import os
import shlex
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any, TypeVar

import click

from sim.case.new.questions import BY_KEY, QUESTIONS, Question
from sim.cli.options import quiet_option

F = TypeVar("F", bound=Callable[..., Any])


def answer_options(function: F) -> F:
    """Add an option for every question."""
    for question in reversed(QUESTIONS):
        option = click.option(f"--{question.key}", metavar=question.hint, help=_help(question))
        function = option(function)
    return function


def _help(question: Question) -> str:
    examples = dict.fromkeys(question.examples.values())
    absent = "Needed." if question.needed else f"Without it: {question.otherwise}."
    return f"{question.words}, as in {' or '.join(examples)}. {absent}"


@click.command("new")
@click.argument("file", metavar="FILE", type=click.Path(path_type=Path))
@answer_options
@click.option("--force", is_flag=True, help="Write over FILE if it exists.")
@quiet_option
def command(file: Path, force: bool, quiet: bool, **texts: str | None) -> None:
    """Write a commented case to FILE that compare accepts at once.

    What is not given is asked for at a terminal, unless with --quiet. Every other value is taken from what is usual
    and marked in the file: "# assumed: low / typical / high, source".
    """
    from sim.case.new.answers import answers_of
    from sim.case.new.writing import new_case
    from sim.cli.asking import a_person_is_there, ask
    from sim.study.files import write_all

    _refuse_place(file, force)
    person = a_person_is_there() and not quiet
    values = _read_options({key: text for key, text in texts.items() if text is not None}, complete=not person)
    if person:
        values = ask(values)
    made = new_case(answers_of(values), file)
    write_all({file: made.text})
    if not quiet:
        _say_made(file, made.remarks, len(made.case.assumptions), made.case.constants)


def _refuse_place(file: Path, force: bool) -> None:
    """RequestError, before anything is asked, if FILE cannot or shall not be written."""
    from sim.study.errors import RequestError
    from sim.study.files import require_folder

    if os.path.lexists(file) and not file.is_file():
        raise RequestError(f"cannot write {file}: it is not an ordinary file")
    if os.path.lexists(file) and not force:
        raise RequestError(f"{file} exists and is left as it is; --force writes over it")
    if not file.parent.is_dir():
        raise RequestError(f"cannot write {file}: there is no folder {file.parent}")
    require_folder(file.parent)


def _read_options(texts: Mapping[str, str], *, complete: bool) -> dict[str, Any]:
    """The values of the options given; RequestError with everything wrong, and missing where nobody can be asked."""
    from sim.case.new.answers import clash, read, unanswered
    from sim.errors import RefusedValue
    from sim.study.errors import RequestError

    values: dict[str, Any] = {}
    problems = []
    for key, text in texts.items():
        try:
            values[key] = read(key, text)
        except RefusedValue as refused:
            problems.append(f"--{key}: {refused}")
    against = clash(values)
    if against is not None:
        problems.append(f"{' and '.join(f'--{key}' for key in against.keys)}: {against.refused}")
    if complete:
        problems += [
            f"--{key} is missing: {_help(BY_KEY[key]).removesuffix(' Needed.')}"
            for key in unanswered(values)
            if key not in texts
        ]
    if problems:
        raise RequestError("\n  ".join(["nothing written", *problems]))
    return values


def _say_made(file: Path, remarks: tuple[str, ...], assumed: int, constants: int) -> None:
    from sim.cli.screen import one_line, say, screen
    from sim.study.wording import AT_THE_PLANT

    console = screen()
    click.echo(f"written: {one_line(str(file))}")
    for remark in remarks:
        say(console, remark, indent=2)
    say(console, AT_THE_PLANT, indent=2)
    say(console, f"{assumed} of {constants} constants assumed: the lines with # in front of them", indent=2)
    click.echo(f"next: filterrun compare {one_line(shlex.quote(str(file)))}")  # to be copied, so never wrapped
