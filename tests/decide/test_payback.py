"""What a device is worth: the two cases that are shipped, the price at which it pays, blank prices."""

import math
from collections.abc import Mapping
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from plots.decision import tradeoff_figure
from sim.case.load import load_case
from sim.case.price.records import Price, Prices
from sim.case.quantities import System
from sim.case.trigger.records import Policy, Signal
from sim.case.units import DAY
from sim.study.decide.advice import Wishes
from sim.study.decide.knobs import settable
from sim.study.decide.limits import Limit
from sim.study.decide.money import net_present_value
from sim.study.decide.payback import Payback, device_shares, payback
from sim.study.decide.trials import Bench, Candidate, Tried, priced
from sim.study.decide.whatif import Fault
from sim.study.errors import RequestError
from sim.study.many.workers import local
from sim.tell.decision import payback_words
from sim.tell.decision.advice_words import remarks
from sim.tell.decision.decision_json import payback_json
from sim.tell.decision.decision_tables import worth_table
from sim.tell.decision.files_of_decision import cost_range, stacked_bars, tradeoff
from sim.tell.decision.payback_screen import payback_screen
from sim.tell.decision.payback_words import answer, break_even, paid_words, turning_words, verdict_words
from sim.tell.decision.told import bar_name
from sim.tell.decision.unusual_words import loadings, unusual_words
from tests.decide.plants import Drawn
from tests.decide.steady import changeable, steady

CASES = Path(__file__).parents[2] / "cases"
WISHES = Wishes(limits=(Limit("over_limit_h", 5.0),))
UNITS: dict[str, System] = {"laundry": "si", "rope_walk": "us"}


def studied(path: Path, prices: Prices | None = None, replicates: int = 1, wishes: Wishes = WISHES) -> Payback:
    case = load_case(path)
    if prices is not None:
        case = replace(case, prices=prices)
    with local(1) as crew:
        bench = Bench(path=path, case=case, crew=crew, seed=1, replicates=replicates)
        return payback(bench, wishes)


@cache
def shipped(name: str) -> Payback:
    return studied(CASES / f"{name}.toml", wishes=replace(WISHES, units=UNITS[name]))


def test_three_bars_at_least_and_the_best_calendar_is_the_one_to_beat() -> None:
    found = shipped("laundry")
    assert [bar.name for bar in found.bars] == ["today's calendar", "best calendar", "best with a meter"]
    assert found.calendar is found.bars[1]
    today, best, meter = (bar.tried.mean("cost") for bar in found.bars)
    assert meter < best < today
    (decided,) = found.decided
    assert decided.worth.saving == pytest.approx(best - meter)  # not against today's


def test_a_case_in_which_the_meter_pays() -> None:
    (decided,) = shipped("laundry").decided
    assert decided.verdict == "pays"
    assert decided.value is not None
    assert decided.value > 0.0
    told = answer(shipped("laundry"), "si")
    assert told[1].startswith("Worth it: against the best calendar a meter (volume ")
    today, meter = (bar.tried.mean("pressure_kpa") for bar in shipped("laundry").bars[::2])
    assert meter > today
    assert "highest pressure drop" in told[0]
    assert told[2:] == ("With a device this gets worse too: time over the limit and breakthrough risk.",)
    (row,) = (each for each in payback_screen(shipped("laundry"), "si", None).table.rows if "pressure" in each[0])
    assert (row[1], row[3]) == (f"{today:.1f}", f"{meter:.1f}")


def test_a_case_in_which_the_best_calendar_makes_it_not_worth_it() -> None:
    """Against today's calendar the meter would have paid within months; against the best one it does not."""
    found = shipped("rope_walk")
    meter = next(each for each in found.decided if each.device == "meter")
    today = found.bars[0].tried.mean("cost") - meter.bar.tried.mean("cost")
    assert meter.worth.price is not None
    assert meter.worth.price / today < 0.5
    assert [each.verdict for each in found.decided] == ["does not pay", "does not pay"]
    assert answer(found, "us")[1].startswith("Not worth it: against the best calendar a meter ")


def pays_just_then(path: Path, found: Payback) -> None:
    """The case run again with water plus sewer at that price: paid for itself after the years asked for."""
    decided = found.decided[0]
    assert decided.break_even is not None
    prices = found.prices
    each = Price(value=decided.break_even / 2.0, low=decided.break_even / 2.0, high=decided.break_even / 2.0)
    again = studied(path, replace(prices, water=each, sewer=each))
    assert again.decided[0].worth.payback == pytest.approx(prices.payback_within, rel=0.01)


def test_the_price_named_as_break_even_pays_just_then(tmp_path: Path) -> None:
    laden = Drawn(size=0.5, peak=7.0, diameter=0.7, solids=8.0, limit=5.0, lost_production=0.0)
    path = laden.write(tmp_path)
    pays_just_then(path, studied(path))


@pytest.mark.long
def test_the_price_named_as_break_even_pays_just_then_in_the_laundry() -> None:
    pays_just_then(CASES / "laundry.toml", shipped("laundry"))


def test_a_meter_that_is_stuck_leaves_only_the_latest_wash() -> None:
    (decided,) = shipped("laundry").decided
    ifs = {each.fault: each.tried for each in decided.what_ifs}
    stuck = ifs[Fault(device="meter", kind="stuck")]
    assert stuck.mean("washes") == pytest.approx(365.25 / 10.0, abs=1.0)  # every 10 days
    assert stuck.mean("over_limit_h") > 10.0 * decided.bar.tried.mean("over_limit_h")
    much, little = (ifs[Fault(device="meter", kind=each, share=0.03)] for each in ("too much", "too little"))  # type: ignore[arg-type]
    assert much.mean("washes") > decided.bar.tried.mean("washes") > little.mean("washes")


def test_the_range_over_prices_by_hand() -> None:
    """All swings added to the value at the prices given."""
    (decided,) = shipped("laundry").decided
    assert decided.value is not None
    assert decided.price_range is not None
    low = decided.value + sum(min(s.at_low, s.at_high) - decided.value for s in decided.swings)
    assert decided.price_range[0] == pytest.approx(low)
    assert decided.price_range[0] < decided.value < decided.price_range[1]


def test_with_prices_blank_it_tells_volumes_hours_and_what_would_have_to_cost_how_much(tmp_path: Path) -> None:
    found = studied(steady(tmp_path, days=30), Prices())
    meter = next(each for each in found.decided if each.device == "meter")
    assert meter.verdict == "open"
    assert meter.value is None
    told = " ".join(payback_screen(found, "si", None).answer)
    assert "No price was given to decide it" in told
    assert "m3" in told
    assert "95 %" not in told  # one run has no interval
    if meter.water.mean > 0.0:
        per_1000 = 1000.0 / 3.0 / meter.water.mean
        assert break_even(found, meter, "si") == (
            f"Within 3 years a meter pays if, for every 1,000 that it costs, water plus sewer cost more than "
            f"{per_1000:.3g} per m3."
        )


def test_only_the_device_without_a_price(tmp_path: Path) -> None:
    path = steady(tmp_path, days=30)
    path.write_text(
        path.read_text(encoding="utf-8").replace('meter = { price = "100 each" }\n', ""), encoding="utf-8"
    )
    found = studied(path)
    meter = next(each for each in found.decided if each.device == "meter")
    assert meter.worth.payback is None
    assert meter.most_price == pytest.approx(max(3.0 * meter.worth.saving, 0.0))


@pytest.mark.long
def test_chance_makes_an_interval(tmp_path: Path) -> None:
    found = studied(changeable(tmp_path), replicates=3, wishes=Wishes(limits=(Limit("over_limit_h", 40.0),)))
    (decided,) = found.decided
    assert decided.saving.known
    assert decided.value_low is not None
    assert decided.value is not None
    assert decided.value_high is not None
    assert decided.value_low < decided.value < decided.value_high
    data = payback_json(found, None)
    (device,) = data["devices"]
    assert device["saving_interval"] == [decided.saving.low, decided.saving.high]
    assert isinstance(device, Mapping)
    assert all(turning_words(found, each, "us")[0] for each in found.decided)


def test_there_must_be_a_calendar_and_a_device(tmp_path: Path) -> None:
    path = steady(tmp_path, days=10)
    case = load_case(path)
    with local(1) as crew:
        bench = Bench(path=path, case=case, crew=crew, seed=1, replicates=1)
        with pytest.raises(RequestError, match="calendar of today"):
            payback(bench, Wishes(today="volume"))
        alone = replace(bench, case=replace(case, policies=case.policies[:1]))
        with pytest.raises(RequestError, match="by volume or by pressure drop"):
            payback(alone, Wishes())


def test_how_far_a_bar_may_reach_by_hand() -> None:
    """The amounts of a year times the ends of the prices that stand in the case."""
    found = shipped("laundry")
    tried = found.bars[0].tried
    water, energy, lost = (tried.mean(f"amount {key}") for key in ("water", "energy", "lost_production"))
    ends = cost_range(found, tried)
    assert ends is not None
    prices = ((2.0, 2.5, 0.15, 4.0), (4.5, 5.0, 0.4, 30.0))  # water, sewer, kWh, what is not delivered
    for end, (supply, sewer, per_kwh, production) in zip(ends, prices, strict=True):
        by_hand = water * (supply + sewer) + energy / 3.6e6 * per_kwh + lost * production
        assert end == pytest.approx(by_hand, rel=1e-9)
    drawn = stacked_bars(found, "si")
    assert drawn.ends[0] == ends
    assert ends[0] < sum(value for value in drawn.values[0] if value == value) < ends[1]


def test_other_prices_choose_as_a_search_of_what_was_tried_would(tmp_path: Path) -> None:
    """The runs of a study at its own prices, chosen from at others: no setting that was tried costs less."""
    path = steady(tmp_path, days=30)
    with local(1) as crew:
        bench = Bench(path=path, case=load_case(path), crew=crew, seed=1, replicates=1)
        first = payback(bench, WISHES)
        dear = replace(first.prices, labour=Price(value=40.0, low=40.0, high=40.0))
        known = {key: priced(each, dear) for key, each in bench.known.items()}
        sought = {
            each.policy: (each.knobs, tuple(priced(one, dear) for one in each.scouted))
            for each in first.advice.policies
        }
        other = Bench(path=path, case=replace(bench.case, prices=dear), crew=crew, seed=1, replicates=1, known=known)
        again = payback(other, WISHES, sought)
    for each in again.advice.policies:
        assert each.best is not None
        kept = [one.mean("cost") for one in sought[each.policy][1] if one.mean("over_limit_h") <= 5.0]
        assert each.best.mean("cost") == min(kept)
    assert again.bars[1].tried.mean("washes") <= first.bars[1].tried.mean("washes")  # costlier washes, fewer of them


def test_a_coarse_search_tries_fewer_settings_and_finds_none_that_is_better(tmp_path: Path) -> None:
    path = steady(tmp_path, days=30)
    with local(1) as crew:
        bench = Bench(path=path, case=load_case(path), crew=crew, seed=1, replicates=1)
        found = [payback(bench, replace(WISHES, coarse=coarse)) for coarse in (False, True)]
    fine, coarse_ = (sum(len(each.tried) for each in one.advice.policies) for one in found)
    assert coarse_ < fine
    for one, other in zip(found[0].bars, found[1].bars, strict=True):
        assert one.tried.mean("cost") <= other.tried.mean("cost") * (1.0 + 1e-9)


def test_runs_in_random_weather_allow_a_tenth_more_than_today() -> None:
    """Hours of three years by hand; a single run, in which nothing is random, allows nothing."""

    def tried(*hours: float) -> Tried:
        candidate = Candidate(name="one", policy=Policy(name="one", triggers=()))
        return Tried(candidate=candidate, figures={"over_limit_h": np.array(hours)}, over=None)

    limit, today = Limit("over_limit_h", None), tried(90.0, 100.0, 110.0)
    assert limit.allowed(today) == pytest.approx(110.0)
    assert limit.kept_surely(tried(93.0, 103.0, 113.0), today)
    assert not limit.kept_surely(tried(102.0, 112.0, 122.0), today)
    assert not limit.kept_surely(tried(80.0, 100.0, 135.0), today)  # more or less: the runs cannot tell
    assert limit.allowed(tried(100.0)) == 100.0


def test_a_device_that_is_bought_again_is_told_and_counted() -> None:
    """The meter of the laundry lives 8 of 10 years: without the second one it would be worth that much more."""
    found = shipped("laundry")
    (decided,) = found.decided
    assert decided.again == (8.0,)
    assert decided.worth.price is not None
    assert decided.value is not None
    once = net_present_value(decided.worth, rate=found.prices.discount_rate, years=10, life=None)
    assert once == pytest.approx(decided.value + decided.worth.price / 1.05**8)
    assert "It is bought again in year 8, which is counted." in " ".join(turning_words(found, decided, "si"))
    assert ("bought again in year", "8") in worth_table(found, "si").rows
    (device,) = payback_json(found, None)["devices"]
    assert (device["life_years"], device["bought_again_in_years"], device["payback_within_life"]) == (
        8.0,
        [8.0],
        True,
    )


def test_a_price_that_comes_back_after_the_life_of_a_device_does_not_come_back() -> None:
    found = shipped("rope_walk")
    told = " ".join(answer(found, "us"))
    for each in found.decided:
        assert each.worth.payback is not None
        assert each.life is not None
        assert each.worth.payback > each.life
        assert paid_words(each, found.prices) == f"not within its life of {each.life:g} years"
        assert f"within its life of {each.life:g} years" in told
    assert f"after {found.decided[0].worth.payback:.0f} years" not in told
    longer = replace(found.decided[0], life=40.0, again=())
    assert paid_words(longer, found.prices) == "not within the 10 years counted"


def test_a_saving_of_nothing_is_no_figure_and_a_loss_is_one() -> None:
    """The meter of the laundry, as if it saved nothing, 100 less than its upkeep, or too little for interest."""
    found = shipped("laundry")
    (meter,) = found.decided

    def verdict(saving: float, upkeep: float) -> str:
        worth = replace(meter.worth, saving=saving, upkeep=upkeep)
        return verdict_words(found, replace(meter, worth=worth, verdict="does not pay"), "si")

    assert verdict(0.0, 0.0) == (
        "Not worth it: against the best calendar a meter saves nothing and does not earn its price of 1,900 marls."
    )
    assert verdict(0.0, 100.0) == (
        "Not worth it: against the best calendar a meter costs 100 marls a year more and does not earn its price of "
        "1,900 marls. Its upkeep is counted."
    )
    assert verdict(380.0, 0.0) == (
        "Not worth it: against the best calendar a meter saves 380 marls a year. Its price of 1,900 marls comes back "
        "after 5 years, but not with interest and all that is bought again."
    )


def test_what_the_calendar_alone_saves_stands_first() -> None:
    found = shipped("rope_walk")
    today, best = (bar.tried.mean("cost") for bar in found.bars[:2])
    first, *more = answer(found, "si")
    assert first.startswith(
        f"Change the calendar first, which costs nothing: “calendar” (every 5 d) saves {today - best:,.0f} tolds a "
        "year against today's “calendar” (every 1 d). "
    )
    assert not any("costs nothing" in each for each in more)


def test_settings_beyond_what_is_usual_are_remarked_upon() -> None:
    """By hand: gallons over a bed of 36 in, against 400 m of water (Trussell et al. 1980)."""
    found = shipped("rope_walk")
    meter = next(each for each in found.advice.policies if each.policy == "meter")
    (gallons,) = (value / 0.003785411784 for value in meter.best.candidate.values)  # type: ignore[union-attr]
    assert gallons == pytest.approx(settable(gallons))
    per_ft2 = gallons / (math.pi / 4.0 * 3.0**2)
    times = per_ft2 * 0.003785411784 / 0.3048**2 / 400.0
    (told,) = [each for each in unusual_words(found.advice, "us") if "than is usual" in each]
    assert times > 2.0
    assert f"“meter”, bed ({float(f'{per_ft2:.3g}'):,.0f} gal/ft2)" in told
    assert "4,910 to 9,820 gal/ft2" in told  # 200 and 400 m, as above
    assert "mudballs" in told


def test_a_calendar_far_apart_is_remarked_upon() -> None:
    """By hand: 24 gal a minute for 5 days over a bed of 36 in; the water that washes keep from service lacks."""
    advice = shipped("rope_walk").advice
    calendar = advice.policies[0]
    ((stage, loading),) = loadings(advice, calendar)
    assert stage == "bed"
    assert loading == pytest.approx(24.0 * 1440.0 * 5.0 * 0.003785411784 / (math.pi / 4.0 * 0.9144**2), rel=0.01)
    assert not any("common practice" in each for each in unusual_words(advice, "us"))
    assert calendar.best is not None
    candidate = replace(calendar.best.candidate, values=(20.0 * DAY,))
    rare = replace(calendar, best=replace(calendar.best, candidate=candidate))
    (told,) = [each for each in unusual_words(replace(advice, policies=(rare,)), "us") if "common practice" in each]
    assert "“calendar”, bed (20 d > 14 d)" in told


def test_food_rules_come_before_hours_over_the_limit() -> None:
    advice = shipped("laundry").advice
    assert not any("food" in each or "drinking" in each for each in remarks(advice, "si"))
    unknown = "What the water is for is not stated, so people may drink it:"
    for use, begin in (("food", "The water is for food:"), (None, unknown)):
        told = remarks(replace(advice, case=replace(advice.case, use=use)), "si")
        assert f"{begin} no run longer and no wash or rinse shorter than at present was tried." in told
        assert any("food and drinking-water rules decide" in each for each in told)


def test_the_price_of_a_signal_is_not_asked_for() -> None:
    found = shipped("laundry")
    assert not any("monitor" in each for each in payback_words.remarks(found))
    signal = Signal(of="turbidity", above=1.0, hold=600.0, at=None, contact=None)
    way = Policy(name="when it clouds", triggers=(("sand", signal),))
    case = replace(found.case, policies=(*found.case.policies, way))
    (told,) = [each for each in payback_words.remarks(replace(found, case=case)) if "monitor" in each]
    assert told.endswith("so it is not counted in “when it clouds”.")


def test_a_bar_with_its_device_is_shorter_just_where_the_device_pays() -> None:
    """The share of a year by hand, without interest: 1,900 twice over 10 years and 60 a year; else by worth."""
    for name in ("laundry", "rope_walk"):
        found = shipped(name)
        drawn = stacked_bars(found, UNITS[name])
        assert "the device, its share of a year" in drawn.parts
        whole = dict(zip(drawn.bars, (sum(v for v in each if v == v) for each in drawn.values), strict=True))
        for each in found.decided:
            assert each.value is not None
            assert (whole[bar_name(each.bar)] < whole[bar_name(found.calendar)]) == (each.value > 0.0)
    plain = replace(shipped("laundry").prices, discount_rate=0.0)
    assert device_shares(plain, "meter")[1] == pytest.approx(2.0 * 1900.0 / 10.0 + 60.0)


def test_settings_that_step_are_not_joined_by_a_line() -> None:
    found = shipped("rope_walk")
    drawn = tradeoff(found.advice, "us")
    assert {line.policy: line.steps for line in drawn.lines} == {
        "calendar": True, "meter": False, "pressure switch": False,
    }  # fmt: skip
    figure = tradeoff_figure(drawn)
    (axes,) = figure.axes
    joined = [
        line for line in axes.lines if line.get_linestyle() != "None" and len(np.atleast_1d(line.get_xdata())) > 2
    ]
    assert len(joined) <= 2
    assert drawn.limit is not None
    assert axes.get_ylim()[1] <= 2.2 * drawn.limit
    assert axes.get_ylim()[1] > drawn.limit
