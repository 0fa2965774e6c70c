"""Lessons: the figures show what each is for, the sentences say what the figures do and no more."""

import tomllib
from dataclasses import replace
from pathlib import Path

import pytest

from hydraulics.shear import PACKED_CLEANING, sublayer_cleaning
from hydraulics.water import density, viscosity
from sim.case.load import load_case
from sim.case.records import Case
from sim.lessons import hold, rinse, stagger, storm, warm_water
from sim.lessons.hold import HoldStudied
from sim.lessons.lesson import FOLDER, lesson_json
from sim.lessons.names import TITLES, lesson
from sim.lessons.rinse import RinseStudied
from sim.lessons.stagger import StaggerStudied
from sim.lessons.storm import StormStudied, Weathered
from sim.lessons.warm_water import WarmStudied, Washed
from sim.study.errors import RequestError

ROOT = Path(__file__).parents[2]


@pytest.fixture(scope="module")
def rinsed() -> RinseStudied:
    return rinse.study(rinse.LESSON.path)


@pytest.fixture(scope="module")
def stormed() -> StormStudied:
    return storm.study(storm.LESSON.path)


@pytest.fixture(scope="module")
def warmed() -> WarmStudied:
    return warm_water.study(warm_water.LESSON.path)


@pytest.mark.parametrize("name", TITLES)
def test_every_constant_of_a_lesson_is_given_and_its_files_are_shipped(name: str) -> None:
    found = lesson(name)
    assert found.name == name
    assert load_case(found.path).assumptions == ()
    assert all(text.strip() for text in found.texts().values())
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    shipped = project["tool"]["setuptools"]["package-data"]["sim.lessons"]
    assert {f"*{Path(each).suffix}" for each in found.files} <= set(shipped)


def test_no_file_lies_beside_the_lessons_that_none_of_them_reads() -> None:
    read = {each for name in TITLES for each in lesson(name).files}
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


def test_no_rinse_sends_on_at_least_twice_what_seven_minutes_do(rinsed: RinseStudied) -> None:
    none, _, seven, eleven = (each.dirty_return_g_a_wash for each in rinsed.rinses)
    assert none >= 2.0 * seven
    assert seven - eleven < (none - seven) / 5.0


def test_a_longer_rinse_sends_on_less_for_a_shorter_time_and_drains_more(rinsed: RinseStudied) -> None:
    assert [each.rinse_min for each in rinsed.rinses] == [0, 3, 7, 11]
    for key in ("dirty_return_g_a_wash", "dirty_return_min_a_wash", "dirty_return_peak_mg_l"):
        values = [getattr(each, key) for each in rinsed.rinses]
        assert values == sorted(values, reverse=True)
        assert len(set(values)) == len(values)
    # 9 min of backwash at 25 m3/h, and the rinse at 7 m3/h.
    assert [each.drain_m3_a_wash for each in rinsed.rinses] == pytest.approx(
        [25.0 * 9 / 60 + 7.0 * minutes / 60 for minutes in (0, 3, 7, 11)]
    )


def test_the_drawn_return_adds_up_to_the_grams_of_the_table(rinsed: RinseStudied) -> None:
    """Trapezoids over the curve above its end, at 7 m3/h; the mean has the first washes too, which leave less."""
    for each, curve in zip(rinsed.rinses[:2], rinsed.after_return[:2], strict=True):
        times = rinse.DRAWN_SECONDS
        area = sum(
            (after - before) * (left + right - 2 * curve[-1]) / 2
            for before, after, left, right in zip(times, times[1:], curve, curve[1:], strict=False)
        )
        assert area * 7.0 / 3600 == pytest.approx(each.dirty_return_g_a_wash, rel=0.05)


def test_what_the_rinse_says_is_in_its_figures(rinsed: RinseStudied) -> None:
    figures = [(10.0, 40.0, 3.0), (4.0, 20.0, 3.2), (1.0, 5.0, 3.5), (0.5, 1.0, 3.8)]
    made = tuple(
        replace(each, dirty_return_g_a_wash=grams, dirty_return_peak_mg_l=peak, drain_m3_a_wash=water)
        for each, (grams, peak, water) in zip(rinsed.rinses, figures, strict=True)
    )
    told = replace(rinsed, rinses=made).told("si")
    assert told.sentences[0] == (
        "A rinse of 7 minutes costs 0.500 m3 a wash and keeps 9.00 g out of the water sent on, whose highest solids "
        "go from 40 to 5 mg/L."
    )
    assert told.sentences[1] == "From 7 to 11 minutes it costs 0.300 m3 more and keeps back 0.50 g more."
    assert told.wall.title == (
        "Without a rinse 10 g of solids go on to service after each wash, after 7 minutes of rinse 1 g"
    )
    assert [line[2] for line in told.table.rows] == ["10.0", "4.0", "1.0", "0.5"]
    # 0.5 m3 of 231 cubic inches of 25.4 mm
    assert "costs 132 gal" in replace(rinsed, rinses=made).told("us").sentences[0]


# storm


def test_only_the_pressure_drop_washes_more_often_in_the_storm(stormed: StormStudied) -> None:
    found = {each.policy: each for each in stormed.weathered()}
    assert list(found) == ["calendar", "volume", "volume with reserve", "pressure drop"]
    quiet = [found[name] for name in list(found)[:3]]
    assert all(found["pressure drop"].washes_in_the_storm > each.washes_in_the_storm for each in quiet)
    assert all(float(each.breach_h or 0) > 5 * float(found["pressure drop"].breach_h or 0) for each in quiet)


def test_the_feed_has_one_pulse(stormed: StormStudied) -> None:
    for table in stormed.courses:
        storm_days = table.loc[table["feed"] > 10.0, "day"]
        assert storm.STORM[0] < storm_days.min() < storm_days.max() < storm.STORM[1]
        assert table["feed"].max() > 30.0
    assert len({len(table) for table in stormed.courses}) >= 1
    assert isinstance(stormed.case, Case)


def test_what_the_storm_says_is_in_its_figures(stormed: StormStudied) -> None:
    def made(policy: str, hours: float, washes: int) -> Weathered:
        return replace(stormed.weathered()[0], policy=policy, breach_h=hours, washes_in_the_storm=washes)

    sentences = storm._sentences((made("a", 2.0, 1), made("b", 0.0, 3), made("c", 12.5, 0)))
    assert sentences[0] == "In the whole run over the limit: a for 2.0 h and c for 12.5 h; b never."
    assert sentences[1] == "Washes that started while the pulse passed: 1 with a, 3 with b and 0 with c."
    assert storm._sentences((made("a", 0.0, 1),))[0] == "In the whole run a never."


# warm-water


def test_the_strong_wash_overfills_the_vessel_in_the_cold_only(warmed: WarmStudied) -> None:
    found = [(each.temperature_degc, each.backwash_m_h, each.expanded_height_m > each.vessel_height_m)
             for each in warmed.washed]  # fmt: skip
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


def test_the_runs_are_ended_by_the_pressure_drop_and_each_wash_leaves_something(warmed: WarmStudied) -> None:
    for each, left in zip(warmed.washed, warmed.residuals, strict=True):
        assert len(left) == each.washes > 20
        assert left[-1][1] == each.residual_kg_m3
        assert 0.0 < left[0][1] < left[-1][1]
        assert [time for time, _ in left] == sorted(time for time, _ in left)


def test_a_weak_wash_costs_some_of_the_run_in_cold_water_and_much_of_it_in_warm(warmed: WarmStudied) -> None:
    cold, cold_weak, warm, warm_weak = (each.mean_run_h for each in warmed.washed)
    assert 1.0 - cold_weak / cold >= 0.05
    assert 1.0 - warm_weak / warm >= 0.15


def made_washed(warmed: WarmStudied, means: tuple[float, ...]) -> tuple[Washed, ...]:
    return tuple(replace(each, mean_run_h=mean) for each, mean in zip(warmed.washed, means, strict=True))


def test_what_warm_water_says_is_in_its_figures(warmed: WarmStudied) -> None:
    told = replace(warmed, washed=made_washed(warmed, (50.0, 45.0, 100.0, 62.0))).told("si")
    assert told.sentences[0] == (
        "20 m/h instead of 37 m/h shortens the mean run by 10 % at 5 degC, where it lifts 62 % of the bed, and "
        "shortens it by 38 % at 28 degC, where it lifts 25 %."
    )
    assert told.sentences[1].startswith(
        "The vessel is 1.30 m high: the bed reaches over it with 37 m/h at 5 degC, and grains would go to the drain"
    )
    assert told.wall.title == (
        "A backwash of 20 m/h instead of 37 m/h shortens the mean run by 10 % at 5 degC, and shortens it by 38 % at "
        "28 degC"
    )
    other = replace(warmed, washed=made_washed(warmed, (50.0, 50.1, 100.0, 104.0))).told("us")
    assert "leaves the mean run as it is at 41 degF" in other.sentences[0]
    assert "lengthens it by 4 % at 82 degF" in other.sentences[0]
    low = tuple(replace(each, vessel_height_m=2.0) for each in warmed.washed)
    assert replace(warmed, washed=low).told("si").sentences[1] == (
        "The vessel is 2 m high, and the bed stays in it each time."
    )


# stagger


@pytest.fixture(scope="module")
def staggered() -> StaggerStudied:
    return stagger.study(stagger.LESSON.path)


def test_the_queue_waits_hours_apart_do_not_and_side_by_side_gets_less_water(staggered: StaggerStudied) -> None:
    queued, apart, shared = staggered.ways
    # 13 nights in 28 days; the second waits 23 minutes for the first, the third 46 for both.
    assert [each.washes for each in staggered.ways] == [39, 39, 39]
    assert (queued.waits, apart.waits, shared.waits) == (26, 0, 0)
    assert queued.waited_h == pytest.approx(13 * (23 + 46) / 60)
    assert queued.least_flow_m3_h == apart.least_flow_m3_h == pytest.approx(staggered.asked_m3_h)
    assert shared.least_flow_m3_h < 0.6 * staggered.asked_m3_h
    assert shared.left_kg > 2.0 * queued.left_kg


def test_hours_apart_the_unit_gets_the_least_that_is_over_its_limit(staggered: StaggerStudied) -> None:
    queued, apart, shared = staggered.ways
    assert apart.over_min <= queued.over_min < shared.over_min / 2.0
    assert apart.fed_kg <= 1.01 * queued.fed_kg < shared.fed_kg


def test_what_stagger_says_is_in_its_figures(staggered: StaggerStudied) -> None:
    queued, apart, shared = staggered.ways
    ways = (
        replace(queued, waits=26, waited_h=13.0, over_min=17.0, left_kg=0.4),
        replace(apart, over_min=1.0, left_kg=0.4),
        replace(shared, over_min=170.0, least_flow_m3_h=12.5, left_kg=2.4),
    )
    told = replace(staggered, ways=ways).told("si")
    assert told.sentences[0] == (
        "At the same hour the filters wait for each other 26 times, 13 h in all; 55 minutes apart 0 times."
    )
    assert "the least backwash gets 12.5 of 25.0 m3/h, and a round leaves 2.40 kg" in told.sentences[1]
    assert "for 17, 1 and 170 min" in told.sentences[2]
    assert [line[-1] for line in told.table.rows] == ["17", "1", "170"]
    # 12.5 m3/h are 55.0 gpm of 231 cubic inches.
    assert "gets 55 of 110 gpm" in replace(staggered, ways=ways).told("us").sentences[1]


# hold


@pytest.fixture(scope="module")
def held() -> HoldStudied:
    return hold.study(hold.LESSON.path)


def test_a_hold_longer_than_the_unit_runs_never_triggers_and_is_reported_as_missed(held: HoldStudied) -> None:
    """0.8 m3 at 6 less 3 m3/h: the unit runs 16 minutes at a time."""
    assert held.on_min == pytest.approx(16.0, abs=0.1)
    longer = [each for each in held.holds if each.hold in ("18 min", "35 min")]
    assert len(longer) == 2
    for each in longer:
        assert (each.by_switch, each.early) == (0, 0)
        assert each.missed > 100
        assert each.at_the_wash_kpa > held.set_point_kpa
        assert each.breach_h > 0.0


def test_no_hold_triggers_on_spikes_and_is_reported_as_early(held: HoldStudied) -> None:
    """A spike of 9 kPa lasts 15 s: it is enough for no hold, and for one of 10 s."""
    none, short = held.holds[:2]
    assert (none.hold, short.hold) == ("0 s", "10 s")
    for each in (none, short):
        assert each.early == each.by_switch > 20
        assert each.missed == 0
        assert held.set_point_kpa - 9.5 < each.at_the_wash_kpa < held.set_point_kpa - 8.0


def test_the_sweep_finds_the_window_between(held: HoldStudied) -> None:
    assert [each.hold for each in held.window] == ["45 s", "3 min", "7 min", "14 min"]
    for each in held.window:
        assert each.at_the_wash_kpa == pytest.approx(held.set_point_kpa, abs=0.3)
        assert 0 < each.by_switch < held.holds[0].by_switch / 2
        assert each.breach_h == 0.0


def test_what_hold_says_is_in_its_figures(held: HoldStudied) -> None:
    told = held.told("si")
    none, longest = held.holds[0], held.holds[-1]
    assert f"{none.early} of {none.by_switch} with 0 s" in told.sentences[0]
    assert f"the set point {longest.missed} times with 18 min" in told.sentences[1]
    assert told.sentences[2].startswith("Between them: 45 s, 3 min, 7 min and 14 min.")
    assert told.wall.title.startswith("A hold from 45 s to 14 min lets spikes pass and is over before the unit stops")
    nothing = replace(held, holds=tuple(each for each in held.holds if not each.works)).told("us")
    assert nothing.sentences[2].startswith("Between them: none.")
    assert nothing.wall.title.startswith("No hold tried here")


def test_json_is_plain_and_names_the_lesson(rinsed: RinseStudied) -> None:
    data = lesson_json(rinse.LESSON, rinsed)
    assert (data["lesson"], data["days"], data["assumed"]) == ("rinse", 15.0, [])
    assert [row["rinse_min"] for row in data["rows"]] == [0, 3, 7, 11]
