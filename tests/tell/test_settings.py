"""The settings sheet tells what the case has, in the units of whoever reads it, and nothing else."""

from dataclasses import replace
from pathlib import Path

from sim.case.load import load_case
from sim.case.trigger.records import AnyOf, Calendar, Pressure, Volume
from sim.tell.trigger.settings_sheet import settings_listing, steps_listing, trigger_words
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


def test_steps_tell_when_the_unit_is_held_only_where_one_is() -> None:
    boiler, reference = (load_case(CASES / f"{name}.toml") for name in ("boiler_house", "reference"))
    held = {row[0]: row[-1] for row in steps_listing(boiler, [], "si").rows if row[0]}
    assert held == {"oxidising": "from minute 0 to 26", "multimedia": "no", "resin": "from minute 0 to 16"}
    assert steps_listing(reference, [], "si").rows == (
        ("filter", "backwash", "10", "17 m3/h", "-", "clean"), ("", "rinse", "6", "9 m3/h", "-", "raw"),
    )  # fmt: skip


def test_beside_the_flow_that_is_set_stands_the_least_that_a_wash_reached() -> None:
    """12 of 17 m3/h with one of two policies; the other never rinsed."""
    case, (one, other, *_) = load_case(CASES / "reference.toml"), made_results()
    flows = ({"filter": (17.0 * M3_H, None)}, {"filter": (12.0 * M3_H, 9.0 * M3_H)})
    results = [replace(each, wash_flows=reached) for each, reached in zip((one, other), flows, strict=True)]
    listing = steps_listing(case, results, "si")
    assert [column.head for column in listing.columns][3:5] == ["flow set", "least flow reached"]
    assert [row[3:5] for row in listing.rows] == [("17 m3/h", "12 m3/h"), ("9 m3/h", "9 m3/h")]
    assert steps_listing(case, results, "us").rows[0][3:5] == ("74.85 gpm", "52.83 gpm")
