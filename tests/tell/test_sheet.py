"""The settings sheet says what the case has and what its run did: numbers, the day, what was set before."""

import math
import re
import tomllib
from collections.abc import Iterator
from dataclasses import replace
from datetime import datetime, timedelta
from functools import cache
from pathlib import Path

import pytest

from plots.sheet import Sheet, SheetRow
from sim.case.load import load_case, read_case
from sim.case.records import Case
from sim.case.stage.records import HoldUnit
from sim.case.train.records import HoursOfDay
from sim.plant.records import Cause, Event, RunResult
from sim.study.hours_washed import Arc, half_hours, usual
from sim.study.sheet_runs import SheetRuns, reading_flows, sheet_runs
from sim.study.single import triggers_of
from sim.tell.sheet.sheet_json import sheet_hash
from sim.tell.sheet.sheet_words import sheet_of, untreated

CASES = Path(__file__).parents[2] / "cases"
RESERVE = "volume with reserve"
SHORT = 60 * 86_400.0


@cache
def ran(name: str, policy: str) -> SheetRuns:
    case = load_case(CASES / f"{name}.toml")
    if name != "dye_works":  # whose records are as long as its run
        case = replace(case, run=replace(case.run, length=min(case.run.length, SHORT)))
    return sheet_runs(case, policy)


def sheet(name: str, policy: str, system: str = "si", old: tuple[Case, str] | None = None) -> Sheet:
    return sheet_of(ran(name, policy), system, old)  # type: ignore[arg-type]


def row(of: Sheet, stage: str, name: str) -> SheetRow:
    (found,) = (each for f in of.filters if f.name == stage for each in f.rows if each.name == name)
    return found


def washes(case: Case, result: RunResult, stage: str) -> Iterator[tuple[Cause, datetime, datetime]]:
    """Of the log alone: why, from when and until when each whole wash of a stage went on."""
    names = [stage, *(f"{stage} {n}" for n in range(1, 9))]
    begun: dict[str, tuple[Cause, datetime]] = {}
    for entry in result.log:
        at = case.run.start + timedelta(seconds=entry.time_s)
        if entry.who in names and entry.event is Event.WASH_STARTS:
            begun[entry.who] = Cause(str(entry.why)), at
        elif entry.who in begun and entry.event in (Event.BACK, Event.STANDS_BY):
            yield (*begun.pop(entry.who), at)


def middle(times: list[float]) -> tuple[float, float]:
    """The first and last of some times of day [min] when those before a tenth and after nine tenths are taken away,
    going round from the end of the longest pause."""
    turned = [sorted((each - first) % 1440.0 for each in times) for first in times]
    best = max(range(len(times)), key=lambda place: 1440.0 - turned[place][-1])
    count = len(times)
    low, high = (turned[best][math.ceil(count * share / 10) - 1] for share in (1, 9))
    return times[best] + low, times[best] + high


def touched(first: float, last: float) -> set[int]:
    """The half hours of the day that a span [min] touches, minute by minute."""
    steps = max(math.ceil((last - first) * 10), 1)
    return {int((first + step / 10) // 30) % 48 for step in range(steps)}


def minute(at: datetime) -> float:
    return at.hour * 60 + at.minute + at.second / 60


@pytest.mark.parametrize(
    ("name", "policy", "hours"),
    [
        ("greenhouse", RESERVE, {"coarse": "21:35", "fine": "23:00"}),
        ("boiler_house", "pressure or meter", {"oxidising": "20:50"}),
        ("lens_works", "meter, reserve", {"polish": "23:50", "softener": "01:15"}),
        ("dye_works", "volume", {}),
    ],
)
def test_the_strip_of_the_day_is_that_of_the_log(name: str, policy: str, hours: dict[str, str]) -> None:
    runs = ran(name, policy)
    strips = {each.name: each for each in sheet(name, policy).strips}
    for stage in runs.case.stages:
        found, at = list(washes(runs.case, runs.result, stage.name)), hours.get(stage.name)
        clock = [(start, end) for _, start, end in found if f"{start:%H:%M}" == at]
        others = [minute(start) for _, start, _ in found if f"{start:%H:%M}" != at]
        if stage.name not in hours and name != "dye_works":
            continue  # stages whose hours the test does not name
        black = {half for start, end in clock
                 for half in touched(minute(start), minute(start) + (end - start).total_seconds() / 60)}  # fmt: skip
        hatched = touched(*middle(others)) - black if others else set()
        marks = strips[stage.name].marks
        assert {place for place, each in enumerate(marks) if each == "full"} == black
        assert {place for place, each in enumerate(marks) if each == "hatched"} == hatched
        assert black | hatched


def test_bars_are_the_demand_of_the_case_and_locked_hours_are_crossed() -> None:
    strips = {each.name: each for each in sheet("boiler_house", "pressure or meter").strips}
    hourly = tomllib.loads((CASES / "boiler_house.toml").read_text(encoding="utf-8"))["demand"]["hourly"]
    shares = [float(each.split()[0]) / 6.4 for each in hourly for _ in range(2)]  # at most 6.4 m3/h
    assert strips["water used"].bars == pytest.approx(shares)
    crossed = {place for place, each in enumerate(strips["no wash may start"].marks) if each == "crossed"}
    assert crossed == {11, 12, 13, 14, 15, 16}  # 05:30-08:30


def test_the_unit_is_held_from_the_start_of_a_wash_to_its_end() -> None:
    """By calendar alone, held all through every wash: black where any filter washes."""
    of = sheet("lens_works", "calendar")
    strips = {each.name: each for each in of.strips}
    filters = [strips[each.name].marks for each in of.filters]
    assert strips["unit held"].marks == tuple("full" if "full" in each else "" for each in zip(*filters, strict=True))
    assert "full" in strips["unit held"].marks


def test_the_held_unit_and_its_hours_are_told_by_stage() -> None:
    """Half past the hour set and 20 minutes more, of a hold that the case ends after its settle."""
    runs = ran("boiler_house", "pressure or meter")
    arcs = {"oxidising": (Arc(first=72_000.0, last=72_000.0, hour=72_000.0, count=9),),  # 20:00
            "multimedia": (), "resin": (Arc(first=3_600.0, last=7_200.0, hour=None, count=9),)}  # fmt: skip
    strips = {each.name: each.note for each in sheet_of(replace(runs, arcs=arcs), "si", None).strips}
    assert strips["unit held"] == "oxidising 20:00 to 20:26; resin around its washes"  # 14 + 3 + 9 min


def test_marks_are_explained_where_a_strip_has_them_and_long_hours_are_any_hour() -> None:
    marked = {"lens_works": ("calendar", ["Black", "Crossed"]),
              "boiler_house": ("pressure or meter", ["Hatched", "Crossed"])}  # fmt: skip
    for name, (policy, marks) in marked.items():
        assert [each.partition(":")[0] for each in sheet(name, policy).marks] == marks
    runs = ran("dye_works", "volume")
    for hours, told in ((12, "9 of 9 mostly from 14:00 to 02:00"), (12.5, "9 of 9 at any hour")):
        arc = Arc(first=50_400.0, last=50_400.0 + hours * 3600.0, hour=None, count=9)
        of = sheet_of(replace(runs, arcs={each.name: (arc,) for each in runs.case.stages}), "si", None)
        assert [each.partition(":")[0] for each in of.marks] == ["Hatched"]
        assert {each.note for each in of.strips[1:]} == {told}


def test_a_wash_due_in_locked_hours_starts_when_the_last_of_them_end() -> None:
    runs = ran("boiler_house", "pressure or meter")
    assert sheet("boiler_house", "pressure or meter").rules.endswith("starts when they end (08:30)")
    spans = (HoursOfDay(start=82_800.0, end=3_600.0), HoursOfDay(start=0.0, end=7_200.0))  # 23-01, 0-2
    locked = replace(runs.case, washing=replace(runs.case.washing, locked_hours=spans))
    assert sheet_of(replace(runs, case=locked), "si", None).rules.endswith("starts when they end (02:00)")
    assert "locked" not in sheet("greenhouse", RESERVE).rules


def test_water_that_goes_past_a_filter_while_the_unit_runs_is_to_be_agreed() -> None:
    """Resin: 11 min backwash, 2 min settle, 13 min rinse; the unit is held to the settle and 3 min more."""
    runs = ran("boiler_house", "pressure or meter")
    told = {each.name: each.warnings for each in sheet("boiler_house", "pressure or meter").filters}
    assert (told["oxidising"], told["multimedia"]) == ((), ())
    (resin,) = told["resin"]
    assert resin.startswith("minute 16 to 26 of each wash: water goes past this filter untreated")
    stage = runs.case.stages[-1]
    minutes = [(start / 60, end / 60) for start, end in untreated(replace(stage, hold_unit=None))]
    assert minutes == [(0, 26)]
    assert list(untreated(replace(stage, hold_unit=HoldUnit(start=1, end=None)))) == [(0.0, 660.0)]
    assert list(untreated(replace(stage, while_washing="closed"))) == []


def test_media_that_the_run_follows_for_solids_alone_are_named() -> None:
    about = {each.name: each.about for each in sheet("boiler_house", "pressure or meter").filters}
    assert about["resin"] == ("resin: studied as a filter of solids only, no regeneration is set here",)
    assert about["multimedia"] == ("2 vessels, each washed by itself, all set alike",)
    assert {each.about for each in sheet("lens_works", "calendar").filters if each.name == "softener"} == {()}


def test_a_rinse_that_does_not_clear_is_warned_of() -> None:
    runs = ran("greenhouse", RESERVE)
    assert len(runs.shown["fine"].clear) == len(list(washes(runs.case, runs.result, "fine")))
    assert max(runs.shown["fine"].clear) < math.inf
    coarse, fine = runs.case.stages
    short = replace(coarse, steps=tuple(replace(each, seconds=6.0) if each.do == "rinse" else each
                                        for each in coarse.steps))  # fmt: skip
    case = replace(runs.case, stages=(short, fine), run=replace(runs.case.run, length=10 * 86_400.0))
    found = sheet_runs(case, "calendar")
    number = len(list(washes(case, found.result, "coarse")))
    assert found.shown["coarse"].clear == [math.inf] * number
    first, second = sheet_of(found, "si", None).filters
    assert [each.partition(" washes")[0] for each in first.warnings] == [f"Rinse too short: in {number} of {number}"]
    assert second.warnings == ()
    coarse_shown = replace(runs.shown["coarse"], clear=[60.0, math.inf])
    half = replace(runs, shown={**runs.shown, "coarse": coarse_shown})
    assert sheet_of(half, "si", None).filters[0].warnings == ()


def test_a_run_too_short_to_say_is_said_at_the_top() -> None:
    runs = ran("greenhouse", RESERVE)
    assert sheet_of(runs, "si", None).short == ""
    once = replace(runs, bands=tuple(each for each in runs.bands if each.reading != "between"))
    assert sheet_of(once, "si", None).short.startswith("No filter washed twice in the 60 days of this study")
    few = replace(runs, case=replace(runs.case, run=replace(runs.case.run, length=6 * 86_400.0)))
    assert sheet_of(few, "si", None).short.startswith("This study ran for 6 days only")


def test_a_trigger_that_the_longest_run_always_preceded_says_so() -> None:
    runs = ran("greenhouse", RESERVE)
    number = len(list(washes(runs.case, runs.result, "coarse")))
    always = tuple(each._replace(cause=Cause.LONGEST_RUN if each.cause else None) for each in runs.result.runs)
    of = sheet_of(replace(runs, result=replace(runs.result, runs=always)), "si", None)
    told = f"started none of {number} washes in this study: the longest run came first each time"
    assert row(of, "coarse", "what starts a wash").note.endswith(told)
    assert row(of, "coarse", "longest run").note == f"started {number} of {number} washes"


def test_cautions_name_the_chemicals_of_the_case() -> None:
    boiler = " ".join(sheet("boiler_house", "pressure or meter").cautions)
    assert "Permanganate" in boiler
    assert "Hypochlorite" not in boiler
    assert "rine" not in boiler
    assert "Brine" in " ".join(sheet("lens_works", "calendar").cautions)


def test_readings_of_several_vessels_are_of_each() -> None:
    assert [each[0] for each in sheet("boiler_house", "pressure or meter").readings] == [
        "oxidising", "multimedia, each vessel", "resin"
    ]  # fmt: skip


def test_half_hours_and_what_is_usual_by_hand() -> None:
    assert half_hours(0.0, 1800.0) == {0}
    assert half_hours(85_000.0, 86_400.0 + 1.0) == {47, 0}
    assert usual([3.0, 1.0, 2.0]) == (1.0, 3.0)


@pytest.mark.parametrize(
    ("name", "policy", "system"),
    [("greenhouse", RESERVE, "si"), ("parts_hall", RESERVE, "us"), ("lens_works", "meter, reserve", "si"),
     ("boiler_house", "pressure or meter", "si"), ("dye_works", "volume", "si")],
)  # fmt: skip
def test_every_setting_is_the_one_of_the_file(name: str, policy: str, system: str) -> None:
    """Read from the file as text: minutes times flow by hand, triggers in the file's own units."""
    file = tomllib.loads((CASES / f"{name}.toml").read_text(encoding="utf-8"))
    of = sheet(name, policy, system)
    seen = 0
    for stage, shown in zip(file["stage"], of.filters, strict=True):
        steps = [each for each in shown.rows if " min" in each.value and " x " in each.value]
        flowing = [each for each in stage["step"] if "flow" in each]
        assert shown.name == stage["name"]
        for step, told in zip(flowing, steps, strict=True):
            flow, unit = step["flow"].split()
            volume = step["minutes"] * float(flow) * (1000 / 60 if unit == "m3/h" else 1.0)
            minutes, told_flow, told_volume = re.split(" x | = ", told.value)
            assert minutes == f"{step['minutes']} min"
            assert told_flow == step["flow"]
            assert float(told_volume.split()[0].replace(",", "")) == pytest.approx(volume, rel=5e-4)
            assert told.name.startswith(step["do"])
            seen += 1
        values = {each.name: each.value.replace(",", "") for each in shown.rows}
        given = file["policy"][policy][stage["name"]]
        for trigger in given.get("any_of", [given]):
            for key, what in (("volume", "volume between washes"), ("reserve", "reserve"), ("hold", "hold delay"),
                              ("above", "pressure drop, at or above"), ("every", "every")):  # fmt: skip
                if key in trigger:
                    assert values[what] == trigger[key]
                    seen += 1
            if "at" in trigger:
                assert values["hour"] == f"{trigger['at']:%H:%M}"
        assert values["longest run"] == stage["longest_run"]
    assert seen >= 3


def test_a_rinse_is_told_in_volumes_of_the_water_in_its_vessel() -> None:
    """By hand: a vessel of 0.9 m by 1.7 m less the grains of 0.55 m and 0.30 m of bed; 6 m3/h for 9 minutes."""
    (stage, _) = load_case(CASES / "greenhouse.toml").stages
    grains = sum(layer.depth * (1 - layer.porosity) for layer in stage.layers)
    water = math.pi * 0.45**2 * (1.7 - grains)
    note = row(sheet("greenhouse", RESERVE), "coarse", "rinse, down to drain").note
    assert note == f"{0.9 / water:.1f} times the water in the vessel"


def test_a_flow_that_is_not_reached_is_told() -> None:
    runs = ran("greenhouse", RESERVE)
    short = replace(runs.result, wash_flows={**runs.result.wash_flows, "coarse": (20.0 / 3600, 6.0 / 3600)})
    of = sheet_of(replace(runs, result=short), "si", None)
    assert row(of, "coarse", "backwash, up to drain").note == "with raw water; only 20 m3/h reached"
    assert "reached" not in row(of, "fine", "backwash, up to drain").note


def test_how_many_washes_each_trigger_started_adds_up() -> None:
    runs = ran("boiler_house", "pressure or meter")
    rows = sheet("boiler_house", "pressure or meter").filters[0].rows
    told = [each.note for each in rows if "started" in each.note]
    counts = [tuple(map(int, re.findall(r"started (\d+) of (\d+)", each)[0])) for each in told]
    whole = sum(entry.event is Event.WASH_STARTS and entry.who == "oxidising" for entry in runs.result.log)
    assert [each for _, each in counts] == [whole] * 3
    assert sum(each for each, _ in counts) == whole


def test_three_settings_that_differ_from_the_old_ones_are_named_and_no_other() -> None:
    runs = ran("greenhouse", RESERVE)
    text = (CASES / "greenhouse.toml").read_text(encoding="utf-8")
    for new, old in (('flow = "25 m3/h"', 'flow = "27 m3/h"'), ('volume = "210 m3"', 'volume = "190 m3"'),
                     ('longest_run = "14 d"', 'longest_run = "12 d"')):  # fmt: skip
        assert text.count(new) == 1
        text = text.replace(new, old)
    of = sheet_of(runs, "si", (read_case(text, CASES / "greenhouse.toml", {}), RESERVE))
    differing = {(each.name, one.name): one.was for each in of.filters for one in each.rows if one.differs}
    assert differing == {
        ("coarse", "backwash, up to drain"): "11 min x 27 m3/h = 4,950 L",
        ("coarse", "volume between washes"): "190 m3",
        ("fine", "longest run"): "12 d",
    }
    assert {one.was for each in of.filters for one in each.rows} == {"same", *differing.values()}


def test_a_hold_that_differs_by_the_steps_alone_follows_from_them() -> None:
    runs = ran("boiler_house", "pressure or meter")
    oxidising, *others = runs.case.stages
    longer = replace(oxidising, steps=tuple(replace(each, seconds=each.seconds + 60.0) if each.do == "rinse" else each
                                            for each in oxidising.steps))  # fmt: skip
    for hold, follows in ((oxidising.hold_unit, True), (HoldUnit(start=1), False)):
        old = replace(runs.case, stages=(replace(longer, hold_unit=hold), *others))
        held = row(sheet_of(runs, "si", (old, "pressure or meter")), "oxidising", "unit held")
        assert held.was == f"minute {0 if follows else 14} to 27 of the wash"
        assert (held.note == "follows from the steps", held.differs) == (follows, not follows)


def test_another_way_to_start_a_wash_is_told_once() -> None:
    case = ran("greenhouse", RESERVE).case
    of = sheet("greenhouse", RESERVE, old=(case, "calendar"))
    assert row(of, "coarse", "what starts a wash").was == "every 2 d, at 21:35; longest run 10 d"
    assert row(of, "coarse", "reserve").was == "-"
    assert row(of, "coarse", "hour").was == "same"


def test_a_star_is_where_a_range_was_tried_and_the_range_holds_the_setting() -> None:
    runs = ran("greenhouse", RESERVE)
    for tried in runs.tried:
        value = triggers_of(runs.case, RESERVE)[tried.stage].volume  # type: ignore[union-attr]
        assert tried.low <= value <= tried.high
        assert row(sheet("greenhouse", RESERVE), tried.stage, "volume between washes").starred is (
            tried.low < tried.high
        )
    assert any(each.low < each.high for each in runs.tried)
    starred = {one.name for each in sheet("greenhouse", RESERVE).filters for one in each.rows if one.starred}
    assert starred == {"volume between washes"}


@pytest.mark.parametrize("use", ["drinking", "food", None])
def test_where_people_may_drink_no_longer_run_is_tried(use: str | None) -> None:
    case = load_case(CASES / "greenhouse.toml")
    short = replace(case, use=use, run=replace(case.run, length=30 * 86_400.0))  # type: ignore[arg-type]
    found = sheet_runs(short, RESERVE)
    assert [each.high for each in found.tried] == [210.0, 480.0]
    assert any("drink" in each for each in sheet_of(found, "si", None).operator)


def test_one_digit_of_the_case_makes_another_number(tmp_path: Path) -> None:
    text = (CASES / "greenhouse.toml").read_text(encoding="utf-8")
    path = tmp_path / "changed.toml"
    path.write_text(text.replace('depth = "0.55 m"', 'depth = "0.56 m"'), encoding="utf-8")
    runs = ran("greenhouse", RESERVE)
    assert sheet_hash(replace(runs, case=load_case(path))) != sheet_hash(runs)
    assert sheet_hash(replace(runs, case=load_case(CASES / "greenhouse.toml"))) == sheet_hash(runs)
    assert sheet_hash(replace(runs, policy="calendar")) != sheet_hash(runs)


def test_usual_readings_hold_those_of_the_run() -> None:
    """A calendar of two days washes every 48 h; its water to drain is that of its steps."""
    runs = ran("greenhouse", "calendar")
    bands = {(each.reading, each.stage): each for each in runs.bands}
    between, drained = bands["between", "coarse"], bands["drained", "coarse"]
    assert (between.low, between.high) == (172_800.0, 172_800.0)
    assert (between.least, between.most) == (172_800.0 - 3600.0, 172_800.0 + 3600.0)  # an hour's error
    assert drained.low == pytest.approx(11 / 60 * 25 + 9 / 60 * 6)
    assert bands["clean", "coarse"].high < bands["before", "coarse"].high
    # the busiest hour of a mean day: 6.2 m3/h in the file, the week's mean of 6.7 / 7, in spring 0.65 to 1 of it
    assert 3.8 < reading_flows(runs.case, runs.water)["coarse"] * 3600 < 6.0
