"""Whether the order of the policies rests on an assumed constant: a case built to turn, and a dominated one."""

import math
import re
from pathlib import Path

import pytest

from sim.case.load import load_case
from sim.case.records import Case
from sim.plant.errors import RunError
from sim.plant.simulate import simulate
from sim.study import ranking
from sim.study.errors import Interrupted, SettingError
from sim.study.many.outcome import Outcome
from sim.study.many.workers import local
from sim.study.ranking import RangeTest, at_ends, less_clearly, on_the_same_water, range_test
from sim.tell.comparison.range_words import ranges_told
from sim.tell.comparison.spread_words import RangesTold

REFERENCE = Path(__file__).parents[2] / "cases" / "reference.toml"
HEAD = REFERENCE.read_text(encoding="utf-8").partition("[policy.")[0].replace('today = "calendar"\n', "")
OFTEN_AND_SELDOM = """
[policy."often".filter]
start_on = "calendar"
every = "2 d"
at = 02:00:00
[policy."seldom".filter]
start_on = "calendar"
every = "3 d"
at = 02:00:00
"""
METER_AND_GAUGE = """
[policy."meter".filter]
start_on = "volume"
volume = "170 m3"
[policy."gauge".filter]
start_on = "pressure drop"
above = "14 kPa"
hold = "3 min"
"""


def case_file(folder: Path, policies: str) -> Path:
    """The reference filter with its deposit density left out, and room for the deposit at every density."""
    text = HEAD.replace('deposit_density = "60 kg/m3"\n', "").replace('"12 kg/m3"', '"7 kg/m3"')
    path = folder / "case.toml"
    path.write_text(
        text.replace('"9 kg/m3"', '"6 kg/m3"').replace('"0.5 mg/L"', '"2 mg/L"') + policies, encoding="utf-8"
    )
    return path


def ranges_of(path: Path) -> RangeTest:
    case = load_case(path)
    with local(1) as crew:
        return range_test(path, case, [simulate(case, policy.name) for policy in case.policies], crew)


def test_a_trial_that_cannot_go_on_is_named(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = case_file(tmp_path, OFTEN_AND_SELDOM)
    lowest = load_case(path).assumptions[1]
    typical = load_case(path).stages[0].layers

    def failing(case: Case, policy: str, seed: int, place: int) -> Outcome:
        changed = [i for i, layer in enumerate(case.stages[0].layers) if layer != typical[i]]
        if changed == [1] and policy == "seldom":
            raise RunError("stopped")
        return on_the_same_water(case, policy, seed, place)

    monkeypatch.setattr(ranking, "on_the_same_water", failing)
    with pytest.raises(SettingError, match="stopped") as told:
        ranges_of(path)
    assert told.value.settings.startswith(lowest.key)
    assert told.value.policy == "seldom"


def test_an_interrupt_says_how_to_leave_them_out(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def interrupted(case: Case, policy: str, seed: int, place: int) -> Outcome:
        raise KeyboardInterrupt

    monkeypatch.setattr(ranking, "on_the_same_water", interrupted)
    with pytest.raises(Interrupted, match="nothing written; --no-ranges leaves them out"):
        ranges_of(case_file(tmp_path, OFTEN_AND_SELDOM))


def test_a_gauge_against_a_meter_turns_with_the_deposit_density(tmp_path: Path) -> None:
    """A looser deposit fills more pores with the same solids: the gauge washes more often, the meter as before."""
    path = case_file(tmp_path, METER_AND_GAUGE)
    test, case = ranges_of(path), load_case(path)
    turning = {(turn.keys[0], turn.end, turn.kpi) for turn in test.turns if len(turn.keys) == 1}
    assert turning
    assert all(key.endswith("deposit_density") and kpi == "drain_m3" for key, _, kpi in turning)
    told = ranges_told(test, case, "si")
    then = " end the water to drain is less with “"
    assert any("deposit_density" in each and then in each for each in told.change)
    for key, end, _ in turning:  # and the runs themselves show it
        assumption = next(each for each in load_case(path).assumptions if each.key == key)
        value = assumption.low if end == "low" else assumption.high
        changed = load_case(path, {key: f"{value} g/m3"})
        drains = [
            [simulate(case, name).site["drain_m3"] for name in ("meter", "gauge")]
            for case in (load_case(path), changed)
        ]
        assert (drains[0][0] < drains[0][1]) != (drains[1][0] < drains[1][1])


def test_a_way_that_washes_without_end_is_stopped_and_named(tmp_path: Path) -> None:
    """Left out, the grain of the bed goes as low as makes its clean pressure drop more than the gauge's set point."""
    path = case_file(tmp_path, METER_AND_GAUGE)
    text = path.read_text(encoding="utf-8")
    path.write_text(re.sub(r"^size = .*\n", "", text, flags=re.M), encoding="utf-8")
    case = load_case(path)
    fine = load_case(path, {each.key: f"{each.low} m" for each in case.assumptions if each.key.endswith(".size")})
    above = simulate(fine, "meter").runs[0].clean_dp_kpa * 0.98
    assert above > simulate(case, "meter").runs[0].clean_dp_kpa * 1.2
    path.write_text(path.read_text(encoding="utf-8").replace('"14 kPa"', f'"{above:.4g} kPa"'), encoding="utf-8")
    test = ranges_of(path)
    assert test.endless
    assert {way for *_, way in test.endless} == {"gauge"}
    for key, end, _ in test.endless:
        if key != "all together":
            shown = next(each for each in test.over.trials if each.keys == (key,) and each.end == end)
            assert shown.shown["gauge"]["drain_m3"] != shown.shown["gauge"]["drain_m3"]  # not known
            assert "gauge" not in shown.kept
            changed = next(found for each, at, found in at_ends(path, load_case(path), load_case)
                           if at == end and [one.key for one in each] == [key])  # fmt: skip
            whole = simulate(changed, "gauge")
            assert whole.site["downtime_h"] / whole.days / 24.0 > 0.2
    (said,) = [each for each in ranges_told(test, case, "si").order if "without end" in each]
    assert said.startswith(f"“gauge” washes without end at {len(test.endless)} of these ends")


def test_water_to_drain_without_end_is_more_than_any() -> None:
    """And 1 % of the larger sets nothing apart: 99 and 100 are equal, 98.9 and 100 are not."""
    for one, other, less in (
        (5.0, math.inf, True), (math.inf, 5.0, False), (math.inf, math.inf, False), (math.nan, math.inf, False),
        (98.9, 100.0, True), (99.1, 100.0, False), (1.0, 1.09, False), (1.0, 1.11, True),
    ):  # fmt: skip
        assert less_clearly(one, other, "drain_m3") is less


def test_an_order_that_nothing_assumed_can_change_holds(tmp_path: Path) -> None:
    """Every two days sends half as much again to drain as every three, whatever the bed is like."""
    path = case_file(tmp_path, OFTEN_AND_SELDOM)
    test, case = ranges_of(path), load_case(path)
    assert (test.turns, test.refused) == ((), ())
    assert (test.assumed, test.runs) == (3, 2 * (2 * 3 + 2))
    assert ranges_told(test, case, "si").order == ()


def test_nothing_assumed_needs_no_test(tmp_path: Path) -> None:
    path = tmp_path / "case.toml"
    text = REFERENCE.read_text(encoding="utf-8").replace('ripening = "none"', 'ripening = "none"\ntanks = 3')
    path.write_text(text, encoding="utf-8")
    test = ranges_of(path)
    assert (test.assumed, test.runs, ranges_told(test, load_case(path), "si")) == (0, 0, RangesTold())


@pytest.mark.parametrize("key", ["stage.filter.layer.0.deposit_density", "stage.filter.tanks"])
def test_a_setting_by_its_key_is_no_longer_assumed(tmp_path: Path, key: str) -> None:
    path = case_file(tmp_path, OFTEN_AND_SELDOM)
    before = {each.key for each in load_case(path).assumptions}
    after = {each.key for each in load_case(path, {key: 3 if key.endswith("tanks") else "40 kg/m3"}).assumptions}
    assert before - after == {key}


def test_the_law_of_growth_that_a_case_does_not_name_is_tried_the_other_way(tmp_path: Path) -> None:
    """Linear where the case does not say; the trial has pores that narrow, with a deposit that fits them."""
    path = tmp_path / "case.toml"
    path.write_text(HEAD.replace(', growth = "pore-narrowing"', "") + METER_AND_GAUGE, encoding="utf-8")
    case, key = load_case(path), "stage.filter.head_loss.growth"
    assert case.stages[0].head_loss.growth == "linear"
    tried = {end: found for each, end, found in at_ends(path, case, load_case) if [one.key for one in each] == [key]}
    assert list(tried) == ["high"]
    other = tried["high"]
    assert isinstance(other, Case)
    assert other.stages[0].head_loss.growth == "pore-narrowing"
    both = {end: found for each, end, found in at_ends(path, case, load_case) if len(each) > 1}
    laws = {end: found.stages[0].head_loss.growth for end, found in both.items() if isinstance(found, Case)}
    assert laws == {"low": "linear", "high": "pore-narrowing"}
    over = ranges_of(path).over
    (shown,) = (at.shown for at in over.trials if at.keys == (key,))
    assert shown["meter"]["peak_dp_kpa"] != over.typical["meter"]["peak_dp_kpa"]
