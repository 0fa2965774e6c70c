"""`filterrun new FILE`: a commented case from a few numbers, given as options or asked for at a terminal."""

import os
import shlex
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from plots.words import ENGLISH, speaking
from sim.cli.options import adding, quiet_option, say_plainly, speak_english, written
from sim.tell.questions import example, in_words, without
from sim.write.questions import BY_KEY, QUESTIONS

if TYPE_CHECKING:  # loaded when the command runs
    from plots.paper import Paper


def _help(key: str) -> str:
    asked = BY_KEY[key]
    with speaking(ENGLISH):
        return f"{in_words(key)}, {example(*asked.examples.values())}. {without(key, needed=asked.needed)}"


class _Answer(click.Option):
    """An option whose help is said when it is shown."""

    def get_help_record(self, ctx: click.Context) -> tuple[str, str] | None:
        self.help = _help(str(self.name))
        return super().get_help_record(ctx)


@click.command("new")
@click.argument("file", metavar="FILE", type=click.Path(path_type=Path))
@adding([click.option(f"--{each.key}", each.key, metavar=each.hint, cls=_Answer) for each in QUESTIONS])
@click.option(
    "--from",
    "case",
    metavar="CASE",
    type=click.Path(path_type=Path),
    help="Write CASE with its triggers set anew from its constants, comments kept; asks nothing.",
)
@click.option(
    "--questionnaire", is_flag=True, help="In place of a case, write these questions to FILE, as HTML to print for a "
    "first visit; asks nothing.",
)
@click.option("--paper", type=click.Choice(["a4", "letter"]), help="Paper of the questionnaire; a4 if not given.")
@click.option("--force", is_flag=True, help="Write over FILE if it exists.")
@quiet_option
def command(
    file: Path, case: Path | None, questionnaire: bool, paper: "Paper | None", force: bool, quiet: bool,
    **texts: str | None,
) -> None:  # fmt: skip
    """Write a commented case to FILE that compare accepts at once.

    What is not given is asked for at a terminal, unless with --quiet. Every other value is taken from what is
    usual and marked in the file: "# assumed: low / typical / high, source". One rule sets what starts the washes;
    the file says it. A number alone is in the unit of the example, of the first with --units si.
    """
    given = {key: text for key, text in texts.items() if text is not None}
    _refuse_place(file, force)
    if questionnaire or paper:
        _on_paper(file, case, given, paper, quiet, asked=questionnaire)
    elif case is None:
        _new(file, given, quiet)
    else:
        _anew(file, case, given, quiet)


def _new(file: Path, given: Mapping[str, str], quiet: bool) -> None:
    from plots.words import say
    from sim.cli.prompts import a_person_is_there, ask
    from sim.study.whole_files import write_all
    from sim.write.answers import answers_of
    from sim.write.writing import new_case

    person = a_person_is_there() and not quiet
    values = _read_options(given, complete=not person)
    if person:
        values = ask(values)
    made = new_case(answers_of(values), file)
    write_all({file: made.text})
    if not quiet:
        speak_english(click.get_current_context())
        assumed, of = len(made.case.assumptions), made.case.constants
        _say_made(file, (*made.first, *made.remarks), say("new.assumed", assumed=assumed, of=of))


def _anew(file: Path, case: Path, given: Mapping[str, str], quiet: bool) -> None:
    """FILE as the case, its triggers set anew; RequestError if answers are given too."""
    from sim.case.load import read_case
    from sim.case.source import read_text
    from sim.study.errors import RequestError
    from sim.study.whole_files import write_all
    from sim.write.anew import as_stored, set_anew

    if given:
        others = ", ".join(f"--{key}" for key in given)
        raise RequestError(f"nothing written: --from takes all from the case; leave out {others}")
    made = set_anew(read_text(case), case, file)
    read_case(made.text, file, {})
    write_all({file: as_stored(made.text, case)})
    if not quiet:
        speak_english(click.get_current_context())
        _say_made(file, (*made.first, *made.remarks), *made.changes)


def _on_paper(
    file: Path, case: Path | None, given: Mapping[str, str], paper: "Paper | None", quiet: bool, *, asked: bool
) -> None:
    """FILE as the questions on paper; RequestError beside what makes a case."""
    from sim.case.spelling import shown
    from sim.cli.questionnaire import questionnaire
    from sim.study.errors import RequestError
    from sim.study.whole_files import write_all

    if not asked:
        raise RequestError("nothing written: --paper is for --questionnaire")
    others = [f"--{key}" for key in given] + (["--from"] if case is not None else [])
    if others:
        raise RequestError(f"nothing written: --questionnaire takes no answers; leave out {', '.join(others)}")
    if file.suffix.lower() not in (".html", ".htm"):
        raise RequestError(
            f"nothing written: --questionnaire: given {shown(str(file))}; allowed: a name that ends in .html; "
            f"try: {shown(str(file.with_suffix('.html')))}"
        )
    write_all({file: questionnaire(paper or "a4")})
    if not quiet:
        say_plainly(written([file]))


def _refuse_place(file: Path, force: bool) -> None:
    """RequestError, before anything is asked, if FILE cannot or shall not be written."""
    from sim.study.errors import RequestError
    from sim.study.whole_files import require_place

    if os.path.lexists(file) and not file.is_file():
        raise RequestError(f"cannot write {file}: it is not an ordinary file")
    if os.path.lexists(file) and not force:
        raise RequestError(f"{file} exists and is left as it is; --force writes over it")
    require_place(file)


def _read_options(texts: Mapping[str, str], *, complete: bool) -> dict[str, Any]:
    """The values of the options given; RequestError with everything wrong, and missing where nobody can be asked."""
    from sim.errors import RefusedValue
    from sim.study.errors import RequestError
    from sim.write.answers import clash, read, unanswered

    values: dict[str, Any] = {}
    problems = []
    for key, text in sorted(texts.items(), key=lambda each: each[0] != "units"):
        try:
            values[key] = read(key, text, values.get("units", "si"))
        except RefusedValue as refused:
            problems.append(f"--{key}: {refused}")
    against = clash(values)
    if against is not None:
        problems.append(f"{' and '.join(f'--{key}' for key in against.keys)}: {against.refused}")
    if complete:
        problems += [
            f"--{key} is missing: {_help(key).removesuffix(' Needed.')}"
            for key in unanswered(values)
            if key not in texts
        ]
    if problems:
        raise RequestError("\n  ".join(["nothing written", *problems]))
    return values


def _say_made(file: Path, remarks: tuple[str, ...], *more: str) -> None:
    from plots.words import Code, Name, label
    from sim.cli.screen import one_line, screen, write
    from sim.tell.sentences import at_the_plant

    console = screen()
    click.echo(label("new.written", file=Name(one_line(str(file)))))
    for line in (*remarks, at_the_plant(), *more):
        write(console, line, indent=2)
    command = Code(f"filterrun compare {one_line(shlex.quote(str(file)))}")
    click.echo(label("new.next", command=command))  # to be copied, so never wrapped
