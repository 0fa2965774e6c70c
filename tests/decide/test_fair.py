"""What a search must never tell, on plants that lead it there: it breaks a limit and costs less."""

import json
import math
from dataclasses import replace
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest

from sim.case.load import load_case
from sim.case.units import DAY
from sim.review.site import site_of
from sim.study.decide.advice import Advice, Advised, Wishes, advise
from sim.study.decide.limits import exceeded
from sim.study.decide.payback import Payback, payback
from sim.study.decide.trials import Bench, Tried
from sim.study.many.study_file import study_file
from sim.study.many.workers import local
from sim.tell.decision.advice_words import answer, remarks, sentences
from sim.tell.decision.decision_json import advice_json, payback_json
from tests.decide.plants import Drawn
from tests.decide.steady import AREA, BACKWASH, GAIN, RINSE, SOLIDS, steady
from tests.decide.test_advise import YEAR_H, advised, clean_pressure

PLAIN, HOURS = Wishes(), Wishes(also=frozenset({"hours"}))


@cache
def advice_of(plant: Drawn, wishes: Wishes = PLAIN) -> Advice:
    with TemporaryDirectory() as folder, local(1) as crew:
        path = plant.write(Path(folder))
        return advise(Bench(path=path, case=load_case(path), crew=crew, seed=1, replicates=1), wishes)


@cache
def payback_of(plant: Drawn) -> Payback:
    with TemporaryDirectory() as folder, local(1) as crew:
        path = plant.write(Path(folder))
        return payback(Bench(path=path, case=load_case(path), crew=crew, seed=1, replicates=1), Wishes())


def way(advice: Advice, name: str) -> Advised:
    (found,) = (each for each in advice.policies if each.policy == name)
    return found


def broken(advice: Advice, tried: Tried) -> set[str]:
    return {limit.key for limit in exceeded(advice.limits, tried, advice.scouted)}


LOW_SET = Drawn(size=0.5, peak=7.0, diameter=0.7, above=5.0, coldest=4.0, longest=9, solids=8.0, limit=5.0,
                lost_production=0.0)  # fmt: skip


def test_no_set_point_below_the_clean_bed(tmp_path: Path) -> None:
    """The present one is, in cold water: it washes for ever and mends nothing."""
    advice = advice_of(LOW_SET)
    switch = way(advice, "switch")
    clean = site_of(advice.case).clean(advice.case.stages[0])
    assert clean > 5.0e3
    (present,) = (each for each in switch.tried if each.candidate.values[0] == 5.0e3)
    assert {"below_clean_kpa", "off_line"} <= broken(advice, present)
    assert present.mean("washes") > 4000.0
    assert switch.best is not None
    assert switch.best.candidate.values[0] > clean
    assert "no set point below the clean bed in the coldest water" in remarks(advice, "si")[0]


def test_where_no_set_point_works_the_nearest_miss_is_told() -> None:
    """Clear water over five days raises no bed's pressure to a set point that stays clear of the clean bed's."""
    advice = advice_of(Drawn(solids=1.0, gain=1.0, size=1.0, night=0.0, longest=5))
    switch = way(advice, "switch")
    assert switch.best is None
    (told,) = (each for each in sentences(advice, "si") if each.startswith("“switch”"))
    assert told.startswith("“switch”: no setting works. The nearest (set point ")
    assert told.endswith(" a device that starts washes before the longest run does.")
    found = payback_of(Drawn(solids=1.0, gain=1.0, size=1.0, night=0.0, longest=5))
    assert found.lost == ("switch",)
    assert any(each.startswith("“switch”: no setting works.") for each in sentences(found.advice, "si"))


NIGHTLY = Drawn(night=0.0, at="02:00:00", limit=5.0, solids=4.0, every=1)


def test_no_hour_that_leaves_demand_undelivered() -> None:
    """Nothing is asked for at night: today leaves nothing undelivered, a wash in the shift does."""
    advice = advice_of(NIGHTLY, HOURS)
    assert advice.today.mean("unmet_m3") == pytest.approx(0.0, abs=1e-9)
    clock = way(advice, "clock")
    shift = [each for each in clock.tried if 6.0 <= each.candidate.values[1] / 3600.0 < 16.0]
    assert shift
    assert all("unmet_m3" in broken(advice, each) for each in shift)
    for each in advice.policies:
        assert each.best is None or each.best.mean("unmet_m3") <= 1e-6


def test_ties_go_to_what_delivers_more() -> None:
    """With lost production priced at nothing every hour of the calendar costs the same."""
    advice = advice_of(replace(NIGHTLY, lost_production=0.0), HOURS)
    assert "unmet_m3" not in {limit.key for limit in advice.limits}
    clock = way(advice, "clock")
    assert clock.best is not None
    equal = [each for each in clock.tried if each.mean("cost") == pytest.approx(clock.best.mean("cost"), rel=1e-9)]
    assert max(each.mean("unmet_m3") for each in equal) > 1.0
    assert clock.best.mean("unmet_m3") == min(each.mean("unmet_m3") for each in equal)


LOADED = Drawn(size=0.4, gain=60.0, solids=12.0, limit=20.0, longest=20, days=80, lost_production=0.0)


@pytest.mark.parametrize(("rating", "most", "key"), [("", 400.0, "supply_kpa"), ("250 kPa", 250.0, "rating_kpa")])
def test_no_pressure_beyond_supply_and_rating(rating: str, most: float, key: str) -> None:
    """The model drives any flow through any bed: what costs least has a pressure that nothing here can give."""
    advice = advice_of(replace(LOADED, rating=rating))
    for each in advice.policies:
        assert each.best is not None
        assert each.best.figures["pressure_kpa"][0] <= most
        cheaper = [one for one in each.tried if one.mean("cost") < each.best.mean("cost") * (1.0 - 1e-6)]
        assert any(one.figures["pressure_kpa"][0] > most for one in cheaper), each.policy
        assert key in {limit.key for limit in each.binding}, each.policy
        assert all(broken(advice, one) for one in cheaper)
    of_stage = "bed, " if rating else ""
    assert f"highest pressure drop ({of_stage}{most:g} kPa, " in " ".join(sentences(advice, "si"))
    assert "The highest pressure drop rises to " in " ".join(answer(advice, "si"))


@pytest.mark.parametrize(("plant", "pay"), [
    (LOW_SET, True), (Drawn(solids=9.0, limit=2.0, night=0.0, gain=6.0, longest=12, lost_production=0.0), False),
])  # fmt: skip
def test_one_plant_entered_with_other_present_settings_comes_to_the_same(plant: Drawn, pay: bool) -> None:
    """Only the way that is in use counts, since today is measured by it."""
    one, other = payback_of(plant), payback_of(replace(plant, volume=600.0, above=350.0, hold=9))
    for first, second in zip(one.bars, other.bars, strict=True):
        assert first.tried.candidate.values == second.tried.candidate.values
        assert first.tried.mean("cost") == second.tried.mean("cost")
    pairs = list(zip(one.decided, other.decided, strict=True))
    assert [first.device for first, _ in pairs] == ["meter", "switch"]
    for first, second in pairs:
        assert first.worth.payback == second.worth.payback
        assert first.worth.payback is not None
        assert math.isfinite(first.worth.payback) == pay
        assert first.break_even == second.break_even


def test_volumes_of_equal_cost_hide_no_better_one() -> None:
    """265 to 275 m3 come to as many washes; the next round number, 280, to fewer, and 285 to hours over the limit."""
    advice = advice_of(LOW_SET)
    meter = way(advice, "meter")
    costs = {each.candidate.values[0]: each.mean("cost") for each in meter.tried}
    assert costs[265.0] == pytest.approx(costs[275.0])
    assert costs[280.0] < costs[275.0]
    assert meter.best is not None
    assert meter.best.candidate.values == (280.0,)


def test_the_best_calendar_by_hand(tmp_path: Path) -> None:
    """As many whole days as the pressure allowed leaves room for; 144 m3 a day less what 20 min of washing cost.

    A wash sends 6 m3 to drain at 3 a m3, and costs 4.
    """
    from sim.study.decide.limits import Limit

    most = 40.0
    path = steady(tmp_path)
    volume = (most * 1000.0 - clean_pressure(path)) * AREA / (GAIN * SOLIDS) - RINSE
    days = next(count for count in range(1, 20) if (count + 1) * 144.0 - 2.0 > volume)
    assert 2 <= days <= 6
    calendar = advised(path, Limit("pressure_kpa", most)).policies[0]
    assert calendar.best is not None
    assert calendar.best.candidate.values == (days * DAY,)
    assert calendar.best.mean("cost") == pytest.approx(
        YEAR_H / 24.0 / days * (3.0 * (BACKWASH + RINSE) + 4.0), rel=0.03
    )
    assert [each.key for each in calendar.binding] == ["pressure_kpa"]


def test_that_nothing_stops_a_cheaper_setting_is_said_only_where_it_is_so() -> None:
    for plant in (LOADED, LOW_SET, NIGHTLY):
        advice = advice_of(plant)
        for each, told in zip(advice.policies, sentences(advice, "si"), strict=True):
            if each.best is None:
                continue
            cheaper = [one for one in each.tried if one.mean("cost") < each.best.mean("cost") * (1.0 - 1e-6)]
            assert bool(cheaper) == bool(each.binding), each.policy
            assert ("No limit stops" in told) == (not cheaper and not each.edges)


@pytest.mark.parametrize("random", [False, pytest.param(True, marks=pytest.mark.long)])
def test_a_study_file_saves_time_and_changes_no_answer(random: bool, tmp_path: Path) -> None:
    plant = Drawn(random=random, days=30)
    path, file = plant.write(tmp_path), tmp_path / "kept.study"

    def told(kept: Path | None) -> str:
        with study_file(kept) as runs, local(1) as crew:
            case = load_case(path)
            bench = Bench(path=path, case=case, crew=crew, seed=1, replicates=4 if random else 1, kept=runs)
            return json.dumps(payback_json(payback(bench, Wishes()), None))

    without, fresh = told(None), told(file)
    other = replace(plant, volume=75.0).write(tmp_path)
    assert other == path
    told(file)  # runs of the same plant with another present setting stand in the file as well
    plant.write(tmp_path)
    assert without == fresh == told(file)


def test_json_of_both_is_as_promised() -> None:
    advice = advice_of(LOADED)
    data = json.loads(json.dumps(advice_json(advice, None, None)))
    for each in data["policies"]:
        assert {"name", "outcome", "settings", "present", "best", "tried", "limits", "binding"} <= each.keys()
        assert {"breakthrough_risk", "bad_year_share", "drain_m3", "cost"} <= each["best"]["figures"].keys()
        assert each["settings"].keys() >= each["tried"][0]["values"].keys()
        assert {tuple(one) for one in each["tried"]} == {("values", "figures", "kept")}
        assert {one["figure"] for one in each["limits"]} >= {"supply_kpa", "over_limit_h", "below_clean_kpa"}
        assert all(one["kept"] and one["reached"] <= one["allowed"] * (1.0 + 1e-9) for one in each["limits"])
        least = min(one["figures"]["cost"] for one in each["tried"] if one["kept"])
        assert each["best"]["figures"]["cost"] == pytest.approx(least, rel=1e-8)
    assert data["in_use"] == "clock"
    assert {each["device"] for each in payback_json(payback_of(LOADED), None)["devices"]} == {"meter", "switch"}
