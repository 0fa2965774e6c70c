"""`filterrun lesson NAME [CASE]`: a ready demonstration, on its own plant or on one's own; without a name, a list."""

import shlex
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

import click

from plots.words import Code, Name, items, label, paragraph, say, term
from sim.case.quantities import System
from sim.cli.options import Output, figure_options, quiet_option, units_option

if TYPE_CHECKING:  # loaded when a lesson runs
    from sim.case.records import Case
    from sim.lessons.lesson import Lesson, Told


@click.command("lesson")
@click.argument("name", metavar="[NAME]", required=False)
@click.argument("case_path", metavar="[CASE]", required=False, type=click.Path(path_type=Path))
@figure_options
@units_option
@quiet_option
def command(
    name: str | None, case_path: Path | None, out: Path | None, png: bool, json_file: str | None, units: System,
    quiet: bool,
) -> None:
    """Show what one thing about washing filters does, on a small invented plant, in seconds.

    Without NAME: list the lessons. With CASE: the same on that plant, where the lesson applies. --out writes the
    figure, large enough for a wall, the lesson as a page that needs no server, a sheet with its question and one with
    its answer, and the case file.
    """
    from sim.lessons.names import NAMES, lesson

    if name is None:
        if out is not None or json_file is not None:
            raise click.UsageError("--out and --json need the NAME of a lesson.")
        width = max(map(len, NAMES))
        click.echo("\n".join(f"{each.ljust(width)}  {term('lesson', each)}" for each in NAMES))
        click.echo(f"\n{say('lesson.first', command=Code(f'filterrun lesson {NAMES[0]}'))}")
        return
    chosen, case = lesson(name), None
    if case_path is not None:
        from sim.case.load import load_case
        from sim.lessons.names import on_own

        case = load_case(case_path)
        chosen = on_own(chosen, case)
    from sim.cli.progress import watched

    output = Output(out=out, png=png, json_file=json_file, quiet=quiet, case_path=case_path or chosen.path)
    output.refuse_if_unwritable()
    if output.on_screen:
        _show_question(chosen, units, case)
    with watched(quiet) as progress:
        studied = chosen.study(progress, None if case_path is None else partial(load_case, case_path))
    told, own = studied.told(units), case_path or (out or Path("DIR")) / chosen.path.name

    def files() -> dict[str, str | bytes]:
        from plots.lesson_page import lesson_files
        from plots.wall import wall_files
        from sim.lessons import handout

        figure = f"lesson_{chosen.path.stem}"
        return {
            **({} if case_path else chosen.texts()),
            **wall_files(figure, told.wall, told.foot, png=png),
            **lesson_files(figure, handout.asked(chosen, units, case), handout.told(told, _again(chosen, own))),
        }

    output.tell(lambda: _show_answer(chosen, told, out, own), studied.to_json(), files)


def _again(lesson: "Lesson", case: Path) -> str:
    """The command that runs it the same way: of somebody's own plant the lesson, which alone runs the same days."""
    from sim.cli.screen import one_line

    again = f"lesson {lesson.name} {{case}}" if lesson.stage else lesson.again
    return f"filterrun {again.format(case=one_line(shlex.quote(str(case))))}"


def _show_question(lesson: "Lesson", system: System, case: "Case | None") -> None:
    """What is run, and what to watch for."""
    from sim.cli.screen import screen, write

    console = screen()
    title = term("lesson", lesson.name)
    write(console, say("lesson.head", name=Code(lesson.name), title=title), strong=True)
    question = paragraph(say("lesson.watch"), lesson.question())
    choice = label("lesson.choice", options=items(lesson.options(system, case), "or"))
    for line in (*lesson.situated(system, case), "", question, lesson.guess.asks(), choice, ""):
        write(console, line)


def _show_answer(lesson: "Lesson", told: "Told", out: Path | None, case: Path) -> None:
    """The table, the sentences and the cautions; where the figure and the case file are, or how to get them."""
    from sim.cli.screen import list_out, one_line, screen, write
    from sim.tell.sentences import at_the_plant, caution

    console = screen()
    list_out(console, told.table, between=3)
    right = say("lesson.right", option=Name(told.options[told.right]))
    for line in (right, *told.sentences, "", told.foot, at_the_plant(), caution(), ""):
        write(console, line)
    if out is None:
        write(console, say("lesson.get"))
        named = f"{lesson.name} {one_line(shlex.quote(str(case)))}" if lesson.stage else lesson.name
        click.echo(f"  filterrun lesson {named} --out DIR")
        return
    page = out / f"lesson_{lesson.path.stem}"
    write(console, say("lesson.figure", figure=Code(f"{page}.svg"), page=Code(f"{page}.html")))
    questions, answers = Code(f"{page}_questions.html"), Code(f"{page}_answers.html")
    write(console, say("lesson.sheets", questions=questions, answers=answers))
    write(console, say("lesson.case", case=Code(str(case))))
    click.echo(f"  {_again(lesson, case)}")
