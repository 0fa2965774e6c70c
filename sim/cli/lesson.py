"""`filterrun lesson NAME`: a ready demonstration that needs no case; without a name, a list of them."""

import shlex
from pathlib import Path
from typing import TYPE_CHECKING

import click

from plots.words import Code, paragraph, say, term
from sim.case.quantities import System
from sim.cli.options import Output, figure_options, quiet_option, units_option

if TYPE_CHECKING:  # loaded when a lesson runs
    from sim.lessons.lesson import Lesson, Told


@click.command("lesson")
@click.argument("name", metavar="[NAME]", required=False)
@figure_options
@units_option
@quiet_option
def command(name: str | None, out: Path | None, png: bool, json_file: str | None, units: System, quiet: bool) -> None:
    """Show what one thing about washing filters does, on a small invented plant, in seconds.

    Without NAME: list the lessons. --out writes the figure, large enough for a wall, and the case file.
    """
    from sim.lessons.names import NAMES, lesson

    if name is None:
        if out is not None or json_file is not None:
            raise click.UsageError("--out and --json need the NAME of a lesson.")
        width = max(map(len, NAMES))
        click.echo("\n".join(f"{each.ljust(width)}  {term('lesson', each)}" for each in NAMES))
        click.echo(f"\n{say('lesson.first', command=Code(f'filterrun lesson {NAMES[0]}'))}")
        return
    chosen = lesson(name)
    from sim.cli.progress import watched

    output = Output(out=out, png=png, json_file=json_file, quiet=quiet, case_path=chosen.path)
    output.refuse_if_unwritable()
    if output.on_screen:
        _show_question(chosen, units)
    with watched(quiet) as progress:
        studied = chosen.study(progress)
    told = studied.told(units)

    def files() -> dict[str, str | bytes]:
        from plots.wall import wall_files

        return {**chosen.texts(), **wall_files(f"lesson_{chosen.path.stem}", told.wall, png=png)}

    output.tell(lambda: _show_answer(chosen, told, out), studied.to_json(), files)


def _show_question(lesson: "Lesson", system: System) -> None:
    """What is run, and what to watch for."""
    from sim.cli.screen import screen, write

    console = screen()
    title = term("lesson", lesson.name)
    write(console, say("lesson.head", name=Code(lesson.name), title=title), strong=True)
    for line in (*lesson.situated(system), "", paragraph(say("lesson.watch"), lesson.question()), ""):
        write(console, line)


def _show_answer(lesson: "Lesson", told: "Told", out: Path | None) -> None:
    """The table, the sentences and the cautions; where the figure and the case file are, or how to get them."""
    from sim.cli.screen import list_out, one_line, screen, write
    from sim.tell.sentences import at_the_plant, caution, not_for_a_plant

    console = screen()
    list_out(console, told.table, between=3)
    for line in (*told.sentences, "", not_for_a_plant(), at_the_plant(), caution(), ""):
        write(console, line)
    if out is None:
        write(console, say("lesson.get"))
        click.echo(f"  filterrun lesson {lesson.name} --out DIR")
        return
    figure, case = out / f"lesson_{lesson.path.stem}.svg", out / lesson.path.name
    write(console, say("lesson.figure", figure=Code(str(figure))))
    write(console, say("lesson.case", case=Code(str(case))))
    click.echo(f"  filterrun {lesson.again.format(case=one_line(shlex.quote(str(case))))}")
