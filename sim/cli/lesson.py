"""`filterrun lesson NAME`: a ready demonstration that needs no case; without a name, a list of them."""

import shlex
from pathlib import Path
from typing import TYPE_CHECKING

import click

from sim.case.quantities import System
from sim.cli.options import Output, output_options, quiet_option, units_option

if TYPE_CHECKING:  # loaded when a lesson runs
    from sim.lessons.lesson import Lesson, Told


@click.command("lesson")
@click.argument("name", metavar="[NAME]", required=False)
@output_options
@units_option
@quiet_option
def command(name: str | None, out: Path | None, json_file: str | None, units: System, quiet: bool) -> None:
    """Show what one thing about washing filters does, on a small invented plant, in seconds.

    Without NAME: list the lessons. --out writes the figure, large enough for a wall, and the case file.
    """
    from sim.lessons.names import TITLES, lesson

    if name is None:
        if out is not None or json_file is not None:
            raise click.UsageError("--out and --json need the NAME of a lesson.")
        width = max(map(len, TITLES))
        click.echo("\n".join(f"{each.ljust(width)}  {title}" for each, title in TITLES.items()))
        click.echo(f"\nfilterrun lesson {next(iter(TITLES))} shows the first one.")
        return
    chosen = lesson(name)
    from sim.cli.progress import watched

    output = Output(out=out, json_file=json_file, quiet=quiet, case_path=chosen.path)
    output.refuse_if_unwritable()
    if output.on_screen:
        _show_question(chosen, TITLES[name], units)
    with watched(quiet) as progress:
        studied = chosen.study(progress)
    told = studied.told(units)

    def files() -> dict[str, str | bytes]:
        from plots.wall import wall_files

        return {**chosen.texts(), **wall_files(f"lesson_{chosen.path.stem}", told.wall)}

    output.write(studied.to_json(), files)
    if output.on_screen:
        _show_answer(chosen, told, out)


def _show_question(lesson: "Lesson", title: str, system: System) -> None:
    """What is run, and what to watch for."""
    from sim.cli.screen import say, screen

    console = screen()
    say(console, f"Lesson {lesson.name}: {title}", strong=True)
    for line in (*lesson.situated(system), "", f"Watch for: {lesson.question}", ""):
        say(console, line)


def _show_answer(lesson: "Lesson", told: "Told", out: Path | None) -> None:
    """The table, the sentences and the cautions; where the figure and the case file are, or how to get them."""
    from sim.cli.screen import list_out, one_line, say, screen
    from sim.tell.sentences import AT_THE_PLANT, CAUTION, NOT_FOR_A_PLANT

    console = screen()
    list_out(console, told.table, between=3)
    for line in (*told.sentences, "", NOT_FOR_A_PLANT, AT_THE_PLANT, CAUTION, ""):
        say(console, line)
    if out is None:
        say(console, "The figure and the case file, to look at and to change:")
        click.echo(f"  filterrun lesson {lesson.name} --out DIR")
        return
    figure, case = out / f"lesson_{lesson.path.stem}.svg", out / lesson.path.name
    say(console, f"The figure is {figure}, and as PNG beside it. The case is {case}, to look at and to change:")
    click.echo(f"  filterrun {lesson.again.format(case=one_line(shlex.quote(str(case))))}")
