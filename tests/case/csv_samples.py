"""Small CSV files and cases that take their suspended solids from them."""

from collections.abc import Iterable, Sequence
from datetime import datetime, timedelta
from pathlib import Path

from sim.case.load import load_case
from sim.case.records import Case
from sim.case.series.records import Measured
from sim.errors import Problem
from tests.case.samples import changed, problems_of

START = datetime(2027, 1, 4)
HOUR = 3600.0
SIX_HOURS = 'length = "6 h"'


def hours(values: Iterable[object], start: datetime = START, minutes: int = 60) -> str:
    """A CSV text with a value every hour, or every so many minutes; None is an empty cell."""
    rows = ["time,solids"]
    for place, value in enumerate(values):
        stamp = (start + timedelta(minutes=minutes * place)).isoformat(timespec="minutes")
        rows.append(f"{stamp},{'' if value is None else value}")
    return "\n".join(rows) + "\n"


def stamped(stamps: Sequence[str]) -> str:
    """A CSV text with these times; the values count from 1."""
    return "time,solids\n" + "".join(f"{stamp},{place}\n" for place, stamp in enumerate(stamps, start=1))


def write_case(folder: Path, csv: str | bytes, keys: str = "", run: str = SIX_HOURS, zone: str = "UTC") -> Path:
    """A case beside its CSV file: `keys` are added to those of the series, `run` takes the place of the length."""
    (folder / "solids.csv").write_bytes(csv if isinstance(csv, bytes) else csv.encode())
    series = f'{{ file = "solids.csv", column = "solids", unit = "mg/L", zone = "{zone}"{keys and f", {keys}"} }}'
    text = changed(('suspended_solids = "5 mg/L"', f"suspended_solids = {series}"), ('length = "60 d"', run))
    path = folder / "case.toml"
    path.write_text(text, encoding="utf-8")
    return path


def load_csv(folder: Path, csv: str | bytes, keys: str = "", run: str = SIX_HOURS, zone: str = "UTC") -> Case:
    return load_case(write_case(folder, csv, keys, run, zone))


def solids(case: Case) -> Measured:
    """The suspended solids of a case, which are to be measured."""
    assert isinstance(case.feed.solids, Measured)
    return case.feed.solids


def told(folder: Path, csv: str | bytes, keys: str = "", run: str = SIX_HOURS, zone: str = "UTC") -> list[str]:
    """The problems of a CSV file, one text each: line, given, allowed, try."""
    path = write_case(folder, csv, keys, run, zone)
    return [in_short(problem, folder) for problem in problems_of(path)]


def in_short(problem: Problem, folder: Path) -> str:
    assert problem.file == str(folder / "solids.csv")
    assert problem.key == "feed.suspended_solids"
    return f"{problem.line} | {problem.given} | {problem.allowed} | {problem.try_}"
