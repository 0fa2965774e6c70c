"""Options that say how a plant's own log is read, of `fit` and `diagnose` alike."""

import re
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from sim.cli.options import adding

if TYPE_CHECKING:  # loaded when a command runs
    from sim.case.records import Case
    from sim.log.records import Log, What

_COLUMN = re.compile(r"([^=]+)=(.+?)\s*(?:\[([^\[\]]+)\])?")

log_options = adding([
    click.option("--stage", metavar="NAME", help="The stage that the log is of, where the case has several."),
    click.option(
        "--column", "columns", multiple=True, metavar='"WHAT=NAME [UNIT]"', help="A column of the log, as in "
        '"pressure drop=dP [kPa]"; repeatable, for every column to be read. Without it heads such as "flow [m3/h]" '
        "name the columns.",
    ),
    click.option("--time", metavar="NAME", help="The column of times, if it is not the first."),
    click.option(
        "--dates", type=click.Choice(["year first", "day first", "month first"]), default="year first",
        show_default=True, help="How dates are written.",
    ),
    click.option("--zone", metavar="ZONE", help="Zone of the log's clock, as in UTC-5 or Europe/Rome."),
    click.option(
        "--clock", type=click.Choice(["standard", "local"]), default="standard", show_default=True,
        help="Whether the clock of the log follows daylight saving (local).",
    ),
    click.option(
        "--gaps", type=click.Choice(["refuse", "hold", "interpolate"]), default="refuse", show_default=True,
        help="What to do with missing values.",
    ),
    click.option(
        "--negative", type=click.Choice(["refuse", "zero", "gap"]), default="refuse", show_default=True,
        help="What to do with values below zero.",
    ),
    click.option(
        "--stuck", type=click.Choice(["refuse", "gap", "keep"]), default="refuse", show_default=True,
        help="What to do with values that do not move for a day.",
    ),
    click.option(
        "--resets", type=click.Choice(["refuse", "count on"]), default="refuse", show_default=True,
        help="What to do with a total that begins anew.",
    ),
    click.option("--yes", is_flag=True, help="Use the washes that show in flow and pressure drop without asking."),
])  # fmt: skip


def log_and_stage(path: Path, case: "Case", given: dict[str, Any], *, quiet: bool) -> "tuple[Log, str]":
    """The log as the options say, its washes confirmed, and the stage that it is of.

    Raises CaseError for the log, RequestError for options that do not fit it or for washes that nobody confirmed.
    """
    from sim.log.reading import read_log
    from sim.study.weather import zone_of_option

    stage = stage_named(case, given["stage"])
    columns = _columns(given["columns"]) or None
    how = {name: given[name] for name in ("time", "dates", "clock", "gaps", "negative", "stuck", "resets")}
    zone = zone_of_option(given["zone"], given["clock"])
    log = read_log(path, columns, stage=stage, zone=zone, by_option=True, **how)
    _confirm(log, yes=given["yes"], quiet=quiet)
    return log, stage


def stage_named(case: "Case", name: str | None) -> str:
    """The stage of this name, or the only one; RequestError for another."""
    from sim.case.spelling import listed
    from sim.study.errors import RequestError

    names = [stage.name for stage in case.stages]
    if name in names:
        return str(name)
    if name is None and len(names) == 1:
        return names[0]
    if name is None:
        raise RequestError(f"--stage: the case has several stages; allowed: {listed(names)}")
    raise RequestError(f"--stage: there is no stage {name!r}; allowed: {listed(names)}")


def _columns(texts: tuple[str, ...]) -> "dict[What, tuple[str, str]]":
    """Names and units of columns by what they tell; RequestError where one is told twice."""
    from sim.case.spelling import shown
    from sim.study.errors import RequestError

    found: dict[What, tuple[str, str]] = {}
    for text in texts:
        what, column = _column(text)
        if what in found:
            raise RequestError(f"--column {shown(text)}; allowed: one column of {what}; try: one of the two alone")
        found[what] = column
    return found


def _column(text: str) -> "tuple[What, tuple[str, str]]":
    from sim.case.spelling import listed, shown
    from sim.log.records import What
    from sim.study.errors import RequestError

    found = _COLUMN.fullmatch(text.strip())
    kinds = [each.value for each in What]
    if found is None or found[1].strip() not in kinds:
        raise RequestError(
            f"--column {shown(text)}; allowed: WHAT=NAME [UNIT], WHAT one of {listed(kinds)}; "
            'try: "pressure drop=dP [kPa]"'
        )
    return What(found[1].strip()), (found[2].strip(), found[3] or "")


def _confirm(log: "Log", *, yes: bool, quiet: bool) -> None:
    """Show washes that only the pattern of the log shows, and have a person at the terminal confirm them."""
    from plots.words import label
    from sim.cli.prompts import a_person_is_there
    from sim.cli.screen import list_out, screen, write
    from sim.study.errors import RequestError
    from sim.tell.fit.wash_listing import seen_words, wash_listing

    if yes or all(wash.found == "marked" for wash in log.washes):
        return
    if a_person_is_there() and not quiet:
        console = screen()
        write(console, seen_words(log))
        list_out(console, wash_listing(log))
        if click.prompt(label("fit.use_washes"), prompt_suffix=" ", default="n", show_default=False) == "y":
            return
    raise RequestError(
        f"{log.file} marks no washes, and nobody confirmed the {len(log.washes)} that show in its flow and pressure "
        "drop; try: a column wash with a mark at each, or --yes to use what shows"
    )
