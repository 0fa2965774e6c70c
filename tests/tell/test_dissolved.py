"""What is dissolved as it is shown: samples against ledger and hand arithmetic, week, bed, a moment, sliders."""

import json
import math
from pathlib import Path

import pytest

from plots.captions import bed_caption, week_alt, week_caption
from sim.case.load import read_case
from sim.case.records import Case
from sim.plant.records import RunResult
from sim.plant.simulate import Plant, simulate
from sim.plant.trace import moments, used_slices
from sim.study.explain import explain
from sim.study.weeks import weeks
from sim.tell.comparison.views import dissolved_table
from sim.tell.decision.given import given_table
from sim.tell.run.dissolved import followed
from sim.tell.run.moment_words import paragraphs
from sim.tell.run.samples import beds
from sim.tell.run.week_view import week_picture
from sim.web.shelf import Held
from sim.web.start import sliders

HOUR, DAY = 3600.0, 86_400.0
HARDNESS, LIMIT, LEAKAGE = 200.0, 20.0, 0.02  # mg/L, mg/L, a share
TEXT = """
title = "Soft water of a made-up laundry"
[run]
start = 2031-03-03T00:00:00
length = "4 d"
[feed]
temperature = "12 degC"
suspended_solids = "0.5 mg/L"
hardness = "200 mg/L"
[demand]
flow = "1 m3/h"
[[stage]]
name = "softener"
limits = { hardness = "20 mg/L" }
vessel = { diameter = "0.4 m", height = "1.5 m" }
longest_run = "7 d"
[[stage.layer]]
medium = "resin"
depth = "0.8 m"
leakage = 0.02
half_length = "30 mm"
[[stage.step]]
do = "backwash"
minutes = 10
flow = "1 m3/h"
[[stage.step]]
do = "regenerant"
minutes = 20
flow = "0.3 m3/h"
salt = "10 kg"
[[stage.step]]
do = "displacement"
minutes = 30
flow = "0.3 m3/h"
[[stage.step]]
do = "rinse"
minutes = 40
flow = "1 m3/h"
[policy.calendar.softener]
start_on = "calendar"
every = "2 d"
at = 02:00:00
"""


def case_of(text: str = TEXT) -> Case:
    return read_case(text, Path("made.toml"), {})


@pytest.fixture(scope="module")
def case() -> Case:
    return case_of()


@pytest.fixture(scope="module")
def result(case: Case) -> RunResult:
    return simulate(case, "calendar")


def test_a_fresh_bed_lets_its_leakage_through_and_a_spent_one_all(case: Case) -> None:
    """2 % of 200 mg/L, and after 40 h of some 25 h that the salt lasts the whole of it."""
    first, last = (look.stages[0] for look in moments(case, "calendar", times=[HOUR, 40 * HOUR]))
    assert first.hardness_mg_l == pytest.approx(LEAKAGE * HARDNESS, rel=1e-3)
    assert last.hardness_mg_l == pytest.approx(HARDNESS, rel=1e-2)
    assert last.iron_mg_l == last.manganese_mg_l == last.oxidant_mg_l == 0.0


def test_the_samples_over_the_limit_are_the_hours_of_the_ledger(case: Case, result: RunResult) -> None:
    minutes = [(place + 0.5) * 60.0 for place in range(4 * 24 * 60)]
    over = sum(look.stages[0].hardness_mg_l > LIMIT for look in moments(case, "calendar", times=minutes[::10]))
    assert over / 6.0 == pytest.approx(result.site["hardness_over_h"], abs=0.5)
    assert sum(week.stages_over_h for week in weeks(case, "calendar")) == result.site["hardness_over_h"]


def test_nothing_is_sent_on_during_a_wash_and_nothing_dissolved_is_followed_without_any(case: Case) -> None:
    plain = case_of(TEXT.replace('hardness = "200 mg/L"\n', "").replace('limits = { hardness = "20 mg/L" }\n', "")
                    .replace('salt = "10 kg"\n', "").replace('"resin"', '"sand"').replace("leakage = 0.02\n", "")
                    .replace('half_length = "30 mm"\n', "").replace('do = "regenerant"', 'do = "rinse"')
                    .replace('do = "displacement"', 'do = "rinse"'))  # fmt: skip
    washing = next(entry.time_s for entry in simulate(case, "calendar").log if entry.free_after is not None) + 60.0
    (during,) = moments(case, "calendar", times=[washing])
    (never,) = moments(plain, "calendar", times=[HOUR])
    assert all(math.isnan(each) for each in (*during.stages[0][2:], *never.stages[0][2:]))
    assert followed(plain, plain.stages[0]) == ()


def test_the_profile_holds_what_the_run_has_taken_up_and_falls_with_depth(case: Case) -> None:
    plant = Plant(case, "calendar")
    for hours, even in ((0.0, True), (12.0, False)):
        plant.run_until(hours * HOUR)
        line = plant.look()
        found, (uptake,) = used_slices(case, line), line.used_up(0)
        held = math.fsum(each.share * (each.bottom_m - each.top_m) for each in found) * uptake.capacity
        assert held == pytest.approx(uptake.used, rel=1e-9)
        shares = [each.share for each in found]
        assert shares == pytest.approx(sorted(shares, reverse=True))
        assert (shares[0] == pytest.approx(shares[-1])) is even
    assert shares[0] == pytest.approx(1.0, abs=1e-3)


def test_the_figure_of_a_bed_has_it_beside_the_deposit(case: Case, result: RunResult) -> None:
    drawn = beds(case, [result], "si")[0]
    assert drawn.used is not None
    assert drawn.used["used"].between(0.0, 100.0 + 1e-9).all()
    assert "worked out" in bed_caption((drawn,))


def test_a_week_marks_regenerations_and_says_the_highest(case: Case, result: RunResult) -> None:
    (week,) = weeks(case, "calendar")
    picture = week_picture(case, result, week, "si")
    (soft,) = picture.dissolved
    assert (soft.limit, len(soft.regenerated), soft.unrestored) == (LIMIT, result.site["regenerations"], ())
    assert soft.table["dissolved"].max() == pytest.approx(HARDNESS, rel=0.01)
    assert "over the limit" in week_caption(picture)
    assert "softener, sent on: hardness: at most 2" in week_alt(picture)
    gallons = week_picture(case, result, week, "us").dissolved[0]
    assert gallons.limit == pytest.approx(LIMIT / 17.118, rel=1e-4)  # mg/L in a grain per gallon


def test_a_moment_tells_why_a_regeneration_came_and_what_it_restored(case: Case, result: RunResult) -> None:
    entry = next(entry for entry in result.log if entry.free_after is not None)
    found = explain(case, "calendar", entry.time_s + 3 * HOUR)
    told = " ".join(paragraphs(found, "si")[-1].sentences)
    assert "The calendar started it" in told
    assert "0 % of the capacity of its run was left. As it started, the stage sent on 200 mg/L of hardness" in told
    assert f"bed free and left {100 * entry.free_after:.0f} %" in told
    assert "Its stage sends on 4" in told
    assert "of the capacity with which its run began is left." in told
    (vessel,) = json.loads(json.dumps(found.to_json(), allow_nan=False))["vessels"]
    assert vessel["sent_before"]["hardness_mg_l"] == pytest.approx(HARDNESS, rel=0.01)
    assert vessel["sent"]["hardness_mg_l"] == pytest.approx(LEAKAGE * HARDNESS, rel=0.1)


def test_a_regeneration_without_salt_says_that_the_store_was_empty() -> None:
    """What is there lasts for the first of two."""
    once = TEXT.replace("longest_run", 'store = { salt = "10 kg" }\nlongest_run', 1)
    empty = case_of(once.replace('"4 d"', '"6 d"'))
    run = simulate(empty, "calendar")
    entry = [entry for entry in run.log if entry.free_after is not None][-1]
    told = " ".join(paragraphs(explain(empty, "calendar", entry.time_s + HOUR), "si")[-1].sentences)
    assert "The store had less than the step asks for. Its regeneration found" in told
    (week,) = weeks(empty, "calendar")
    soft = week_picture(empty, run, week, "si").dissolved[0]
    assert (len(soft.regenerated), len(soft.unrestored)) == (1, 1)


def test_the_report_has_what_was_given_and_where_it_went(case: Case, result: RunResult) -> None:
    rows = dict(given_table(case, "si").rows)
    assert rows["in the feed: hardness, as calcium carbonate"] == "200 mg/L"
    assert rows["limits behind softener"] == "20 mg/L of hardness"
    ledger = dissolved_table([result], "si")
    assert ledger is not None
    assert [row[:2] for row in ledger.rows] == [("calendar", "hardness, as calcium carbonate"), ("calendar", "salt")]
    assert dissolved_table([], "si") is None


def test_hardness_and_salt_can_be_moved(case: Case) -> None:
    found = {each.key: each for each in sliders(Held(TEXT, "made.toml"), "si")}
    assert (found["feed.hardness"].value, found["feed.hardness"].unit) == (200.0, "mg/L")
    assert (found["stage.0.step.1.salt"].value, found["stage.0.step.1.salt"].group) == (10.0, "Wash of softener")
