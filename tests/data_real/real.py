"""Recorded series that stand beside the project, not in it, and cases of the reference filter that use them."""

import csv
from datetime import datetime
from pathlib import Path

import pytest

from sim.case.load import load_case
from sim.case.records import Case

ROOT = Path(__file__).parents[2]
FOLDER = ROOT.parent / "shared" / "data"
WATER = FOLDER / "rawwater_turbidity_temp_hourly_apacpwq_2012_2013.csv"
DEMAND = FOLDER / "water_demand_hourly_2districts_2021_2023.csv"
HOUR = 3600.0
RATIO, SCALE = 1.2, 0.15  # g/m3 per NTU; of a district of 531 people, so that the reference filter can serve them

needs_data = pytest.mark.skipif(
    not (WATER.exists() and DEMAND.exists()), reason=f"no recorded data: the folder {FOLDER} is not there"
)


def series(file: Path, column: str, unit: str, keys: str) -> str:
    return f'{{ file = "{file}", column = "{column}", unit = "{unit}", {keys} }}'


def turbidity(keys: str, file: Path = WATER) -> str:
    """The estuary's turbidity: stamps on Eastern standard time all year."""
    return series(file, "turbidity_NTU", "NTU", f'zone = "UTC-5"{keys and f", {keys}"}')


def temperature(keys: str, file: Path = WATER) -> str:
    return series(file, "water_temp_C", "degC", f'zone = "UTC-5"{keys and f", {keys}"}')


def demand(keys: str) -> str:
    """The district's demand: stamps on the clock of central Europe, with daylight saving."""
    return series(
        DEMAND, "dma2_residential_Lps", "L/s", f'zone = "Europe/Rome", scale = {SCALE}{keys and f", {keys}"}'
    )


def write(folder: Path, start: str, length: str, *, feed: str = "", warmth: str = "", flow: str = "") -> Path:
    """The reference case over another time, its feed, temperature or demand from a file."""
    text = (ROOT / "cases" / "reference.toml").read_text(encoding="utf-8")
    text = text.replace("start = 2027-01-04T00:00:00", f"start = {start}").replace('"60 d"', f'"{length}"')
    if feed:
        told = f'turbidity = {feed}\nsolids_per_turbidity = "{RATIO} mg/L per NTU"  #'
        text = text.replace('suspended_solids = "5 mg/L"', told)
    if warmth:
        text = text.replace('temperature = "15 degC"', f"temperature = {warmth}")
    if flow:
        before, _, rest = text.partition("hourly = [")
        text = f"{before}flow = {flow}\n[[stage]]{rest.partition('[[stage]]')[2]}"
    path = folder / "case.toml"
    path.write_text(text, encoding="utf-8")
    return path


def load(folder: Path, start: str, length: str, *, feed: str = "", warmth: str = "", flow: str = "") -> Case:
    return load_case(write(folder, start, length, feed=feed, warmth=warmth, flow=flow))


def column(file: Path, name: str) -> list[tuple[datetime, float | None]]:
    """Times as they stand in a file, and the numbers of a column, None for an empty cell."""
    with file.open(encoding="utf-8", newline="") as lines:
        rows = list(csv.DictReader(lines))
    first = next(iter(rows[0]))
    return [(datetime.fromisoformat(row[first]), float(row[name]) if row[name] else None) for row in rows]
