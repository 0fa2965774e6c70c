"""A small case in order, and ways to change it."""

from pathlib import Path

from sim.case.load import load_case
from sim.case.records import Case
from sim.errors import CaseError, Problem

SMALL = """title = "A small case"
[run]
start = 2027-01-04T00:00:00
length = "60 d"
[feed]
temperature = "15 degC"
suspended_solids = "5 mg/L"
[demand]
flow = "5.5 m3/h"
[[stage]]
name = "filter"
vessel = { diameter = "30 in", height = "1.5 m" }
[[stage.layer]]
medium = "sand"
depth = "0.7 m"
[[stage.step]]
do = "backwash"
minutes = 10
flow = "17 m3/h"
[policy.volume.filter]
start_on = "volume"
volume = "250 m3"
"""

NAME, MEDIUM = 'name = "filter"', 'medium = "sand"'
VESSEL = 'vessel = { diameter = "30 in", height = "1.5 m" }'
BACKWASH = 'flow = "17 m3/h"'


def changed(*changes: tuple[str, str]) -> str:
    """The small case with one text put for another, each of which must stand in it once."""
    text = SMALL
    for old, new in changes:
        assert text.count(old) == 1, f"{old!r} stands {text.count(old)} times in the case"
        text = text.replace(old, new)
    return text


def added(*lines_behind: tuple[str, str]) -> str:
    """The small case with lines put behind others."""
    return changed(*((line, f"{line}\n{lines}") for line, lines in lines_behind))


def load_text(folder: Path, text: str) -> Case:
    path = folder / "case.toml"
    path.write_text(text, encoding="utf-8")
    return load_case(path)


def problems_of(path: Path) -> tuple[Problem, ...]:
    """What is wrong with a file; none if it loads."""
    try:
        load_case(path)
    except CaseError as error:
        return error.problems
    return ()
