"""Lessons: the figures show what each is for, the sentences say what the figures do and no more."""

import tomllib
from dataclasses import replace
from pathlib import Path

import pytest

from hydraulics.shear import PACKED_CLEANING, sublayer_cleaning
from hydraulics.water import density, viscosity
from sim.case.load import load_case
from sim.lessons import hold, rinse, salt, stagger, storm, warm_water, worst_hour
from sim.lessons.lesson import FOLDER, Row, Studied
from sim.lessons.names import NAMES, lesson
from sim.study.errors import RequestError
from tests.lessons.figures import figures, with_figures

ROOT = Path(__file__).parents[2]


@pytest.mark.parametrize("name", NAMES)
def test_every_constant_of_a_lesson_is_given_and_its_files_are_shipped(name: str) -> None:
    found = lesson(name)
    assert found.name == name
    assert load_case(found.path).assumptions == ()
    assert all(text.strip() for text in found.texts().values())
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    shipped = project["tool"]["setuptools"]["package-data"]["sim.lessons"]
    assert {f"*{Path(each).suffix}" for each in found.files} <= set(shipped)


def test_no_file_lies_beside_the_lessons_that_none_of_them_reads() -> None:
    read = {each for name in NAMES for each in lesson(name).files}
    assert read == {path.name for path in FOLDER.iterdir() if path.suffix in (".toml", ".csv")}


@pytest.mark.parametrize(
    ("name", "offer"), [("rince", '"rinse"'), ("Warm water", '"warm-water"'), ("zzzz", "There are")]
)
def test_an_unknown_lesson_gets_the_nearest_and_all(name: str, offer: str) -> None:
    with pytest.raises(RequestError) as caught:
        lesson(name)
    assert offer in str(caught.value)
    assert "rinse, storm, warm-water" in str(caught.value)


# rinse


def test_no_rinse_sends_on_at_least_twice_what_seven_minutes_do(rinsed: Studied) -> None:
    none, _, seven, eleven = figures(rinsed, "dirty_water_g_a_wash")
    assert none >= 2.0 * seven
    assert seven - eleven < (none - seven) / 5.0


def test_a_longer_rinse_sends_on_less_for_a_shorter_time_and_drains_more(rinsed: Studied) -> None:
    assert figures(rinsed, "rinse_min") == [0, 3, 7, 11]
    for key in ("dirty_water_g_a_wash", "dirty_water_min_a_wash", "dirty_water_peak_mg_l"):
        values = figures(rinsed, key)
        assert values == sorted(values, reverse=True)
        assert len(set(values)) == len(values)
    # 9 min of backwash at 25 m3/h, and the rinse at 7 m3/h.
    assert figures(rinsed, "drain_m3_a_wash") == pytest.approx(
        [25.0 * 9 / 60 + 7.0 * minutes / 60 for minutes in (0, 3, 7, 11)]
    )


def test_the_drawn_return_adds_up_to_the_grams_of_the_table(rinsed: Studied) -> None:
    """Trapezoids over the curve above its end, at 7 m3/h; the mean has the first washes too, which leave less."""
    for row, curve in zip(rinsed.rows[:2], rinsed.drawn[:2], strict=True):
        times = rinse.DRAWN_SECONDS
        area = sum(
            (after - before) * (left + right - 2 * curve[-1]) / 2
            for before, after, left, right in zip(times, times[1:], curve, curve[1:], strict=False)
        )
        assert area * 7.0 / 3600 == pytest.approx(row["dirty_water_g_a_wash"], rel=0.05)


def test_what_the_rinse_says_is_in_its_figures(rinsed: Studied) -> None:
    made = with_figures(rinsed, "dirty_water_g_a_wash", (10.0, 4.0, 1.0, 0.5))
    made = with_figures(made, "dirty_water_peak_mg_l", (40.0, 20.0, 5.0, 1.0))
    made = with_figures(made, "drain_m3_a_wash", (3.0, 3.2, 3.5, 3.8))
    told = made.told("si")
    assert told.sentences[0] == (
        "A rinse of 7 minutes costs 0.500 m3 a wash and keeps 9.00 g out of the water sent on. The highest "
        "solids in that water fall from 40 to 5 mg/L."
    )
    assert told.sentences[1] == "From 7 to 11 minutes it costs 0.300 m3 more and keeps back 0.50 g more."
    assert told.wall.title == (
        "At this invented plant, without a rinse 10 g of solids go on to service after each wash, after 7 minutes "
        "of rinse 1 g"
    )
    assert [line[2] for line in told.table.rows] == ["10.0", "4.0", "1.0", "0.5"]
    # 0.5 m3 of 231 cubic inches of 25.4 mm
    assert "costs 132 gal" in made.told("us").sentences[0]


# storm


def test_only_the_pressure_drop_washes_more_often_in_the_storm(stormed: Studied) -> None:
    assert figures(stormed, "policy") == [*storm.POLICIES, storm.LATE.name]
    *quiet, by_pressure, _ = stormed.rows
    assert all(by_pressure["washes_in_the_storm"] > row["washes_in_the_storm"] for row in quiet)
    assert all(row["over_limit_h"] > 5 * by_pressure["over_limit_h"] for row in quiet)


def test_the_feed_has_one_pulse(stormed: Studied) -> None:
    for table, _ in stormed.drawn:
        storm_days = table.loc[table["feed"] > 10.0, "day"]
        assert storm.STORM[0] < storm_days.min() < storm_days.max() < storm.STORM[1]
        assert table["feed"].max() > 30.0


def test_what_the_storm_says_is_in_its_figures(stormed: Studied) -> None:
    def sentences(*rows: tuple[str, float, int]) -> tuple[str, ...]:
        keys = ("policy", "over_limit_h", "washes_in_the_storm")
        made = tuple({**stormed.rows[0], **dict(zip(keys, row, strict=True))} for row in rows)
        return replace(stormed, rows=made, drawn=stormed.drawn[: len(rows)]).told("si").sentences

    said = sentences(("a", 2.0, 1), ("b", 0.0, 3), ("c", 12.5, 0))
    assert said[:3] == (
        "Over the limit in the whole run: a (2.0 h) and c (12.5 h).",
        "Not over it at any time: b.",
        "Washes that started while the pulse passed: a (1), b (3) and c (0).",
    )
    assert sentences(("a", 0.0, 1))[0] == "Not over it at any time: a."


# warm-water


def test_the_strong_wash_overfills_the_vessel_in_the_cold_only(warmed: Studied) -> None:
    found = [
        (row["temperature_degc"], row["backwash_m_h"], row["expanded_height_m"] > row["vessel_height_m"])
        for row in warmed.rows
    ]
    assert found == [
        (5.0, pytest.approx(37.0, rel=1e-3), True),
        (5.0, pytest.approx(20.0, rel=1e-3), False),
        (28.0, pytest.approx(37.0, rel=1e-3), False),
        (28.0, pytest.approx(20.0, rel=1e-3), False),
    ]


@pytest.mark.parametrize(("temperature", "unmoved"), [(5.0, 2), (28.0, 5)])
def test_the_weak_wash_leaves_coarse_grains_where_they_are(temperature: float, unmoved: int) -> None:
    """By `sublayer_cleaning`: few of the eight sublayers in cold water, most of them in warm."""
    (stage,) = load_case(warm_water.LESSON.path).stages
    (layer,) = stage.layers
    factors = [
        sublayer_cleaning(
            20.0 / 3600.0, viscosity(temperature), density(temperature), size=size, sphericity=layer.sphericity,
            porosity=layer.porosity, grain_density=layer.grain_density, viscous=stage.head_loss.viscous,
            inertial=stage.head_loss.inertial,
        )
        for size in layer.sublayer_sizes
    ]  # fmt: skip
    assert len(factors) == 8
    still = [factor == pytest.approx(PACKED_CLEANING) for factor in factors]
    assert still == [False] * (8 - unmoved) + [True] * unmoved


def test_the_runs_are_ended_by_the_pressure_drop_and_each_wash_leaves_something(warmed: Studied) -> None:
    for row, left in zip(warmed.rows, warmed.drawn, strict=True):
        assert len(left) == row["washes"] > 20
        assert left[-1][1] == row["residual_kg_m3"]
        assert 0.0 < left[0][1] < left[-1][1]
        assert [time for time, _ in left] == sorted(time for time, _ in left)


def test_a_weak_wash_costs_some_of_the_run_in_cold_water_and_much_of_it_in_warm(warmed: Studied) -> None:
    cold, cold_weak, warm, warm_weak = figures(warmed, "mean_run_h")
    assert 1.0 - cold_weak / cold >= 0.05
    assert 1.0 - warm_weak / warm >= 0.15


def test_what_warm_water_says_is_in_its_figures(warmed: Studied) -> None:
    told = with_figures(warmed, "mean_run_h", (50.0, 45.0, 100.0, 62.0)).told("si")
    change = "the mean run (the mean time in service between two washes)"
    assert told.sentences[:2] == (
        f"At 5 °C, a backwash of 20 m/h instead of 37 m/h shortens {change} by 10 %; it lifts 62 % of the bed.",
        f"At 28 °C, a backwash of 20 m/h instead of 37 m/h shortens {change} by 38 %; it lifts 25 % of the bed.",
    )
    assert told.sentences[2].startswith(
        "The vessel is 1.30 m high: the bed reaches over it with 37 m/h at 5 °C, and grains would go to the drain"
    )
    assert told.wall.title == (
        "At this invented plant, "
        "a backwash of 20 m/h instead of 37 m/h changes the mean run by -10 % at 5 °C, and by -38 % at 28 °C"
    )
    other = with_figures(warmed, "mean_run_h", (50.0, 50.1, 100.0, 104.0)).told("us")
    assert other.sentences[0].startswith("At 41 °F")
    assert f"leaves {change} as it is" in other.sentences[0]
    assert other.sentences[1].startswith("At 82 °F")
    assert f"lengthens {change} by 4 %" in other.sentences[1]
    high = with_figures(warmed, "vessel_height_m", [2.0] * 4).told("si")
    assert high.sentences[2] == "The vessel is 2 m high, and the bed stays in it each time."


# stagger


def test_the_queue_waits_hours_apart_do_not_and_side_by_side_gets_less_water(staggered: Studied) -> None:
    # 13 nights in 28 days; the second waits 23 minutes for the first, the third 46 for both.
    assert figures(staggered, "washes") == [39, 39, 39]
    assert figures(staggered, "waits") == [26, 0, 0]
    assert figures(staggered, "waited_h")[0] == pytest.approx(13 * (23 + 46) / 60)
    queued, apart, shared = figures(staggered, "least_flow_m3_h")
    asked = stagger.asked_m3_h(staggered)
    assert queued == apart == pytest.approx(asked)
    # The pump gives 40 m3/h at the most, which three share alike: 13.3 of 25 each.
    assert shared == pytest.approx(40.0 / 3.0, abs=0.1)
    assert staggered.rows[2]["left_kg"] > 2.0 * staggered.rows[0]["left_kg"]


def test_hours_apart_the_unit_gets_the_least_that_is_over_its_limit(staggered: Studied) -> None:
    queued, apart, shared = figures(staggered, "over_min")
    assert apart <= queued < shared / 2.0
    queued, apart, shared = figures(staggered, "fed_kg")
    assert apart <= 1.01 * queued < shared


def test_what_stagger_says_is_in_its_figures(staggered: Studied) -> None:
    _, apart, shared = staggered.rows
    made = with_figures(staggered, "waits", (26, apart["waits"], shared["waits"]))
    made = with_figures(made, "waited_h", (13.0, apart["waited_h"], shared["waited_h"]))
    made = with_figures(made, "over_min", (17.0, 1.0, 170.0))
    made = with_figures(made, "left_kg", (0.4, 0.4, 2.4))
    made = with_figures(made, "least_flow_m3_h", (25.0, 25.0, 12.5))
    told = made.told("si")
    assert told.sentences[0] == (
        "Waits at the same hour: 26 (13 h in all). Waits at 55 minutes apart: 0."
    )
    assert told.sentences[1].endswith("the least backwash gets 12.5 of 25.0 m3/h.")
    assert told.sentences[2] == "A round side by side leaves 2.40 kg in the beds instead of 0.40 kg."
    assert "for 17, 1 and 170 min" in told.sentences[3]
    assert [line[-1] for line in told.table.rows] == ["17", "1", "170"]
    # 12.5 m3/h are 55.0 gpm of 231 cubic inches.
    assert "gets 55 of 110 gpm" in made.told("us").sentences[1]


# hold


def set_point(studied: Studied) -> float:
    value: float = hold.set_point(studied)["set_point_kpa"]
    return value


def works(row: Row) -> bool:
    found: bool = row["works"]
    return found


def test_a_hold_longer_than_the_unit_runs_never_triggers_and_is_reported_as_missed(held: Studied) -> None:
    """0.8 m3 at 6 less 3 m3/h: the unit runs 16 minutes at a time."""
    assert held.drawn[-1].on_min == pytest.approx(16.0, abs=0.1)
    longer = [row for row in held.rows if row["hold"] in ("18 min", "35 min")]
    assert len(longer) == 2
    for row in longer:
        assert (row["by_switch"], row["early"]) == (0, 0)
        assert row["missed"] > 100
        assert row["at_the_wash_kpa"] > set_point(held)
        assert row["over_limit_h"] > 0.0


def test_no_hold_triggers_on_spikes_and_is_reported_as_early(held: Studied) -> None:
    """A spike of 9 kPa lasts 15 s: it is enough for no hold, and for one of 10 s."""
    none, short = held.rows[:2]
    assert (none["hold"], short["hold"]) == ("0 s", "10 s")
    for row in (none, short):
        assert row["early"] == row["by_switch"] > 20
        assert row["missed"] == 0
        assert set_point(held) - 9.5 < row["at_the_wash_kpa"] < set_point(held) - 8.0


def test_the_sweep_finds_the_window_between(held: Studied) -> None:
    assert hold.window(held) == ["45 s", "3 min", "7 min", "14 min"]
    for row in filter(works, held.rows):
        assert row["at_the_wash_kpa"] == pytest.approx(set_point(held), abs=0.3)
        assert 0 < row["by_switch"] < held.rows[0]["by_switch"] / 2
        assert row["over_limit_h"] == 0.0


def test_what_hold_says_is_in_its_figures(held: Studied) -> None:
    told = held.told("si")
    none, longest = held.rows[0], held.rows[-1]
    assert f"{none['early']} of {none['by_switch']} with 0 s" in told.sentences[0]
    assert f"without a wash: {longest['missed']} times with 18 min" in told.sentences[1]
    assert told.sentences[2].startswith("Between them: 45 s, 3 min, 7 min and 14 min.")
    assert told.wall.title.startswith("At this invented plant, a hold of 45 s to 14 min lets spikes pass")
    nothing = replace(held, rows=tuple(row for row in held.rows if not works(row))).told("us")
    assert nothing.sentences[2].startswith("No hold tried lies between them.")
    assert nothing.wall.title.startswith("At this invented plant, no hold tried")
    best = replace(held, rows=tuple(filter(works, held.rows))).told("si")
    assert [each.partition(":")[0] for each in best.sentences[:-1]] == ["Between them"]


# salt


def test_every_regeneration_takes_the_same_salt_whatever_the_bed_still_has(softened: Studied) -> None:
    for row in softened.rows:
        assert row["salt_kg"] == pytest.approx(43.0 * row["regenerations"])
    # One a night and one every second night in 56 days, whose first night is over as they begin.
    assert figures(softened, "regenerations")[:3] == [55, 27, 18]


def test_a_longer_calendar_throws_less_away_until_it_is_over_the_limit(softened: Studied) -> None:
    often, kept, rare, metered = softened.rows
    assert often["capacity_lost_fraction"] > kept["capacity_lost_fraction"] > rare["capacity_lost_fraction"]
    assert often["hardness_over_h"] == kept["hardness_over_h"] == metered["hardness_over_h"] == 0.0
    assert rare["hardness_over_h"] > 24.0
    assert rare["salt_kg"] < metered["salt_kg"] < kept["salt_kg"] < often["salt_kg"] / 2.0


def test_what_salt_says_is_in_its_figures(softened: Studied) -> None:
    made = with_figures(softened, "salt_kg", (2000.0, 1000.0, 600.0, 800.0))
    made = with_figures(made, "capacity_lost_fraction", (0.805, 0.512, 0.2, 0.3))
    made = with_figures(made, "hardness_over_h", (0.0, 0.0, 50.4, 0.0))
    told = made.told("si")
    assert told.sentences[0] == (
        "Regenerated every night the bed still has 80.5 % of its capacity each time, and 2,000 kg of salt go; "
        "every second night it has 51.2 %, and 1,000 kg go."
    )
    assert told.sentences[1].endswith("takes 600 kg, and the water is over its hardness limit for 50.4 h.")
    assert f"{made.rows[3]['regenerations']} regenerations, 800 kg of salt and 0 h" in told.sentences[2]
    assert told.wall.title == (
        "At this invented plant, "
        "in 56 days a softener takes 1,000 kg of salt every second night, and 800 kg by volume with reserve"
    )
    # 800 kg of 0.45359237 kg a pound
    assert "1,764 lb of salt" in made.told("us").sentences[2]
    assert "43 kg of salt" in salt.LESSON.situated("si")[1]


# worst-hour


def test_the_mean_is_within_the_limit_that_the_worst_hour_is_over(carbon: Studied) -> None:
    peak, *others = carbon.rows
    limit = worst_hour.limit_of(carbon)
    assert 20.0 * peak["mean_mg_l"] < peak["worst_mg_l"]
    assert peak["mean_mg_l"] < limit < peak["worst_mg_l"]
    assert peak["over_h"] > 0.0
    assert all(row["over_h"] == 0.0 and row["worst_mg_l"] < limit for row in others)


def test_the_worst_hour_has_one_vessel_alone_and_twice_the_depth_squares_the_share(carbon: Studied) -> None:
    """11.5 m3/h on a bed of 0.7 m: half passes in 65 mm at 19 m/h, in more as the rate is higher.

    By then each bed has used up the depth that 1.3 mg/L in half of a month's 3576 m3 takes of 900 kg/m3.
    """
    peak, night, deep, _ = figures(carbon, "passing_share")
    area = 3.141592653589793 * 0.7**2 / 4
    worn = 1.3 * 3576 / 2 / 900e3 / area
    for share, depth, flow in ((peak, 0.45, 11.5), (night, 0.45, 11.5 / 2), (deep, 0.9, 11.5)):
        assert share == pytest.approx(0.5 ** ((depth - worn) / (0.065 * flow / area / 19.0)), rel=0.03)
    assert deep == pytest.approx(peak**2, rel=0.05)


def test_what_the_worst_hour_says_is_in_its_figures(carbon: Studied) -> None:
    made = with_figures(carbon, "worst_mg_l", (0.08, 0.02, 0.01, 0.004))
    made = with_figures(made, "mean_mg_l", (0.002, 0.002, 0.002, 0.002))
    made = with_figures(made, "passing_share", (0.104, 0.03, 0.0108, 0.001))
    made = with_figures(made, "over_h", (6.2, 0.0, 0.0, 0.0))
    told = made.told("si")
    first, night, twice, _ = told.sentences
    assert "0.002 mg/L of chlorine in the mean and 0.080 mg/L in its worst hour, about 40 times" in first
    assert first.endswith("over the limit of 0.050 mg/L for 6.20 h in 30 days.")
    assert night.startswith("Washed at night the worst hour has 0.020 mg/L")
    assert "10.4 % in the worst hour with 0.450 m, and about 10.4 % of that, 1.1 %, with 0.900 m" in twice
    assert told.wall.title == (
        "At this invented plant, "
        "behind the carbon 0.002 mg/L of chlorine in the mean, and 0.080 mg/L in the worst hour"
    )
    assert "with 17.7 in" in made.told("us").sentences[2]


# stuck-meter


def test_once_the_meter_is_stuck_the_longest_run_alone_washes(stuck: Studied) -> None:
    """At 6 m3/h the 315 m3 without the reserve last 52.5 h, so the meter washes every third night: on day 3, 6 and 9.

    From then on one comes every 4, 6 or 9 days, up to day 45.
    """
    last = 9.0 + (2.0 + 20.0 / 60.0) / 24.0
    assert figures(stuck, "longest_run_d") == [4.0, 6.0, 9.0, None]
    assert figures(stuck, "washes_after") == [int((45.0 - last) / days) for days in (4.0, 6.0, 9.0)] + [0]
    # In service all the time but for 11 min of backwash and 7 of rinse; without one to the end.
    wash = 18.0 / 1440.0
    lengths = [*(days - wash for days in (4.0, 6.0, 9.0)), 45.0 - last - wash]
    assert figures(stuck, "longest_d") == pytest.approx(lengths)
    assert len(set(figures(stuck, "by_meter_d"))) == 1


def test_a_shorter_longest_run_keeps_the_limit_and_drains_more(stuck: Studied) -> None:
    kept, *others = stuck.rows
    assert (kept["over_limit_h"], kept["breakthrough_risk"]) == (0.0, 0.0)
    assert all(row["breakthrough_risk"] == 1.0 for row in others)
    over, drained = figures(stuck, "over_limit_h"), figures(stuck, "drain_m3")
    assert over == sorted(over)
    assert drained == sorted(drained, reverse=True)


def test_what_the_stuck_meter_says_is_in_its_figures(stuck: Studied) -> None:
    made = with_figures(stuck, "over_limit_h", (1.0, 20.0, 300.0, 700.0))
    made = with_figures(made, "washes_after", (7, 4, 2, 0))
    made = with_figures(made, "by_meter_d", [2.5] * 4)
    told = made.told("si")
    assert told.sentences[:3] == (
        "While it counts, the meter washes every 2.50 d in the mean. "
        "Washes in 35 days with the meter stuck: 7 with 4 days, 4 with 6 days and 2 with 9 days.",
        "Over the limit: 1 h with 4 days, 20 h with 6 days and 300 h with 9 days.",
        "Without a longest run nothing ever washes again, and the water is over the limit for 700 h.",
    )
    assert told.wall.title == (
        "At this invented plant, "
        "with the meter stuck for 35 days the water is over the limit for 1 h where the longest run is 4 days, "
        "and for 700 h without one"
    )
    washed = with_figures(made, "washes_after", (7, 4, 2, 1)).told("us").sentences
    assert not any(each.startswith("Without a longest run") for each in washed)


def test_json_is_plain_and_names_the_lesson(rinsed: Studied) -> None:
    data = rinsed.to_json()
    assert (data["lesson"], data["days"], data["assumed"]) == ("rinse", 15.0, [])
    assert [row["rinse_min"] for row in data["rows"]] == [0, 3, 7, 11]
