"""The command weather: what it prints can be pasted, what it refuses it says, and it writes the same bytes twice."""

import json
import tomllib
from collections.abc import Mapping
from datetime import datetime, timedelta
from pathlib import Path

import numpy as np
import pytest

from sim.case.load import load_case
from sim.case.series.records import Changeable, Demand, UnsettledSeason
from sim.study.weather import fit_weather, table_of
from sim.weather.forcing import build_forcing
from sim.weather.measures import Values
from tests.cli.small import call, small_text
from tests.weather.weathers import case_of

DAYS = 400
START = datetime(2025, 3, 1)


@pytest.fixture(scope="module")
def record(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Hours of a made river: turbidity, degC and m3/h, some cells empty."""
    case = case_of(days=DAYS)
    forcing = build_forcing(case.run, case.feed, case.demand, seed=77)
    at = np.searchsorted(forcing.end, (np.arange(DAYS * 24) + 0.5) * 3600.0)
    return written(
        tmp_path_factory.mktemp("record") / "river.csv",
        {"NTU": forcing.solids[at], "warmth": forcing.temperature[at], "flow": forcing.flow[at] * 3600.0},
    )


def written(path: Path, columns: Mapping[str, Values]) -> Path:
    lines = ["time," + ",".join(columns)]
    for row, values in enumerate(zip(*columns.values(), strict=True)):
        cells = ["" if row % 97 == 5 else f"{value:.6g}" for value in values]
        lines.append(",".join([f"{START + timedelta(hours=row):%Y-%m-%d %H:%M}", *cells]))
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return path


def fitted_case(folder: Path, place: str, lines: str) -> Path:
    """The small case with the pasted lines in place of its own."""
    own = {"feed.turbidity": 'suspended_solids = "7 mg/L"', "feed.temperature": 'temperature = "11 degC"'}
    text = small_text()
    if place == "demand":
        text = text.replace('[demand]\nflow = "6 m3/h"\n', lines)
    else:
        ratio = 'solids_per_turbidity = "1 mg/L per NTU"\n' if place == "feed.turbidity" else ""
        text = text.replace(own[place], ratio).replace("[demand]", f"{lines}[demand]")
    path = folder / "case.toml"
    path.write_text(text, encoding="utf-8")
    return path


@pytest.mark.parametrize(
    ("column", "unit", "place"), [("NTU", "NTU", "feed.turbidity"), ("warmth", "degC", "feed.temperature"),
                                  ("flow", "m3/h", "demand")]
)  # fmt: skip
def test_what_it_writes_can_be_pasted(record: Path, tmp_path: Path, column: str, unit: str, place: str) -> None:
    done = call("weather", record, "--column", column, "--unit", unit, "--out", tmp_path / "out")
    assert done.exit_code == 0, done.output
    lines = (tmp_path / "out" / "weather.toml").read_text(encoding="utf-8")
    assert done.stdout.startswith(lines)
    case = load_case(fitted_case(tmp_path, place, lines))
    fit = fit_weather(record, table_of(record, column=column, unit=unit))
    match fit.fitted:
        case Changeable(median=median, storms=storms):
            assert isinstance(case.feed.solids, Changeable)
            assert case.feed.solids.median == pytest.approx(median, rel=0.005)
            assert storms is not None
            assert case.feed.solids.storms is not None
            assert case.feed.solids.storms.length == pytest.approx(storms.length, rel=0.005)
        case UnsettledSeason(usual=usual, wander=wander):
            assert isinstance(case.feed.temperature, UnsettledSeason)
            assert case.feed.temperature.usual.swing == pytest.approx(usual.swing, rel=0.005)
            assert case.feed.temperature.usual.peak_day == usual.peak_day
            assert case.feed.temperature.wander.spread == pytest.approx(wander.spread, rel=0.005)
        case Demand(wander=wander):
            assert wander is not None
            assert case.demand.wander is not None
            assert case.demand.wander.spread == pytest.approx(wander.spread, abs=0.001)


def test_the_table_and_the_json_say_the_same(record: Path, tmp_path: Path) -> None:
    shown = call("weather", record, "--column", "NTU", "--unit", "NTU", "--json", tmp_path / "fit.json")
    data = json.loads((tmp_path / "fit.json").read_text(encoding="utf-8"))
    table = shown.stdout.partition("-----")[2].split("\n")
    for each in data["measures"]:
        (line,) = [line for line in table if line.startswith(each["name"])]
        figures = [each[key] for key in ("record", "mean", "low", "high")]
        texts = [f"{x:.2f}" if each["kind"] == "correlation" else f"{float(f'{x:.3g}'):g}" for x in figures]
        assert line.split()[-4:] == texts
    assert data["unit"] == "NTU"
    assert data["hours"] == DAYS * 24
    assert data["hours_known"] == DAYS * 24 - (DAYS * 24 - 6) // 97 - 1
    assert tomllib.loads(data["lines"])["feed"]["turbidity"]["median"].endswith(" NTU")


@pytest.mark.long
def test_the_same_seed_gives_the_same_bytes(record: Path, tmp_path: Path) -> None:
    """Another seed changes what is made and never the fit."""
    texts = []
    for name, seed in (("a", "1"), ("b", "1"), ("c", "2")):
        call("weather", record, "--column", "NTU", "--unit", "NTU", "--out", tmp_path / name, "--seed", seed)
        texts.append({path.name: path.read_bytes() for path in (tmp_path / name).iterdir()})
    assert set(texts[0]) == {"weather.toml", "weather.svg"}
    assert texts[0] == texts[1]
    assert texts[0]["weather.toml"] == texts[2]["weather.toml"]
    assert texts[0]["weather.svg"] != texts[2]["weather.svg"]


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("--column", "NTUU", "--unit", "NTU"), '"NTU", the nearest by name'),
        (("--column", "NTU", "--unit", "NTUU"), "the units NTU, mg/L"),
        (("--column", "NTU", "--unit", "psi"), "the units NTU, mg/L"),
        (("--column", "NTU", "--unit", "NTU", "--time", "when"), 'the column "when"'),
        (("--column", "NTU", "--unit", "NTU", "--clock", "local"), "--clock local needs --zone"),
        (("--column", "NTU", "--unit", "NTU", "--clock", "local", "--zone", "UTC+1"), "has no daylight saving"),
        (("--column", "NTU", "--unit", "NTU", "--zone", "Mars"), "--zone"),
    ],
)  # fmt: skip
def test_wrong_requests_write_nothing(record: Path, tmp_path: Path, words: tuple[str, ...], told: str) -> None:
    done = call("weather", record, *words, "--out", tmp_path / "out")
    assert (done.exit_code, done.stdout) == (2, "")
    assert told in done.stderr
    assert not (tmp_path / "out").exists()


def test_a_record_that_is_too_short_or_too_coarse(tmp_path: Path) -> None:
    short = written(tmp_path / "short.csv", {"NTU": np.linspace(1.0, 2.0, 29 * 24)})
    done = call("weather", short, "--column", "NTU", "--unit", "NTU")
    assert done.exit_code == 2
    assert "29 days with values; 30 or more are needed" in done.stderr
    lines = ["time,NTU", *(f"2027-01-{day:02d} 00:00,{day}" for day in range(1, 31))]
    (tmp_path / "daily.csv").write_text("\n".join(lines), encoding="utf-8")
    done = call("weather", tmp_path / "daily.csv", "--column", "NTU", "--unit", "NTU")
    assert done.exit_code == 2
    assert "a row every hour or more often" in done.stderr


def test_a_record_that_never_changes(tmp_path: Path) -> None:
    still = written(tmp_path / "still.csv", {"NTU": np.full(40 * 24, 3.0)})
    done = call("weather", still, "--column", "NTU", "--unit", "NTU", "--stuck", "keep")
    assert done.exit_code == 2
    assert "the values never change" in done.stderr


def test_hours_without_a_neighbour_are_no_fault(tmp_path: Path) -> None:
    """Two hours in six have a value, always the same two: no pair lies 3 h apart, and the others still tell."""
    values = 3.0 + np.random.default_rng(2).random(40 * 24)
    rows = [
        f"{START + timedelta(hours=hour):%Y-%m-%d %H:%M},{f'{value:.4f}' if hour % 6 < 2 else ''}"
        for hour, value in enumerate(values)
    ]
    (tmp_path / "sparse.csv").write_text("\n".join(["time,NTU", *rows]), encoding="utf-8")
    done = call("weather", tmp_path / "sparse.csv", "--column", "NTU", "--unit", "NTU")
    assert done.exit_code == 0, done.stderr
    assert "median = " in done.stdout


def test_negative_values_want_a_remedy(tmp_path: Path) -> None:
    values = 2.0 + np.sin(np.arange(40 * 24) / 5.0)
    values[[50, 60]] = -1.0
    file = written(tmp_path / "below.csv", {"NTU": values})
    refused = call("weather", file, "--column", "NTU", "--unit", "NTU")
    assert refused.exit_code == 2
    assert "-1 NTU" in refused.stderr
    assert "--negative zero or --negative gap" in " ".join(refused.stderr.split())
    done = call("weather", file, "--column", "NTU", "--unit", "NTU", "--negative", "gap")
    assert done.exit_code == 0, done.stderr
    assert "2 of 960 values are below zero and taken as missing" in done.stdout
    done = call("weather", file, "--column", "NTU", "--unit", "NTU", "--negative", "zero")
    assert "2 hours at zero are left out" in done.stdout
