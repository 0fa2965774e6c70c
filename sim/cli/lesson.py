"""`filterrun lesson NAME`: a ready demonstration that needs no case; without a name, a list of them."""

from pathlib import Path

import click

from sim.case.quantities import System
from sim.cli.options import Output, output_options, quiet_option, units_option


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
    from sim.cli.screen import screen
    from sim.cli.show_lesson import show_answer, show_question, show_where
    from sim.lessons.lesson import lesson_json

    output = Output(out=out, json_file=json_file, quiet=quiet, case_path=chosen.path)
    output.refuse_if_unwritable()
    if output.on_screen:
        show_question(screen(), chosen, units)
    with watched(quiet) as progress:
        studied = chosen.study(chosen.path, progress)
    told = studied.told(units)

    def files() -> dict[str, str | bytes]:
        from plots.wall import wall_files

        return {**chosen.texts(), **wall_files(f"lesson_{chosen.path.stem}", told.wall)}

    output.write(lesson_json(chosen, studied), files)
    if output.on_screen:
        show_answer(screen(), told)
        show_where(screen(), chosen, out)
