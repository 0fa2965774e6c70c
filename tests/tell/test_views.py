"""What figures, report and workbook are made from: the same numbers as the run's, in the units asked for."""

import io
import math
import re
from collections.abc import Iterator
from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path

import pandas as pd
import pytest
from matplotlib.figure import Figure
from matplotlib.layout_engine import ConstrainedLayoutEngine

from plots.inputs import Course, Pictures
from plots.words import typeset
from sim.case.load import load_case
from sim.case.records import Case
from sim.plant.trace import trace
from sim.study.compare import Comparison, compare
from sim.study.vessels import vessels, vessels_of
from sim.study.weeks import WEEK, Week, weeks, worst_week
from sim.tell.comparison.files_of_one import report_files
from sim.tell.comparison.views import DRAWN_AT_MOST, drawn, drawn_through_time, pictures, report
from sim.tell.run.samples import Window, beds, courses, fullest_run, run_bars, window_around
from sim.tell.workbook import sheets
from tests.cli.test_words import CLAIMS, JARGON, found
from tests.plots.made import made_head
from tests.study.made import FIGURES, made_case, made_results

ROOT = Path(__file__).parent.parent.parent
# NIST SP 811, appendix B: 1 psi = 6.894757 kPa, 1 in = 0.0254 m, 1 lb/ft3 = 16.01846 kg/m3.
Files = dict[str, str | bytes]
KPA_PER_PSI, M_PER_IN, KG_M3_PER_LB_FT3 = 6.894757, 0.0254, 16.01846


@pytest.fixture(scope="module", params=["reference", "parts_hall"])
def comparison(request: pytest.FixtureRequest) -> Comparison:
    return compare(load_case(ROOT / "cases" / f"{request.param}.toml"))


def worst(comparison: Comparison) -> tuple[Week, bool]:
    return worst_week(week for each in comparison.results for week in weeks(comparison.case, each.policy))


@pytest.fixture(scope="module")
def seen(comparison: Comparison) -> dict[str, Pictures]:
    week, _ = worst(comparison)
    return {system: pictures(comparison, week, system) for system in ("si", "us")}  # type: ignore[arg-type]


def test_all_policies_and_stages_are_drawn_where_they_are_few(
    comparison: Comparison, seen: dict[str, Pictures]
) -> None:
    drawn_in_time = [(course.policy, course.stage) for course in seen["si"].courses]
    stages = [stage.name for stage in comparison.case.stages]
    assert drawn_in_time == [(each.policy, stage) for each in comparison.results for stage in stages]
    assert [bars.stage for bars in seen["si"].runs] == [bed.stage for bed in seen["si"].beds] == stages


def pairs(seen: dict[str, Pictures]) -> Iterator[tuple[Course, Course]]:
    yield from zip(seen["si"].courses, seen["us"].courses, strict=True)


def test_us_units_are_the_same_amounts(seen: dict[str, Pictures]) -> None:
    for si, us in pairs(seen):
        assert (si.pressure.unit, us.pressure.unit) == ("kPa", "psi")
        difference = us.table["pressure"] * KPA_PER_PSI - si.table["pressure"]
        assert difference.abs().max() < 1e-6 * si.table["pressure"].max()
        assert (us.solids, us.limit) == (si.solids, si.limit)
        assert us.set_point == (None if si.set_point is None else pytest.approx(si.set_point / KPA_PER_PSI, rel=1e-6))
    for si_bed, us_bed in zip(seen["si"].beds, seen["us"].beds, strict=True):
        assert (us_bed.depth.unit, us_bed.deposit.unit) == ("in", "lb/ft3")
        metres, deposit = us_bed.slices["bottom"] * M_PER_IN, us_bed.slices["deposit"] * KG_M3_PER_LB_FT3
        assert metres.to_numpy() == pytest.approx(si_bed.slices["bottom"].to_numpy(), rel=1e-6)
        assert deposit.to_numpy() == pytest.approx(si_bed.slices["deposit"].to_numpy(), rel=1e-6)


def test_solids_are_shown_as_the_case_speaks_of_them(comparison: Comparison, seen: dict[str, Pictures]) -> None:
    ratio = comparison.case.feed.turbidity_ratio
    for course in seen["us"].courses:
        assert course.solids.unit == ("mg/L" if ratio is None else "NTU")
    if ratio is not None:  # the limits of the parts-washing hall as its file writes them
        assert [course.limit for course in seen["si"].courses[:2]] == [pytest.approx(0.9), pytest.approx(0.6)]


def test_set_points_are_drawn_where_pressure_starts_the_wash(seen: dict[str, Pictures]) -> None:
    for course in seen["si"].courses:
        assert (course.set_point is not None) == (course.policy == "pressure drop")


def test_a_course_never_exceeds_the_highest_of_the_run(comparison: Comparison, seen: dict[str, Pictures]) -> None:
    for course in seen["si"].courses:
        result = next(each for each in comparison.results if each.policy == course.policy)
        peak = result.stages[course.stage]["peak_dp_kpa"]
        assert isinstance(peak, float)
        assert 0.5 * peak < course.table["pressure"].max() <= peak * (1.0 + 1e-9)


def test_what_a_course_shows_over_the_limit_is_there_in_the_figures(
    comparison: Comparison, seen: dict[str, Pictures]
) -> None:
    for course in seen["si"].courses:
        result = next(each for each in comparison.results if each.policy == course.policy)
        if (course.table["solids"] > (course.limit or math.inf) * (1.0 + 1e-9)).any():
            assert (result.stages[course.stage]["over_limit_h"] or 0.0) > 0.0


def test_hours_over_the_limit_add_up_over_any_cut_of_the_run(comparison: Comparison) -> None:
    case, result = comparison.case, comparison.results[0]
    half = case.run.length / 2.0
    halves = [courses(case, result, Window(*ends), "si") for ends in ((0.0, half), (half, case.run.length))]
    for first, second in zip(*halves, strict=True):
        here, whole = first.over_h
        assert whole == pytest.approx(result.stages[first.stage]["over_limit_h"], rel=1e-9)
        assert here + second.over_h[0] == pytest.approx(whole, rel=1e-9)


def test_a_course_breaks_off_where_the_stage_is_not_in_service(seen: dict[str, Pictures]) -> None:
    for course in seen["si"].courses:
        rising = course.table["time"].diff().dropna()
        assert (rising > timedelta(0)).all()
        for wash in course.washes:
            during = course.table[course.table["time"] == wash + timedelta(seconds=1)]
            assert during["pressure"].isna().all()
        assert len(course.table) < 1200


def test_drawing_changes_no_result(comparison: Comparison, seen: dict[str, Pictures]) -> None:
    assert compare(comparison.case).results == comparison.results


def test_filter_runs_have_the_length_and_the_hours_of_the_run() -> None:
    case = load_case(ROOT / "cases" / "reference.toml")
    result = compare(case).results[0]
    bars = run_bars(case, [result], *vessels(case))
    # The hand results of the reference case: the first wash at day 4.125.
    assert bars.length.unit == "d"
    assert bars.table["length"].iloc[0] == pytest.approx(4.125, abs=1e-9)
    assert bars.table["cause"].tolist() == ["calendar"] * 14 + ["end of simulation"]
    assert bars.table["over"].sum() * 24.0 == pytest.approx(result.site["over_limit_h"], rel=1e-9)
    unlimited = replace(case.stages[0], limit=None)
    assert run_bars(case, [result], *vessels_of(unlimited)).table["over"].isna().all()


def test_the_bed_is_the_one_at_the_end_of_the_fullest_run() -> None:
    case = load_case(ROOT / "cases" / "reference.toml")
    result = compare(case).results[0]
    shown = beds(case, [result], "si")[0]
    run = fullest_run(result, "filter")
    assert run.load_g_m2 == max(each.load_g_m2 for each in result.runs if each.cause is not None)
    assert shown.layers["bottom"].tolist() == pytest.approx([0.45, 0.70])
    assert shown.layers["most"].tolist() == [12.0, 9.0]
    # What the bed holds is at most what came and what was left before, and most of what came.
    held = ((shown.slices["bottom"] - shown.slices["top"]) * shown.slices["deposit"]).sum() * 1000.0
    assert 0.9 * run.load_g_m2 < held < 1.1 * run.load_g_m2
    assert (shown.slices["deposit"] <= 12.0).all()


@pytest.mark.parametrize(
    ("number", "length", "expected"),
    [
        (1, 60.0, (0.0, 28.0)),
        (3, 60.0, (0.0, 28.0)),
        (5, 60.0, (14.0, 42.0)),
        (9, 60.0, (32.0, 60.0)),
        (1, 9.0, (0.0, 9.0)),
    ],
)
def test_the_window_is_four_weeks_around_the_worst(number: int, length: float, expected: tuple[float, float]) -> None:
    day = 86_400.0
    start = (number - 1) * WEEK
    week = Week("a", number, start, min(start + WEEK, length * day), 0.0, 1, 1.0, 1.0, 0.0)
    assert window_around(week, length * day) == (expected[0] * day, expected[1] * day)


def test_of_many_policies_the_telling_ones_are_drawn() -> None:
    names = tuple(f"way {place}" for place in range(10))
    figures = {key: (values[0],) * 10 for key, values in FIGURES.items()}
    figures["over_limit_h"] = (5.0,) * 7 + (0.0, 9.0, 5.0)
    results = made_results(figures, names)
    chosen = [each.policy for each in drawn(results, DRAWN_AT_MOST, "si")]
    assert chosen == ["way 0", "way 1", "way 2", "way 3", "way 7", "way 8"]
    stages = tuple(f"s{place}" for place in range(12))
    many = made_results(figures, names, stages)
    assert len(drawn_through_time(made_case(names=names, stages=stages), many, "si")) == 1


def test_the_worst_week_is_named_with_its_reason(comparison: Comparison) -> None:
    week, over_limit = worst(comparison)
    assert over_limit
    told = report(comparison, week, over_limit=True, system="si")
    assert told.week.startswith(f"Week {week.number} with “{week.policy}”, ")
    assert "no week of any way to start a wash has more" in told.week
    result = next(each for each in comparison.results if each.policy == week.policy)
    log = [entry for entry in result.log if week.start_s <= entry.time_s < week.end_s]
    assert [row[2] for row in told.events.rows] == [entry.what for entry in log]
    quiet = report(comparison, week._replace(stages_over_h=0.0), over_limit=False, system="si")
    assert "this is the week with the most washes" in quiet.week
    inner = report(comparison, week._replace(stages_over_h=2.5), over_limit=False, system="si")
    assert "over their own limits for 2.5 h together" in inner.week


def test_every_assumed_constant_is_told_with_its_range_and_source(comparison: Comparison) -> None:
    week, _ = worst(comparison)
    told = report(comparison, week, over_limit=True, system="us")
    assert told.order == ()
    assert told.assumptions is not None
    assert len(told.assumptions.rows) == len(comparison.case.assumptions)
    heads = [column.head for column in told.assumptions.columns]
    assert heads == ["constant", "what it is", "value", "low", "high", "unit", "source"]
    tanks = next(row for row in told.assumptions.rows if row[0].endswith("tanks"))
    assert tanks[2:5] == ("3", "1", "10")
    for row in told.assumptions.rows:
        assert 1 <= int(row[6].strip("[]")) <= len(told.sources)


def test_stages_have_tables_of_their_own_where_there_are_several(comparison: Comparison) -> None:
    week, _ = worst(comparison)
    captions = [table.caption for table in report(comparison, week, over_limit=True, system="si").comparison]
    stages = [stage.name for stage in comparison.case.stages]
    assert captions == (["All figures"] if len(stages) == 1 else ["Site", *(f"Stage {name}" for name in stages)])


def test_the_workbook_holds_all_tables_with_units_in_the_heads(
    comparison: Comparison, seen: dict[str, Pictures]
) -> None:
    found = [week for each in comparison.results for week in weeks(comparison.case, each.policy)]
    book = {sheet.name: sheet.table for sheet in sheets(comparison, seen["us"], found, "us")}
    assert list(book) == [
        "Comparison", "Settings", "Wash steps", "Filter runs", "Weeks", "Events", "Through time", "Bed", "Assumed",
        "About",
    ]  # fmt: skip
    runs: pd.DataFrame = book["Filter runs"]
    assert len(runs) == sum(len(each.runs) for each in comparison.results)
    expected = comparison.results[0].runs[0].end_dp_kpa / KPA_PER_PSI
    assert runs["at the end, psi"].iloc[0] == pytest.approx(expected, rel=1e-6)
    drain = book["Comparison"].query("stage == 'site' and figure == 'water to drain, gal'")
    assert len(drain) == 1
    assert len(book["Events"]) == sum(len(each.log) for each in comparison.results)
    assert len(book["Assumed"]) == len(comparison.case.assumptions)


def test_one_run_makes_a_report_of_its_own(comparison: Comparison) -> None:
    alone = replace(comparison, results=comparison.results[1:2])
    week, over_limit = worst(alone)
    told = report(alone, week, over_limit=over_limit, system="si")
    assert told.comparison[0].strong == frozenset()
    assert told.answer.sentences[0].startswith("“volume” washes ")
    assert f" times in {alone.days:g} days: " in told.answer.sentences[0]
    assert "any way to start a wash" not in told.week


@pytest.mark.long
def test_the_boiler_house_is_drawn_with_a_dozen_layouts_at_most(monkeypatch: pytest.MonkeyPatch) -> None:
    """A layout takes as long as the drawing itself; four weeks have as many figures as the year of the file."""
    case = load_case(ROOT / "cases" / "boiler_house.toml")
    month = replace(case, run=replace(case.run, length=4.0 * WEEK))
    laid_out: list[object] = []
    lay_out = ConstrainedLayoutEngine.execute

    def counted(engine: ConstrainedLayoutEngine, figure: Figure) -> None:
        laid_out.append(figure)
        lay_out(engine, figure)

    monkeypatch.setattr(ConstrainedLayoutEngine, "execute", counted)
    made = report_files(compare(month), "si", made_head(), png=True)
    drawn_files = [name for name in made if name.endswith(".svg")]
    assert len(laid_out) == len(set(map(id, laid_out))) == len(drawn_files) <= 12
    assert {f"{name[:-4]}.png" for name in drawn_files} < set(made)


SMALL = ["reference", pytest.param("parts_hall", marks=pytest.mark.long)]


@pytest.fixture(scope="module")
def files(comparison: Comparison) -> Files:
    return report_files(comparison, "si", made_head())


def complete_and_small(comparison: Comparison, made: Files) -> None:
    figures = 2 + len(comparison.case.stages) + 1 + len(comparison.results)  # filter runs by stage, beds, courses
    assert len(made) == 2 + figures
    html = str(made["report.html"])
    assert len(html.encode("utf-8")) < 1_000_000
    words = re.sub(r'src="data:[^"]*"', "", html)
    assert found(CLAIMS + JARGON, words) == []
    assert all("nan" not in str(text).split() for text in (words, made["comparison.svg"], made["bed_1.svg"]))


@pytest.mark.parametrize("comparison", SMALL, indirect=True)
def test_the_files_are_complete_and_small(comparison: Comparison, files: Files) -> None:
    complete_and_small(comparison, files)


@pytest.mark.parametrize("comparison", SMALL[:1], indirect=True)
def test_report_and_workbook_have_the_settings(files: Files) -> None:
    book, page = files["tables.xlsx"], files["report.html"]
    assert isinstance(book, bytes)
    assert isinstance(page, str)
    for name, column in (("Settings", "to be set"), ("Wash steps", "least flow reached")):
        cells = pd.read_excel(io.BytesIO(book), sheet_name=name, engine="openpyxl")[column].dropna()
        assert len(cells) >= 2
        assert all(typeset(cell) in page for cell in cells)


@pytest.mark.long
def test_the_files_in_us_units_are_the_same_each_time(comparison: Comparison) -> None:
    made = report_files(comparison, "us", made_head())
    complete_and_small(comparison, made)
    assert report_files(comparison, "us", made_head()) == made


def test_samples_are_those_of_the_run(comparison: Comparison) -> None:
    case: Case = comparison.case
    week, _ = worst(comparison)
    course = courses(case, comparison.results[0], window_around(week, case.run.length), "si")[0]
    row = course.table.dropna().iloc[100]
    start: datetime = case.run.start
    (sample, *_) = trace(case, course.policy, times=[(row["time"] - start).total_seconds()])
    assert row["pressure"] == pytest.approx(sample.signal_kpa, rel=1e-9)
