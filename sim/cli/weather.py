"""`filterrun weather FILE`: random weather fitted to a record, as lines for a case and a table against the record."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from sim.cli.options import Output, figure_options, quiet_option, seed_option

if TYPE_CHECKING:  # loaded when the command runs
    from sim.study.weather import WeatherFit


@click.command("weather")
@click.argument("file", metavar="FILE", type=click.Path(path_type=Path))
@click.option("--column", required=True, metavar="NAME", help="The column of numbers.")
@click.option("--unit", required=True, metavar="UNIT", help="What they are in, as in NTU, mg/L, degC or m3/h.")
@click.option("--time", metavar="NAME", help="The column of times, if it is not the first.")
@click.option("--zone", metavar="ZONE", help="Zone of the times, as in UTC-5 or Europe/Rome.")
@click.option(
    "--clock",
    type=click.Choice(["standard", "local"]),
    default="standard",
    show_default=True,
    help="Whether the clock of the file follows daylight saving (local).",
)
@click.option(
    "--negative",
    type=click.Choice(["refuse", "zero", "gap"]),
    default="refuse",
    show_default=True,
    help="What to do with values below zero.",
)
@click.option(
    "--stuck",
    type=click.Choice(["refuse", "gap", "keep"]),
    default="refuse",
    show_default=True,
    help="What to do with values that stand still for a day.",
)
@figure_options
@seed_option
@quiet_option
def command(
    file: Path, out: Path | None, png: bool, json_file: str | None, seed: int, quiet: bool, **column: str | None
) -> None:
    """Fit random weather to a column of a CSV file and show how like it is.

    The unit decides the family: solids or turbidity, temperature, or demand. Shown are lines to paste into a case and
    a table of the record against 40 realisations with the same gaps. --out writes weather.toml and the figure.
    """
    from sim.study.weather import fit_weather, table_of
    from sim.write.fitted import paste

    output = Output(out=out, png=png, json_file=json_file, quiet=quiet, case_path=file)
    table = table_of(file, **column)
    output.refuse_if_unwritable()
    fit = fit_weather(file, table, seed=seed)

    def files() -> dict[str, str | bytes]:
        from sim.tell.weather.weather_picture import weather_files

        return {"weather.toml": paste(fit)} | weather_files(fit, png=png)

    output.tell(lambda: _show(fit), fit.to_json() | {"lines": paste(fit)}, files)


def _show(fit: "WeatherFit") -> None:
    """The lines for a case, then the table against the record and what is to be known of it."""
    from sim.cli.screen import list_out, screen, write
    from sim.tell.review.told_words import remedy_words
    from sim.tell.weather.weather_words import likeness_listing, remarks
    from sim.write.fitted import paste

    console = screen()
    click.echo(paste(fit))  # to be copied, so never wrapped
    list_out(console, likeness_listing(fit))
    for line in (*remedy_words(fit.history.remedies), *remarks(fit)):
        write(console, line)
