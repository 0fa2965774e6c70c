"""Which way a comparison speaks for: the limits first, then the least to drain, against today's."""

from dataclasses import replace
from typing import Any

import pytest

from sim.case.chemistry.records import Limits
from sim.case.stage.records import Step
from sim.case.units import HOUR
from sim.plant.records import RunResult
from sim.study.choice import Choice, once
from sim.tell.comparison.first_screen import first_screen
from tests.study.made import made_case, made_results

WAYS = ("calendar", "volume", "volume with reserve", "pressure drop")


def chosen(today: str | None = "calendar", **figures: tuple[float, ...]) -> Choice:
    """The made comparison with some figures of the site set, one for each way."""
    results: list[RunResult] = []
    for place, each in enumerate(made_results()):
        changed: dict[str, Any] = {key: values[place] for key, values in figures.items()}
        stages = {name: stage | changed for name, stage in each.stages.items()}
        results.append(replace(each, site=each.site | changed, stages=stages))
    return Choice(once(replace(made_case(), today=today), 1, results))


def told(choice: Choice) -> str:
    return " ".join(first_screen(choice, (), "si").answer)


KEPT = {"over_limit_h": (0.0, 0.0, 0.0, 0.0), "unmet_m3": (5.0, 5.0, 5.0, 5.0)}


def test_of_those_that_keep_every_limit_the_least_to_drain_is_taken() -> None:
    choice = chosen(**KEPT, drain_m3=(100.0, 70.0, 80.0, 90.0), peak_dp_kpa=(10.0, 20.0, 20.0, 20.0))
    assert (choice.kind, choice.way, choice.order[0]) == ("take", "volume", "volume")
    assert told(choice).startswith("Take “volume”: it saves 30 m3 of water to drain in 60 days against today's")
    assert "Worse with it: highest pressure drop 20 kPa against 10" in told(choice)


@pytest.mark.parametrize(
    ("key", "values", "limit"),
    [
        ("over_limit_h", (0.0, 3.0, 0.0, 0.0), "over_limit_h"),
        ("unmet_m3", (5.0, 6.0, 5.0, 5.0), "unmet_m3"),
        ("peak_dp_kpa", (10.0, 5000.0, 10.0, 10.0), "supply_kpa"),
    ],
)
def test_a_way_that_breaks_a_limit_is_never_taken(key: str, values: tuple[float, ...], limit: str) -> None:
    choice = chosen(**KEPT | {key: values}, drain_m3=(100.0, 70.0, 80.0, 90.0))
    assert limit in {each.key for each in choice.broken["volume"]}
    assert (choice.kind, choice.way) == ("take", "volume with reserve")
    assert choice.order[-1] == "volume"


def softened(**figures: tuple[float, ...]) -> Choice:
    """The same of a softener whose hardness has a limit."""
    found = chosen(**KEPT | {"drain_m3": (100.0, 70.0, 80.0, 90.0), "hardness_over_h": (0.0,) * 4, **figures})
    case = found.repeated.case
    brine = Step(do="regenerant", seconds=600.0, flow=1e-4, water_solids=None, cleaning_rate=None, salt=9e3)
    (stage,) = case.stages
    limited = replace(stage, limits=Limits(hardness=20.0), steps=(*stage.steps, brine))
    return Choice(replace(found.repeated, case=replace(case, stages=(limited,))))


@pytest.mark.parametrize(
    ("key", "limit"), [("hardness_over_h", "hardness_over_h"), ("regenerations_without", "without")]
)
def test_a_way_over_a_limit_of_what_is_dissolved_or_without_salt_is_never_taken(key: str, limit: str) -> None:
    assert softened(**{key: (0.0,) * 4}).way == "volume"
    choice = softened(**{key: (0.0, 3.0, 0.0, 0.0)})
    assert {each.key for each in choice.broken["volume"]} == {limit}
    assert (choice.kind, choice.way) == ("take", "volume with reserve")
    every = softened(**{key: (2.0, 3.0, 1.0, 2.0)})
    assert {each.key for each in every.unkept} == {limit}
    assert [way for way in every.ways if every.broken[way]] == ["volume"], "more than today's"


def test_a_limit_of_what_is_dissolved_has_its_row_marked_once() -> None:
    choice = softened(hardness_over_h=(0.0, 3.0, 0.0, 0.0))
    assert rows_of(choice)["over the hardness limit, h"] == ("0", "! 3", "0", "0")
    assert "time over the hardness limit in a year (0 h)" in first_screen(choice, (), "si").legend


def test_today_stays_where_only_breaking_a_limit_saves_water() -> None:
    choice = chosen(**KEPT | {"unmet_m3": (5.0, 6.0, 7.0, 8.0)}, drain_m3=(100.0, 70.0, 80.0, 90.0))
    assert (choice.kind, choice.order[0]) == ("stay", "calendar")
    assert told(choice).startswith("Stay with today's “calendar”")
    nothing = chosen(**KEPT, drain_m3=(60.0, 70.0, 80.0, 90.0))
    assert nothing.kind == "stay"
    assert not nothing.is_compared


def test_a_limit_that_no_way_keeps_comes_first_and_asks_for_no_more_than_today() -> None:
    choice = chosen(**KEPT | {"over_limit_h": (9.0, 8.0, 10.0, 9.0)}, drain_m3=(100.0, 70.0, 60.0, 90.0))
    assert choice.broken["volume with reserve"]
    assert not choice.broken["volume"]
    least = "the least time over it is 8 h, with “volume”."
    assert told(choice).startswith(f"No way keeps the limit of 0.500 mg/L: {least}")
    assert "Take" not in told(choice)
    assert "“volume” saves 30 m3" in told(choice)
    assert "is no worse than today's “calendar” in any limit." in told(choice)


def test_where_every_way_breaks_a_limit_none_is_recommended() -> None:
    choice = chosen(**KEPT | {"over_limit_h": (9.0, 0.0, 0.0, 0.0), "unmet_m3": (5.0, 6.0, 7.0, 8.0)})
    assert choice.kind == "none"
    assert choice.way == "volume"
    assert told(choice).startswith("No way here keeps every limit (!). “volume” comes nearest: ")


def test_another_way_mends_what_todays_breaks() -> None:
    choice = chosen(**KEPT | {"over_limit_h": (9.0, 0.0, 0.0, 0.0)}, drain_m3=(60.0, 70.0, 80.0, 90.0))
    assert (choice.kind, choice.way) == ("mend", "volume")
    assert told(choice).startswith("Take “volume”, since today's “calendar” breaks a limit: “volume” sends 70 m3")


def test_ways_that_do_not_differ_are_said_first() -> None:
    same = dict.fromkeys(("drain_m3", "downtime_h", "breakthrough_risk", "peak_dp_kpa"), (1.0,) * 4)
    choice = chosen(**KEPT | same)
    assert choice.kind == "same"
    assert told(choice) == "No figure differs between these ways to start a wash."


def test_one_way_alone_stays_and_is_not_called_the_same_as_others() -> None:
    case = made_case()
    alone = replace(case, policies=case.policies[:1], today="calendar")
    assert Choice(once(alone, 1, made_results()[:1])).kind == "stay"


def test_without_a_present_way_the_first_calendar_is_named_as_taken_for_it() -> None:
    choice = chosen(None, **KEPT, drain_m3=(100.0, 70.0, 80.0, 90.0))
    foot = first_screen(choice, (), "si").foot
    assert foot[0] == "The case does not name today's way (key today); “calendar” is taken for it."
    assert "today's" not in told(choice)


def rows_of(choice: Choice) -> dict[str, tuple[str, ...]]:
    """The rows of the table, ways in the order of the case."""
    found = first_screen(choice, (), "si").table
    places = [choice.order.index(way) for way in choice.ways]
    return {label: tuple(texts[place] for place in places) for label, *texts in found.rows}


def test_a_mark_stands_at_every_figure_that_breaks_a_limit_and_nowhere_else() -> None:
    choice = chosen(**KEPT | {"unmet_m3": (5.0, 6.0, 4.0, 5.0), "peak_dp_kpa": (10.0, 10.0, 10.0, 5000.0)})
    rows = rows_of(choice)
    assert rows["demand not met, m3"] == ("5", "! 6", "4", "5")
    assert rows["pressure beyond the supply"] == ("no", "no", "no", "! yes")
    assert "time over the limit, h" not in rows
    legend = first_screen(choice, (), "si").legend
    assert "no more demand unmet than today and highest pressure drop (400 kPa, what a supply usually gives" in legend


def test_where_the_case_allows_avoidable_hours_these_are_held_against_the_limit() -> None:
    """Of 60 days at 12 h a year, 2 h are allowed: 12 * 60 / 365.25 = 1.97 h."""
    hours = KEPT | {"over_limit_h": (9.0, 9.0, 3.0, 1.0), "over_limit_unavoidable_h": (8.0, 6.0, 1.0, 0.0)}
    plain = chosen(**hours)
    case = plain.repeated.case
    allowing = replace(case, run=replace(case.run, allowed_over_limit=12 * HOUR))
    choice = Choice(replace(plain.repeated, case=allowing))
    assert rows_of(choice)["avoidable time over, h"] == ("1", "! 3", "! 2", "1")
