"""Exact: what a case says of a whole train, in SI by hand."""

from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from hydraulics.media import DEFAULTS
from sim.case.load import load_case
from sim.case.records import Case
from sim.case.train.records import (
    Abort,
    ByHand,
    Cartridge,
    HoldUnit,
    HoursOfDay,
    Lines,
    Pump,
    RepeatWash,
    StartSpike,
    Switch,
    Tank,
    ValveSpike,
    Vessels,
    Washing,
)
from sim.case.trigger.records import AnyOf, Calendar, Pressure, VolumeLearned, VolumeReserve
from tests.case.samples import NAME, SMALL, added, changed, load_text
from tests.case.whole_train import WHOLE

SAYING = {"boiler_house", "laundry", "lens_works"}  # tell of a train, or what the water is for
HOUR, DAY = 3600.0, 86_400.0
CASES = sorted(path for path in (Path(__file__).parents[2] / "cases").glob("*.toml") if path.stem not in SAYING)
CUBIC_METRE_PER_HOUR = 1.0 / 3600.0


@pytest.fixture(scope="module")
def case(tmp_path_factory: pytest.TempPathFactory) -> Case:
    return load_text(tmp_path_factory.mktemp("train"), WHOLE)


@pytest.mark.parametrize("path", CASES, ids=lambda path: path.stem)
def test_a_case_that_says_nothing_of_it_has_one_vessel_and_no_rules(path: Path) -> None:
    case = load_case(path)
    rules = Washing(together="wait" if len(case.stages) > 1 else "overlap")
    assert (case.downstream, case.pump, case.washing, case.demand.closed) == (None, None, rules, ())
    for stage in case.stages:
        assert (stage.vessels.count, stage.vessels.sharing) == (1, 1)
        assert (stage.while_washing, stage.wash_path) == ("closed", "header")
        assert (stage.hold_unit, stage.switch, stage.start_spike, stage.valve_spike) == (None,) * 4


def test_unit_downstream(case: Case) -> None:
    unit = case.downstream
    assert unit is not None
    assert unit.unit is not None
    assert (case.use, unit.membrane) == ("membrane", "polyamide")
    assert unit.feed_limit == pytest.approx(0.4 * 1.5, rel=1e-15)
    assert unit.cartridge == Cartridge(capacity=900.0, share=0.9)
    assert unit.unit.feed_flow == pytest.approx(8.0 * CUBIC_METRE_PER_HOUR, rel=1e-15)
    assert unit.unit.recovery == 0.75
    assert unit.unit.tank == Tank(volume=10.0, start_below=4.0, stop_above=9.0, level=0.5)


def test_a_tank_is_full_where_no_level_is_told(tmp_path: Path) -> None:
    case = load_text(tmp_path, WHOLE.replace(', level = "500 L"', ""))
    assert case.downstream is not None
    assert case.downstream.unit is not None
    assert case.downstream.unit.tank.level == 9.0


@pytest.mark.parametrize(("use", "may_be_drunk"), [
    ("membrane", False), ("process", False), ("food", True), ("drinking", True), (None, True)
])  # fmt: skip
def test_what_is_not_stated_may_be_drunk(tmp_path: Path, use: str | None, may_be_drunk: bool) -> None:
    text = SMALL if use is None else f'use = "{use}"\n{SMALL}'
    case = load_text(tmp_path, text)
    assert (case.use, case.may_be_drunk, case.downstream) == (use, may_be_drunk, None)


def test_the_policy_of_today_is_named(case: Case) -> None:
    assert case.today == "either"


def test_cartridge_by_mass(tmp_path: Path) -> None:
    case = load_text(tmp_path, WHOLE.replace('area = "6 m2", per_area = "150 g/m2"', 'capacity = "2 lb"'))
    assert case.downstream is not None
    assert case.downstream.cartridge is not None
    assert case.downstream.cartridge.capacity == pytest.approx(2.0 * 453.59237, rel=1e-15)


def test_closed_days_come_in_order_and_once(case: Case) -> None:
    assert case.demand.closed == (date(2027, 1, 6), date(2027, 2, 15))


def test_pump(case: Case) -> None:
    """2 kPa x 10 at 7.2 m3/h, 0.002 m3/s: 20 000 / 4e-6."""
    assert case.pump is not None
    assert case.pump == Pump(
        flows=(0.0, pytest.approx(0.0025), pytest.approx(0.004)),
        pressures=(400_000.0, 320_000.0, 150_000.0),
        delivery=200_000.0,
        other_loss=pytest.approx(5e9),
    )


def test_washing_rules(case: Case) -> None:
    """The run starts on 4 January at 06:00, so that midnight of 1 February is 27 days and 18 hours later."""
    assert case.washing == Washing(
        allowed_hours=(
            HoursOfDay(start=22 * HOUR, end=6 * HOUR),
            HoursOfDay(start=12.5 * HOUR, end=13 * HOUR),
        ),
        locked_hours=(HoursOfDay(start=23 * HOUR, end=24 * HOUR),),
        least_interval=5400.0,
        most_a_day=3,
        together="share",
        lines=Lines(supply=2, raw=1, drain=2),
        repeat_wash=RepeatWash(clean_within=2000.0, most=2),
        aborts=(
            Abort(stage="carbon", at=DAY, after=90.0),
            Abort(stage="sand", at=27 * DAY + 18 * HOUR, after=180.0),
        ),
        after_abort="wash again",
        by_hand=(ByHand(stage="carbon", at=HOUR),),
    )


def test_hours_may_end_at_any_minute(tmp_path: Path) -> None:
    told = changed(("[[stage]]", '[washing]\nallowed_hours = ["22:30-05:59"]\n[[stage]]'))
    washing = load_text(tmp_path, told).washing
    assert washing.allowed_hours == (HoursOfDay(start=22 * HOUR + 1800.0, end=5 * HOUR + 3540.0),)


def test_stages(case: Case) -> None:
    sand, carbon = case.stages
    assert sand.vessels == Vessels(count=2, arrangement="parallel", inhibit_while_sister_washes=False)
    assert (sand.vessels.sharing, carbon.vessels.sharing) == (2, 1)
    assert carbon.vessels == Vessels(count=2, arrangement="duty standby", inhibit_while_sister_washes=True)
    assert (sand.while_washing, carbon.while_washing) == ("passes raw", "closed")
    assert (sand.wash_path, carbon.wash_path) == ("header", "through earlier stages")
    assert sand.hold_unit == HoldUnit(start=0, end=0, plus=300.0)
    assert carbon.hold_unit == HoldUnit()  # to the end of its wash
    assert sand.switch == Switch(sample=10.0, error=200.0, reset_difference=1000.0)
    assert sand.start_spike == StartSpike(height=20_000.0, length=4.0)
    assert sand.valve_spike == ValveSpike(height=5000.0, length=2.0, a_day=6.0)


def test_a_switch_without_figures_reads_exact_averages(tmp_path: Path) -> None:
    stage = load_text(tmp_path, added((NAME, "switch = {}"))).stages[0]
    assert stage.switch == Switch(sample=5.0, error=0.0, reset_difference=0.0)


def test_triggers(case: Case) -> None:
    (_, either), (_, learned) = case.policies[0].triggers
    assert either == AnyOf(
        triggers=(
            Pressure(above=40_000.0, hold=180.0),
            Calendar(every=4 * DAY, at=12.5 * HOUR),
            VolumeReserve(volume=300.0, reserve=60.0, at=22 * HOUR),
        ),
        longest_run=7 * DAY,
    )
    given = VolumeLearned(
        volume=500.0, reserve=80.0, quantile=0.8, days=56, by="weekday", at=5 * HOUR, longest_run=14 * DAY
    )
    assert learned == given
    usual = case.policies[1].triggers[1][1]
    assert usual == replace(given, quantile=0.9, days=14, by="trailing", longest_run=None)


def test_weekdays_are_learned_from_a_week_at_least(tmp_path: Path) -> None:
    learned = 'start_on = "volume with learned reserve"\nreserve = "60 m3"\nat = 03:00:00\nby = "weekday"\ndays = 7'
    trigger = load_text(tmp_path, changed(('start_on = "volume"', learned))).policies[0].triggers[0][1]
    assert isinstance(trigger, VolumeLearned)
    assert (trigger.by, trigger.days) == ("weekday", 7)


def test_the_valve_loses_its_typical_pressure_at_12_m_h_through_each_vessel(case: Case) -> None:
    """Whatever the unit draws, and however many vessels share it."""
    loss = DEFAULTS["valve_loss"].value
    for stage in case.stages:
        flow = 12.0 * CUBIC_METRE_PER_HOUR * stage.vessel.area
        assert stage.head_loss.valve_constant == pytest.approx(loss / flow**2, rel=1e-14)


def test_a_limit_of_the_unit_in_turbidity_counts_its_ratio_as_assumed(tmp_path: Path) -> None:
    flow = 'flow = "5.5 m3/h"\n'
    feed = ('suspended_solids = "5 mg/L"', 'suspended_solids = "5 mg/L"\nwater = "river"')
    key = "feed.solids_per_turbidity"

    def assumed(limit: str) -> list[str]:
        text = changed(feed, (flow, f'{flow}[downstream]\nfeed_limit = "{limit}"\n'))
        return [each.key for each in load_text(tmp_path, text).assumptions]

    assert key in assumed("0.5 NTU")
    assert key not in assumed("0.5 mg/L")


def test_a_known_run_is_that_of_one_vessel(tmp_path: Path) -> None:
    """The flow told is one vessel's: with two abreast it tells the same gain.

    Behind two vessels, the same known flow came through half as fast in each, so a little less got through: the same
    rise then says more of each gram.
    """
    known = 'known_run = { flow = "5 m3/h", gain = "6 kPa", after = "4 d" }'
    one, two = (
        load_text(tmp_path, added((NAME, f"{known}\n{vessels}"))).solved[0].value
        for vessels in ("", "vessels = { count = 2 }")
    )
    assert two == one
    second = SMALL[SMALL.index("[[stage]]") : SMALL.index("[policy")].replace(NAME, f'name = "polisher"\n{known}')
    policy = '[policy.volume]\nfilter = { start_on = "volume", volume = "2 m3" }\n'
    policy += 'polisher = { start_on = "volume", volume = "2 m3" }\n'
    first = added((NAME, "vessels = { count = 2 }"))
    behind_one, behind_two = (
        load_text(tmp_path, text[: text.index("[policy")] + second + policy).solved[0].value
        for text in (SMALL, first)
    )
    assert behind_two > behind_one


def test_settings_reach_into_lists_and_make_tables(tmp_path: Path) -> None:
    path = tmp_path / "case.toml"
    path.write_text(WHOLE, encoding="utf-8")
    settings = {
        "policy.either.sand.any_of.0.above": "50 kPa",
        "washing.abort.1.after": "2 min",
        "stage.carbon.switch.error": "1 kPa",
    }
    case = load_case(path, settings)
    either = case.policies[0].triggers[0][1]
    assert isinstance(either, AnyOf)
    assert either.triggers[0] == Pressure(above=50_000.0, hold=180.0)
    assert case.washing.aborts[0].after == 120.0
    assert case.stages[1].switch == Switch(sample=5.0, error=1000.0, reset_difference=0.0)


def test_a_shorter_wash_shortens_a_hold_to_its_end(tmp_path: Path) -> None:
    path = tmp_path / "case.toml"
    path.write_text(WHOLE, encoding="utf-8")
    carbon = load_case(path, {"stage.carbon.step.backwash.minutes": 3}).stages[1]
    assert carbon.hold_span == (0.0, 180.0)


def test_what_the_readme_shows_of_a_train_loads(tmp_path: Path) -> None:
    readme = (Path(__file__).parents[2] / "cases" / "README.md").read_text(encoding="utf-8")
    section = readme.partition("## A train, the unit behind it")[2].partition("\n## ")[0]
    _, block, in_stage = section.split("```\n")
    keys = ["vessels", "while_washing", "hold_unit", "switch", "start_spike", "valve_spike"]
    codes = in_stage.replace("\n", " ").split("`")
    lines = [next(code for code in codes if code.startswith(f"{key} = ")) for key in keys]
    flow = 'flow = "5.5 m3/h"'
    text = changed(
        (flow, f"{flow}\n{block}".replace("[demand]\n", "").replace('"sand", at', '"filter", at')),
        (NAME, "\n".join([NAME, *lines])),
        ("minutes = 10", "minutes = 16"),
        ("start = 2027-01-04T00:00:00", "start = 2027-03-01T00:00:00"),
        ('title = "A small case"', 'use = "membrane"\ntitle = "A small case"'),
    )
    case = load_text(tmp_path, text)
    assert case.stages[0].hold_unit == HoldUnit(end=None, plus=300.0)
    assert case.stages[0].switch == Switch(sample=5.0, error=200.0, reset_difference=1000.0)
    assert len(case.demand.closed) == 2
    assert case.washing.aborts[0].stage == "filter"
