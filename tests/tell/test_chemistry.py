"""What is said of regenerations and of what is dissolved, from results and records made by hand."""

import io
from dataclasses import replace

import pytest
from rich.console import Console

from sim.case.chemistry.records import Carbon, Oxidising, Resin, Uptake
from sim.case.price.records import Prices
from sim.case.records import Case
from sim.case.stage.records import Step
from sim.case.train.records import Downstream, Vessels
from sim.cli import show_comparison, show_run
from sim.cli.screen import FIRST_SCREEN
from sim.plant.ledger import CHEMISTRY
from sim.plant.records import Event, Figure, LogEntry, RunResult, Why
from sim.study.choice import once
from sim.study.compare import Comparison
from sim.study.costs import priced
from sim.study.doubts import CarbonLife, RestoredNothing, UnitExposed, doubts
from sim.study.frames import as_csv, run_table
from sim.study.many.doubts_of_many import doubts_of
from sim.study.single import SingleRun
from sim.study.vessel_past import past
from sim.study.vessels import vessels
from sim.tell.comparison.doubt_words import grave_words, other_words
from sim.tell.comparison.first_screen import screen_of_one
from sim.tell.decision.given import given_table
from sim.tell.kpis import CARD
from sim.tell.listing import run_listing, solute_listing
from sim.tell.present import rows
from sim.tell.run.log_words import log_listing
from sim.tell.run.run_words import answer
from sim.tell.sentences import described
from sim.tell.trigger.settings_tables import steps_listing
from tests.case.test_prices import flat
from tests.study.made import FIGURES, LAYER, POLICIES, made_case, made_results

RESIN = Resin(
    doses=(100e3,), capacities=(50e3,), half_length=0.05, reference_rate=0.005, leakage=0.01, fouling=0.5
)
CARBON = Carbon(capacity=1e6, half_length=0.1, combined_half_length=1.0, reference_rate=0.005, growth=0.2)
MEDIA = Oxidising(capacity=100.0, half_length=0.1, reference_rate=0.005)
SOFT: dict[str, tuple[Figure, ...]] = FIGURES | {
    "regenerations": (20, 14, 12, 12),
    "regenerations_without": (0, 0, 3, 0),
    "capacity_lost_fraction": (0.4, 0.1, 0.05, 0.05),
    "salt_kg": (120.0, 84.0, 72.0, 72.0),
    "hardness_over_h": (0.0, 0.0, 36.0, 2.0),
    "iron_over_h": (0.0, 0.0, 0.0, 0.0),
    "oxidant_exposure_g_h_m3": (7.2, 7.2, 7.2, 7.2),
    "oxidant_peak_mg_l": (0.05, 0.05, 0.05, 0.05),
    "oxidant_over_h": (5.0, 5.0, 5.0, 6.0),
}
KEPT = FIGURES | {
    "over_limit_h": (0.0,) * 4, "breakthrough_risk": (0.0,) * 4, "unmet_m3": (0.0,) * 4, "peak_dp_kpa": (10.0,) * 4,
}  # fmt: skip
"""Figures with which every way keeps every limit."""
WASH = (
    Step(do="backwash", seconds=600.0, flow=0.001, water_solids=None, cleaning_rate=None),
    Step(do="regenerant", seconds=1200.0, flow=0.0004, water_solids=None, cleaning_rate=None, salt=6000.0,
         direction="counter-current"),
    Step(do="displacement", seconds=1800.0, flow=0.0004, water_solids=None, cleaning_rate=None),
    Step(do="make-up", seconds=300.0, flow=0.0001, water_solids=None, cleaning_rate=None),
)  # fmt: skip


def softener(uptake: Uptake | None = RESIN, **given: object) -> Case:
    """The case made by hand with a bed that takes something up."""
    case = made_case()
    stage = replace(case.stages[0], layers=(replace(LAYER, uptake=uptake),), **given)  # type: ignore[arg-type]
    return replace(case, stages=(stage,))


def compared(case: Case, figures: dict[str, tuple[Figure, ...]] = SOFT) -> Comparison:
    return Comparison(case=case, seed=1, results=made_results(figures))


def heads(comparison: Comparison) -> list[str]:
    return [row[0] for row in screen_of_one(comparison, "si").table.rows]


def test_the_first_screen_has_what_differs_beside_the_card_and_no_more_than_four_lines() -> None:
    """Exposure is the same with every way and iron never over: of what differs four have room beside the card."""
    assert len(heads(compared(made_case(), KEPT))) == len(CARD)
    kept = SOFT | KEPT | {key: SOFT[key] for key in (*CHEMISTRY, "solids_formed_kg")}
    assert heads(compared(softener(), kept))[len(CARD) :] == [
        "salt, kg", "over the hardness limit, h", "over the oxidant limit, h", "regenerations",
    ]  # fmt: skip
    alike = kept | {"oxidant_over_h": (0.0,) * 4, "hardness_over_h": (0.0,) * 4}
    assert heads(compared(softener(), alike))[len(CARD) :] == [
        "salt, kg", "oxidant reaching the unit, mg/L h", "regenerations",
    ]  # fmt: skip


def test_rows_of_broken_limits_leave_room_for_two() -> None:
    assert heads(compared(softener()))[len(CARD) :] == [
        "salt, kg", "over the hardness limit, h", "time over the limit, h", "demand not met, m3",
    ]  # fmt: skip


@pytest.mark.parametrize("ways", [POLICIES, (*POLICIES, "fifth", "sixth")])
@pytest.mark.parametrize("width", [100, 80])
def test_the_first_screen_holds_all_of_it(ways: tuple[str, ...], width: int) -> None:
    stages = made_case(names=ways)
    case = replace(stages, stages=softener().stages, downstream=Downstream(
        membrane="polyamide", unit=None, feed_limit=None, cartridge=None))  # fmt: skip
    figures = {key: (*values, values[0], values[1]) for key, values in SOFT.items()}
    comparison = Comparison(case=case, seed=1, results=made_results(figures, names=ways))
    screen = Console(file=io.StringIO(), width=width, force_terminal=False, highlight=False)
    show_comparison.show(screen, comparison, "si")
    assert isinstance(screen.file, io.StringIO)
    shown = screen.file.getvalue().splitlines()
    assert max(map(len, shown)) <= width
    if width == 100:
        assert len(shown) <= FIRST_SCREEN
    for value in ("120", "84", "72"):
        assert any(value in line for line in shown)


def test_regenerations_without_salt_are_doubted_in_a_line_of_one_run_and_of_many() -> None:
    comparison = compared(softener())
    expected = RestoredNothing(
        policy="volume with reserve", stage="filter", without=3, regenerations=12, lack="salt"
    )
    case, results = comparison.case, comparison.results
    for found in (doubts(case, results), doubts_of(once(case, 1, results))):
        assert [each for each in found if isinstance(each, RestoredNothing)] == [expected]
    line = "Of the regenerations of filter, 3 of 12 (“volume with reserve”) restored nothing: there was no salt."
    assert grave_words([expected], "si") == (line,)
    screen = screen_of_one(comparison, "si")
    assert line in screen.answer
    assert line not in screen.change
    assert line in list(answer(SingleRun(case=comparison.case, result=comparison.results[2]), "si"))


@pytest.mark.parametrize(("uptake", "words"), [(MEDIA, "there was no permanganate."), (None, "it has no medium")])
def test_what_a_regeneration_lacked_is_that_of_the_bed(uptake: Uptake | None, words: str) -> None:
    comparison = compared(softener(uptake))
    (line,) = [each for each in screen_of_one(comparison, "si").answer if "restored nothing" in each]
    assert words in line


def test_oxidant_is_doubted_where_the_membrane_is_of_polyamide() -> None:
    plain = softener()
    assert not [each for each in doubts(plain, made_results(SOFT)) if isinstance(each, UnitExposed)]
    exposed = replace(plain, downstream=Downstream(
        membrane="polyamide", unit=None, feed_limit=None, cartridge=None))  # fmt: skip
    found = [each for each in doubts(exposed, made_results(SOFT)) if isinstance(each, UnitExposed)]
    assert [(each.policy, each.exposure_g_h_m3, each.peak_mg_l) for each in found] == [
        (name, 7.2, 0.05) for name in POLICIES
    ]
    (line,) = other_words(found, "si")
    assert line.endswith("membrane: 7.20 mg/L h as chlorine, 0.050 mg/L at most (“calendar”, which has most).")
    none = SOFT | {"oxidant_exposure_g_h_m3": (0.0,) * 4}
    assert not [each for each in doubts(exposed, made_results(none)) if isinstance(each, UnitExposed)]


def test_the_life_of_carbon_is_doubted_where_it_is_not_known() -> None:
    case = softener(CARBON)
    found = [each for each in doubts(case, made_results(SOFT)) if isinstance(each, CarbonLife)]
    assert {each.stage for each in found} == {"filter"}
    (line,) = other_words(found, "si")
    assert line.startswith("How long the bed of stage filter lasts against chlorine is not known")
    known = made_results(SOFT | {"carbon_life_y": (4.0,) * 4})
    assert not [each for each in doubts(case, known) if isinstance(each, CarbonLife)]
    shown = {row.kpi.key: row for group in rows(known, "us") for row in group}
    assert (shown["carbon_life_y"].label, shown["carbon_life_y"].texts[0]) == ("life of the carbon, years", "4")
    # 1 lb is 0.45359237 kg: NIST SP 811, appendix B. 120 kg are 264.6 lb.
    assert (shown["salt_kg"].label, shown["salt_kg"].texts[0]) == ("salt, lb", "265")


def test_salt_is_in_the_cost_of_a_year() -> None:
    """120 kg in 60 days at 0.5 a kg: 365.25 a year."""
    case = softener()
    case = replace(case, prices=Prices(salt=flat(0.5)))
    assert priced(case, made_results(SOFT)[0]).site["cost"] == pytest.approx(120.0 * 365.25 / 60.0 * 0.5)
    rows_ = dict(given_table(case, "si").rows)
    assert rows_["salt"] == "0.5 per kg"


def single(case: Case, **given: object) -> SingleRun:
    result = made_results(SOFT)[0]
    return SingleRun(case=case, result=replace(result, **given))  # type: ignore[arg-type]


def test_where_what_is_dissolved_went_is_a_table_and_data() -> None:
    """A way that nothing took has no column; 1.5 kg in, 0.25 kg to service."""
    iron = dict.fromkeys(("dosed", "formed", "converted"), 0.0)
    iron = {"in": 1.5, **iron, "to_service": 0.25, "to_drain": 1.0, "held": 0.25}
    told = single(softener(), solutes={"filter": {"iron": iron}, "site": {"iron": iron}})
    listing = solute_listing(told, "si")
    assert [each.head for each in listing.columns] == [
        "stage", "dissolved", "in, kg", "to service, kg", "to drain, kg", "held, kg",
    ]  # fmt: skip
    assert listing.rows[0] == ("filter", "iron", "1.5", "0.25", "1", "0.25")
    assert [row[0] for row in listing.rows] == ["filter", "site"]
    assert told.to_json()["solutes"]["filter"]["iron"]["to_drain"] == 1.0
    screen = Console(file=io.StringIO(), width=100)
    show_run.show(screen, told, "si", everything=True)
    assert isinstance(screen.file, io.StringIO)
    assert "Where what is dissolved came from and went" in screen.file.getvalue()
    plain = Console(file=io.StringIO(), width=100)
    show_run.show(plain, single(softener()), "si", everything=True)
    assert isinstance(plain.file, io.StringIO)
    assert "dissolved came from" not in plain.file.getvalue()


def test_what_capacity_was_left_is_a_column_where_it_is_known() -> None:
    case, (result, *_) = softener(), made_results(SOFT)
    (run,) = result.runs
    known = run._replace(capacity_left=0.4)
    told = single(case, runs=(known,))
    listing = run_listing(told, [known], "si")
    assert (listing.columns[-1].head, listing.rows[0][-1]) == ("capacity left %", "40")
    assert run_listing(told, [run], "si").columns[-1].head == "unused %"
    csv = as_csv(run_table([told.result], case.run.start)).splitlines()
    assert csv[0].endswith(",capacity_left")
    assert csv[1].endswith(",0.4")
    assert told.to_json()["runs"][0]["capacity_left"] == 0.4


def entries(*told: LogEntry) -> RunResult:
    log = (
        LogEntry(600.0, "filter", Event.WASH_STARTS, made_results()[0].log[0].why),
        *told,
        LogEntry(1200.0, "filter", Event.BACK, Why.TIME),
    )
    return replace(made_results(SOFT)[0], log=log)


def test_the_log_says_what_a_regeneration_restored_and_that_a_store_is_empty() -> None:
    case = softener()
    result = entries(
        LogEntry(900.0, "filter", Event.STORE_EMPTY, Why.TIME),
        LogEntry(1000.0, "filter", Event.REGENERATED, Why.TIME, free_before=0.25, free_after=0.8),
    )
    words = [row[2] for row in log_listing(SingleRun(case=case, result=result), "si").rows]
    assert words[1:3] == ["store is empty", "regenerated: 25 % of the capacity was free, 80 % is"]
    assert result.log[2].what == "regenerated from 25% to 80% of its capacity"
    (vessel,) = vessels(case)
    assert past(result, vessel, 1300.0).regenerated == (0.25, 0.8)
    assert past(entries(), vessel, 1300.0).regenerated is None


def test_every_step_is_named_on_the_settings_sheet_and_among_what_was_given() -> None:
    case = softener(steps=WASH, vessels=Vessels(count=2, arrangement="alternating"))
    reached = [replace(each, wash_flows={"filter": (None,) * 4}) for each in made_results(SOFT)]
    table = [(row[1], row[-1]) for row in steps_listing(case, reached, "si").rows]
    assert table == [
        ("backwash, up to drain", "raw"), ("regenerant, up to drain", "6 kg of salt"),
        ("displacement, down to drain", "raw"), ("make-up, into the brine tank", "to the brine tank"),
    ]  # fmt: skip
    from_tank = replace(WASH[1], salt=None)
    dosed = replace(WASH[1], salt=None, permanganate=250.0)
    for step, words in ((from_tank, "brine of the tank"), (dosed, "0.25 kg of permanganate")):
        own = [replace(each, wash_flows={"filter": (None,)}) for each in made_results(SOFT)]
        assert steps_listing(softener(steps=(step,)), own, "si").rows[0][-1] == words
    given = dict(given_table(case, "si").rows)
    assert given["wash of filter"] == "backwash 10 min, regenerant 20 min, displacement 30 min and make-up 5 min"
    assert given["stage filter"] == "2 vessels, alternating: sand"
    (line,) = [each for each in described(case) if each.startswith("stage filter")]
    assert "2 vessels, alternating" in line
    assert "regenerant, displacement and make-up" in line
