"""Both commands as a person calls them: files, bytes, refusals."""

import json
from pathlib import Path

import openpyxl
import pytest

from tests.cli.small import call, small_case
from tests.decide.steady import steady


@pytest.fixture
def case(tmp_path: Path) -> Path:
    return steady(tmp_path, days=14)


@pytest.mark.parametrize("command", ["payback", pytest.param("advise", marks=pytest.mark.long)])
def test_the_same_command_twice_gives_the_same_bytes(command: str, case: Path, tmp_path: Path) -> None:
    made = []
    for turn in ("first", "second"):
        out, data = tmp_path / turn, tmp_path / f"{turn}.json"
        words = [command, str(case), "--pressure", "1.75 psi", "--out", str(out), "--json", str(data), "--quiet"]
        done = call(*words)
        assert done.exit_code == 0, done.output
        made.append({path.name: path.read_bytes() for path in sorted(out.iterdir())} | {"json": data.read_bytes()})
    assert made[0] == made[1]
    assert {"report.html", "tables.xlsx", "tradeoff.svg", "json"} <= set(made[0])
    assert b"NaN" not in made[0]["json"]
    assert b"Infinity" not in made[0]["json"]


def test_what_is_written_of_a_device(case: Path, tmp_path: Path) -> None:
    out = tmp_path / "out"
    done = call("payback", str(case), "--out", str(out), "--json", "-", "--units", "us")
    assert done.exit_code == 0, done.output
    data = json.loads(done.stdout)
    assert [bar["bar"] for bar in data["bars"]][:2] == ["today's calendar", "best calendar"]
    assert {each["device"] for each in data["devices"]} <= {"meter", "switch"}
    assert data["order"]["assumed"] == len(data["assumed"])
    assert {each["name"] for each in data["order"]["answers"]} == {each["device"] for each in data["devices"]}
    for each in data["order"]["answers"]:
        assert each["low"] <= each["typical"] <= each["high"]
        assert each["holds"] == (not each["turns"])
    book = openpyxl.load_workbook(out / "tables.xlsx")
    assert book.sheetnames[:6] == ["Bars", "Worth", "Prices", "What if", "Settings", "Tried"]
    heads = [cell.value for cell in book["Bars"][1]]
    assert "water to drain, gal" in heads
    gallons = book["Bars"].cell(row=2, column=heads.index("water to drain, gal") + 1).value
    assert gallons == pytest.approx(data["bars"][0]["figures"]["drain_m3"] * 264.172052, rel=1e-6)
    html = (out / "report.html").read_text(encoding="utf-8")
    assert "A planning aid: local codes and a licensed practitioner decide." in html
    assert "The range tried" in html or "range tried in this study" in html


def test_settings_that_are_told_can_be_put_into_the_case(case: Path) -> None:
    from sim.case.load import load_case

    done = call("advise", str(case), "--pressure", "12 kPa", "--json", "-", "--no-ranges")
    data = json.loads(done.stdout)
    known = [each for each in data["policies"] if each["settings"] is not None]
    assert known
    for each in known:
        settings = {key: value for key, value in each["settings"].items() if not key.endswith(".at")}
        load_case(case, settings)


def test_refusals_write_nothing(case: Path, tmp_path: Path) -> None:
    out = tmp_path / "out"
    for words, message in (
        (["advise", str(case), "--pressure", "12"], "the unit after the number"),
        (["advise", str(case), "--risk", "0.1"], "what may a year have"),
        (["advise", str(case), "--over-limit", "nan"], "not a number"),
        (["advise", str(case), "--over-limit", "inf"], "not in the range"),
        (["payback", str(case), "--unit-stops", "1e308"], "not in the range"),
        (["advise", str(case), "--pressure", "-1 kPa"], "above 0, up to 100 bar"),
        (["advise", small_case(tmp_path), "--least", "cost"], "no price of water"),
        (["advise", str(case), "--today", "volum"], 'did you mean "volume"?'),
        (["payback", str(case), "--today", "volume"], "calendar of today"),
        (["payback", str(case), "--study", str(case)], "is the case or another file"),
        (["advise", str(case), "--study", f"{out}.json", "--json", f"{out}.json"], "is the case or another file"),
    ):
        done = call(*words, "--out", str(out))
        assert done.exit_code == 2, done.output
        assert message in done.output
        assert not out.exists()


def test_the_cost_of_a_year_stands_in_a_comparison(case: Path) -> None:
    """By hand: 3 a m3 to drain and 4 a wash."""
    done = call("compare", str(case), "--json", "-", "--no-ranges")
    for policy in json.loads(done.stdout)["policies"]:
        site = policy["site"]
        by_hand = (3.0 * site["drain_m3"] + 4.0 * site["washes"]) * 365.25 / 14.0
        assert site["cost"] == pytest.approx(by_hand, rel=1e-12)
    assert "cost of a year by the case's prices" in call("compare", str(case), "--no-ranges", "--all").stdout
