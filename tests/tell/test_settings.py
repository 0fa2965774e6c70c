"""The settings sheet tells what the case has, in the units of whoever reads it, and nothing else."""

from dataclasses import replace
from pathlib import Path

from sim.case.load import load_case
from sim.case.trigger.records import AnyOf, Calendar, Pressure, Volume
from sim.tell.trigger.settings_sheet import trigger_words
from sim.tell.trigger.settings_tables import settings_listing, steps_listing
from tests.plant.builders import DAY, FILTER, HOUR, M3_H, MINUTE
from tests.study.made import made_results

CASES = Path(__file__).parents[2] / "cases"


def test_a_row_for_every_policy_and_stage_of_those_asked_for() -> None:
    case = load_case(CASES / "parts_hall.toml")
    names = [policy.name for policy in case.policies]
    assert len(settings_listing(case, names, "us").rows) == 2 * len(names)
    first, second = settings_listing(case, names[:1], "us").rows
    assert first == ("calendar", "multimedia", "every 2 d, at 21:40; longest run 6 d")
    assert second[:2] == ("", "carbon")


def test_figures_stand_as_they_are_set_in_the_units_of_the_case() -> None:
    """What the file has in gallons and psi comes back to the digit; 95,000 gal are 359.6 m3."""
    case = load_case(CASES / "parts_hall.toml")
    told = {row[:2]: row[2] for row in settings_listing(case, ["volume with reserve", "pressure drop"], "us").rows}
    assert "once 36,000 gal of 95,000 gal are left" in told["volume with reserve", "multimedia"]
    assert "at a pressure drop of 6 psi, held for 4 min" in told["pressure drop", "multimedia"]
    (row, *_) = settings_listing(case, ["volume with reserve"], "si").rows
    assert "of 359.6 m3" in row[2]


def test_any_of_names_each_way_and_the_longest_run_once() -> None:
    either = AnyOf(
        triggers=(
            Pressure(above=36e3, hold=3 * MINUTE),
            Volume(volume=900.0, at=3 * HOUR),
        ),
        longest_run=9 * DAY,
    )
    ways = "at a pressure drop of 36 kPa, held for 3 min; after 900 m3, at the next 03:00; whichever comes first"
    assert trigger_words(FILTER, either, "si") == f"{ways}; longest run 9 d"
    night = replace(FILTER, longest_run=10 * DAY, longest_run_at=4 * HOUR + 20 * MINUTE)
    at = "at the last 04:20 before its time is up"
    assert trigger_words(night, either, "si") == f"{ways}; longest run 9 d, {at}"
    assert trigger_words(night, Volume(volume=900.0, at=None), "si") == f"after 900 m3; longest run 10 d, {at}"
    assert trigger_words(FILTER, Calendar(every=3 * DAY, at=2.5 * HOUR), "si") == "every 3 d, at 02:30"


def test_what_is_to_be_set_names_the_minutes_in_which_the_unit_is_held_and_the_rules_of_a_stage() -> None:
    boiler = load_case(CASES / "boiler_house.toml")
    first, second, third = settings_listing(boiler, ["pressure or meter"], "si").rows
    assert first[2].endswith("longest run 9 d; unit held: minute 0 to 26 of the wash")
    assert second[2].endswith("longest run 16 d")
    assert third[2].endswith("unit held: minute 0 to 16 of the wash")
    (stage, *others) = boiler.stages
    ruled = replace(stage, least_interval=5 * HOUR, not_while=("resin",))
    (row, *_) = settings_listing(replace(boiler, stages=(ruled, *others)), ["pressure or meter"], "si").rows
    assert "least time between starts: 5 h" in row[2]
    assert "not while these wash: “resin”" in row[2]


def test_a_step_is_its_minutes_times_its_flow() -> None:
    """17 m3/h for 10 minutes are 2,833 L, 9 m3/h for 6 minutes 900 L."""
    reference = load_case(CASES / "reference.toml")
    assert steps_listing(reference, [], "si").rows == (
        ("filter", "backwash, up to drain", "10 min x 17 m3/h = 2,833 L", "-", "clean"),
        ("", "rinse, down to drain", "6 min x 9 m3/h = 900 L", "-", "raw"),
    )  # fmt: skip


def test_beside_the_flow_that_is_set_stands_the_least_that_a_wash_reached() -> None:
    """12 of 17 m3/h with one of two policies; the other never rinsed."""
    case, (one, other, *_) = load_case(CASES / "reference.toml"), made_results()
    flows = ({"filter": (17.0 * M3_H, None)}, {"filter": (12.0 * M3_H, 9.0 * M3_H)})
    results = [replace(each, wash_flows=reached) for each, reached in zip((one, other), flows, strict=True)]
    listing = steps_listing(case, results, "si")
    assert [column.head for column in listing.columns][2:4] == ["set", "least flow reached"]
    assert [row[3] for row in listing.rows] == ["12 m3/h", "9 m3/h"]
    assert "74.85 gpm" in steps_listing(case, results, "us").rows[0][2]
    assert steps_listing(case, results, "us").rows[0][3] == "52.83 gpm"
