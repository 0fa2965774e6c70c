"""The commissioning page: tests of the devices of a case, readings that go back to the model, paper that holds."""

import csv
import json
import re
from collections.abc import Mapping
from dataclasses import replace
from datetime import timedelta
from functools import cache
from pathlib import Path
from typing import Any

import html5lib
import pytest

from plots.commissioning import Check
from plots.paper import Paper
from plots.words import say
from sim.case.load import load_case
from sim.log.records import What
from sim.study.sheet_runs import reading_flows, sheet_runs
from sim.tell.sheet.commissioning import LINES, checks_by_day, commissioning
from sim.tell.sheet.sheet_json import sheet_hash
from tests.cli.small import call, small_text
from tests.log.made_log import look
from tests.words.pseudo import plain_words, speaking_pseudo

CASES = Path("cases")
HOUR, DAY = 3600.0, 86_400.0


@pytest.fixture(autouse=True)
def few_draws(monkeypatch: pytest.MonkeyPatch) -> None:
    """No band is looked at here."""
    monkeypatch.setattr("sim.study.commissioning.DRAWS", 2)


def checks_of(name: str, policy: str) -> Mapping[str, tuple[Check, ...]]:
    """With 6 m3/h asked for, where nothing downstream says what it draws."""
    case = load_case(CASES / f"{name}.toml")
    return checks_by_day(case, policy, reading_flows(case, [6.0 / HOUR]), "si")


def words_of(name: str, policy: str) -> list[str]:
    return [each.words for checks in checks_of(name, policy).values() for each in checks]


def rows_of(name: str, policy: str) -> list[list[str]]:
    """The cells of the measurements, by the first row of each."""
    tables = [each for each in tree(page(name, policy)).iter("table") if each.get("class") == "measure"]
    rows = [["".join(cell.itertext()) for cell in row.iter("td")] for table in tables for row in table.iter("tr")]
    return [row for row in rows if len(row) == 6]


@cache
def page(name: str, policy: str, paper: Paper = "a4") -> str:
    path = CASES / f"{name}.toml"
    return commissioning(sheet_runs(load_case(path), policy), path, "si", paper)


def tree(html: str) -> Any:
    return html5lib.HTMLParser(strict=True, namespaceHTMLElements=False).parse(html)


@pytest.mark.parametrize(
    ("name", "policy", "meters", "contacts", "clocks"),
    [
        ("laundry", "calendar", 0, 0, 1),
        ("laundry", "volume with reserve", 1, 0, 1),
        ("reference", "volume", 1, 0, 0),
        ("reference", "pressure drop", 0, 1, 0),
        ("greenhouse", "pressure drop", 0, 2, 0),
        ("lens_works", "reserve on the softener", 1, 0, 4),
        ("boiler_house", "pressure or meter", 1, 3, 1),
    ],
)
def test_devices_that_a_case_has_are_tested_and_no_others(
    name: str, policy: str, meters: int, contacts: int, clocks: int
) -> None:
    words = words_of(name, policy)
    counts = {"through the meter of": meters, "Bridge the contact": contacts, "its clock is right": clocks}
    for word, count in counts.items():
        assert sum(word in each for each in words) == count, word


def test_the_held_span_by_hand() -> None:
    """Oxidising media: all steps of the wash; resin: backwash and settle and 3 min; multimedia: nothing is held."""
    held = [each for each in words_of("boiler_house", "pressure or meter") if "unit downstream" in each]
    assert len(held) == 2
    assert f"again {14 + 3 + 9} min" in held[0]
    resin = load_case(CASES / "boiler_house.toml").stages[2]
    backwash, settle = (step.seconds / 60.0 for step in resin.steps[:2])
    assert backwash == 11.0
    assert f"again {backwash + settle + 3:g} min" in held[1]


def test_what_a_wash_does_to_service() -> None:
    words = words_of("boiler_house", "pressure or meter")
    meanwhile = [each for each in words if each.startswith("While")]
    assert ["no water goes on" in each for each in meanwhile] == [True, False, False]
    assert ["others go on filtering" in each for each in meanwhile] == [False, True, False]
    assert ["water goes round it" in each for each in meanwhile] == [False, False, True]
    assert any("a wash of “oxidising” alone" in each and "30 m3/h" in each for each in words)


def test_the_hold_delay_and_the_error_of_the_meter_are_the_cases() -> None:
    assert any("less than 3 min" in each for each in words_of("reference", "pressure drop"))
    assert any("within 3 %" in each for each in words_of("laundry", "volume with reserve"))
    assert any("within 5 %" in each for each in words_of("reference", "volume"))
    assert any("its reserve to 0" in each for each in words_of("reference", "volume with reserve"))
    assert not any("its reserve to 0" in each for each in words_of("reference", "volume"))


def test_the_steps_of_a_wash_in_their_order_and_direction() -> None:
    softener = next(each for each in checks_of("lens_works", "calendar")["today"]
                    if "“softener” washes by hand" in each.words)  # fmt: skip
    assert isinstance(softener, Check)
    assert list(softener.steps) == [
        "backwash, up to drain: 9 min", "regenerant, down to drain: 58 min", "displacement, down to drain: 53 min",
        "rinse, down to drain: 44 min", "make-up, into the brine tank: 17 min",
    ]  # fmt: skip


def test_the_order_of_the_first_day() -> None:
    """Water is let in and led away before anything washes; nothing of today takes a day."""
    checks = checks_of("boiler_house", "pressure or meter")
    today = [each.words for each in checks["today"]]
    order = [next(place for place, each in enumerate(today) if word in each)
             for word in ("vent its air", "tank of wash water", "free air", "nothing overflows", "washes by hand",
                          "cut the power")]  # fmt: skip
    assert order == sorted(order)
    assert order[0] == 0
    assert list(checks) == ["today", "tomorrow", "days"]
    assert list(checks_of("rope_walk", "pressure switch")) == ["today", "days"]
    assert [each.write for each in checks["days"]] == [("oxidising: 9 d", "multimedia: 16 d", "resin: 14 d"), ()]


def test_a_meter_a_switch_and_locked_hours_refuse_or_start_by_hand() -> None:
    """A vessel of oxidising media takes 9 m3/h: 300 L in 2 min. The largest wash of filtered water is its backwash,
    14 min of 30 m3/h: 7 m3."""
    words = words_of("boiler_house", "pressure or meter")
    (small,) = [each for each in words if "Set the volume" in each]
    assert "to 300 L" in small
    assert "put back 520 m3" in small
    assert any("at least the 7 m3" in each for each in words)
    (locked,) = [each for each in words if "Set the clocks into" in each]
    assert "05:30 to 08:30" in locked
    assert "only at 08:30" in locked
    pumped = [each for each in words if "hand pump" in each]
    assert all(f"at {above} kPa" in each for above, each in zip((36, 24, 26), pumped, strict=True))
    assert not any(word in each for each in words_of("rope_walk", "calendar")
                   for word in ("Set the clocks into", "hand pump", "electrician", "Set the volume"))  # fmt: skip


def test_each_limit_and_dose_of_the_case_is_tested_and_no_other() -> None:
    """2.4 mg/L of chlorine in 3.4 m3/h for 10 min: 1.36 g; 0.15 mg/L of aluminium in 9 m3/h: 0.225 g."""
    rows = rows_of("lens_works", "calendar")
    limits = [(row[0].partition(" in its water")[0], row[3]) for row in rows if "test kit" in row[0]]
    assert limits == [
        ("iron", "0.5 mg/L or less"), ("manganese", "0.05 mg/L or less"), ("iron", "0.3 mg/L or less"),
        ("manganese", "0.05 mg/L or less"), ("chlorine", "0.02 mg/L or less"), ("hardness", "15 mg/L or less"),
    ]  # fmt: skip
    (dose,) = [row for row in rows if "dosed in 10 min" in row[0]]
    assert dose[2] == "1.36 g"
    assert "1.22 to 1.5 g" in dose[3]
    (dose,) = [row for row in rows_of("boiler_house", "pressure or meter") if "dosed in 10 min" in row[0]]
    assert dose[0].startswith("coagulant, counted as in the case (a product or its metal),")
    assert dose[2] == "0.225 g"
    assert not any("test kit" in row[0] or "dosed" in row[0] for row in rows_of("greenhouse", "calendar"))


def test_a_rinse_passes_only_if_it_clears_in_time() -> None:
    """Whatever the model expects, the band ends with the rinse: 12 min of oxidising media, 11 min of polish."""
    clear = [row for row in rows_of("lens_works", "calendar") if row[0].startswith("from the start")]
    assert [row[3] for row in clear] == ["before the rinse ends, 12 min", "before the rinse ends, 11 min"]
    late = [row[2] == "more than 12 min" for row in clear]
    assert late == [True, False]
    assert page("lens_works", "calendar").count(say("commissioning.too_short")) == 1


def test_ten_readings_typed_under_its_names_fit_the_case(tmp_path: Path) -> None:
    """As somebody would read them: twice a day with two flows, one of them soon after a wash."""
    case, policy = load_case(CASES / "laundry.toml"), "calendar"
    table = tree(page("laundry", policy)).findall(".//table")[-1]
    names = ["".join(each.itertext()) for each in table.iter("th")]
    assert names == [
        "date", "time", "total [m3]", "pressure drop [kPa]", "flow [m3/h]", "temperature [degC]", "wash"
    ]  # fmt: skip
    assert len(list(table.find("tbody").iter("tr"))) == LINES == 10
    times = [150 * DAY + day * DAY + hour * HOUR for day in range(5) for hour in (5.5, 12.5)]
    truth = load_case(CASES / "laundry.toml", {"stage.sand.layer.0.head_loss_gain": "12 Pa/m per g/m3"})
    seen, washes = look(truth, 0, policy, times, seed=1)
    rows = []
    for place, time in enumerate(times):
        when = case.run.start + timedelta(seconds=time)
        last = times[place - 1] if place else time - DAY
        began = [case.run.start + timedelta(seconds=wash.start) for wash in washes if last < wash.start <= time]
        rows.append([
            f"{when:%Y-%m-%d}", f"{when:%H:%M}", f"{seen[What.TOTAL][place]:.1f}",
            f"{seen[What.PRESSURE_DROP][place] / 1e3:.1f}", f"{seen[What.FLOW][place] * HOUR:.2f}",
            f"{seen[What.TEMPERATURE][place]:.1f}", " + ".join(f"{each:%H:%M}" for each in began),
        ])  # fmt: skip
    assert sum(bool(row[-1]) for row in rows) >= 2
    typed = tmp_path / "readings.csv"
    with typed.open("w", encoding="utf-8", newline="") as file:
        csv.writer(file, lineterminator="\n").writerows([names, *rows])
    new, told = tmp_path / "new.toml", tmp_path / "fit.json"
    done = call("fit", typed, CASES / "laundry.toml", "--no-ranges", "--quiet", "--out", new, "--json", told)
    assert done.exit_code == 0, done.output
    found = json.loads(told.read_text(encoding="utf-8"))
    growth = next(each for each in found["constants"] if each["key"].endswith(".head_loss_gain"))
    assert growth["low"] <= 12.0 <= growth["high"]
    load_case(new)


def test_hostile_names_stay_text(tmp_path: Path) -> None:
    path = tmp_path / "a&b <i>.toml"
    name = "<b>bold</b> & 'so' it is"
    text = small_text(title="</title><script>alert(1)</script>").replace('name = "sand"', f'name = "{name}"')
    path.write_text(text.replace(".sand]", f'."{name}"]'), encoding="utf-8")
    html = commissioning(sheet_runs(load_case(path), "by volume"), path, "us", "letter")
    root = tree(html)
    assert not list(root.iter("script"))
    assert [str(each.text) for each in root.iter("b")] == [say("report.caution")]
    assert name in "".join(root.itertext())
    assert "script" not in re.sub(r"<title>.*?</title>|<h1>.*?</h1>", "", html)


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_it_needs_nothing_else_is_black_on_white_and_the_same_twice(paper: Paper) -> None:
    html = page("laundry", "calendar", paper)
    addresses = re.findall(r'(?:href=|src=|url\()\W*([^\s"\')]+)', html)
    assert addresses
    assert all(each.startswith("data:") for each in addresses)
    assert set(re.findall(r"#[0-9a-fA-F]{3,6}\b", html.partition("</style>")[0])) <= {"#000", "#fff", "#777"}
    path = CASES / "laundry.toml"
    assert commissioning(sheet_runs(load_case(path), "calendar"), path, "si", paper) == html


@pytest.mark.parametrize(
    ("name", "policy"), [("lens_works", "meter, reserve"), ("boiler_house", "pressure or meter")]
)
def test_all_is_said_by_messages_but_the_heads_that_fit_reads(name: str, policy: str) -> None:
    path = CASES / f"{name}.toml"
    case = load_case(path)
    runs = sheet_runs(replace(case, run=replace(case.run, length=30 * DAY)), policy)
    with speaking_pseudo():
        root = tree(commissioning(runs, path, "si", "a4"))
    for table in root.iter("table"):
        if table.get("class") == "lines":
            table.clear()
    shown = " ".join(root.find("body").itertext()).replace(sheet_hash(runs), "")
    names = [case.title, *(each.name for each in (*case.stages, *case.policies))]
    assert plain_words(shown, names) == []
