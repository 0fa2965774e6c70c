"""The results of a decision as plain data for a JSON file: SI, None where a figure does not apply."""

import math
from collections.abc import Sequence
from typing import Any

from plots.words import Code, Kind, label, say
from sim.case.records import Case
from sim.case.spelling import plain_duration
from sim.case.stage.longest_run import usual_longest_runs
from sim.study.compare import heading
from sim.study.decide.advice import Advice, Advised
from sim.study.decide.doubts_of_settings import doubts_of
from sim.study.decide.ends import Ends
from sim.study.decide.knobs import Knob
from sim.study.decide.limits import OVER_DISSOLVED, Limit, exceeded, level
from sim.study.decide.margins import (
    advice_moves,
    advice_over,
    least_margin,
    payback_moves,
    payback_over,
    worth_margin,
)
from sim.study.decide.payback import Decided, Payback, thresholds
from sim.study.decide.seasons import Seasons, Year
from sim.study.decide.trials import Tried
from sim.study.doubts import doubt_json
from sim.study.many.intervals import Interval
from sim.study.over_ranges import Move, OverRanges
from sim.tell.comparison.range_json import over_json
from sim.tell.decision.told import end_words, value_text, what_if_words

FIGURES = ("water", "cost", "over_limit_h", "unavoidable_h", "breakthrough_risk", "risk", "pressure_kpa", "stopped_h",
           "waits", "unmet_m3", "unmet_by_washing_m3", "washes", "downtime_h", *OVER_DISSOLVED, "exposure",
           "hardness_leak_kg", "salt_kg", "regenerations", "without")  # fmt: skip
NAMES = {"water": "drain_m3", "risk": "bad_year_share", "exposure": "oxidant_exposure_g_h_m3",
         "without": "regenerations_without"}  # fmt: skip


def advice_json(advice: Advice, seasons: Seasons | None, ends: Ends | None) -> dict[str, Any]:
    """Everything that a study of settings found; figures are of a year, in the mean of the runs."""
    chosen = advice.chosen
    return {
        **heading(advice.case, advice.case.run.length / 86_400.0, advice.seed),
        "replicates": advice.replicates,
        "least": advice.least,
        "limits": [limit_json(each) for each in advice.limits],
        "floors": advice.floors,
        "runs": advice.runs,
        "in_use": advice.in_use,
        "today": tried_json(advice.today),
        "chosen": None if chosen is None else chosen.policy,
        "policies": [advised_json(advice, each) for each in advice.policies],
        "doubts": [doubt_json(each) for each in doubts_of(advice)],
        "seasons": None if seasons is None else seasons_json(seasons),
        "order": None if ends is None else ends_json(
            ends, _least_json(advice, ends), advice_over(advice, ends), advice_moves(advice, ends)
        ),
    }


def _least_json(advice: Advice, ends: Ends) -> list[dict[str, Any]]:
    known = least_margin(advice, ends)
    if known is None or advice.chosen is None:
        return []
    return [known.to_json(advice.chosen.policy, label("decision_json.margin", least=Kind(advice.least)))]


def _worth_json(found: Payback, ends: Ends) -> list[dict[str, Any]]:
    known = [(each.device, worth_margin(found, each, ends)) for each in found.decided]
    return [each.to_json(device, label("decision_json.worth")) for device, each in known if each is not None]


def payback_json(found: Payback, ends: Ends | None) -> dict[str, Any]:
    """Everything that a study of worth found."""
    return {
        **advice_json(found.advice, None, None),
        "order": None if ends is None else ends_json(
            ends, _worth_json(found, ends), payback_over(found, ends), payback_moves(found, ends)
        ),
        "currency": found.prices.currency,
        "payback_within_years": found.prices.payback_within,
        "discount_rate": found.prices.discount_rate,
        "years": found.prices.years,
        "bars": [{"bar": each.name, "policy": each.policy, **tried_json(each.tried)} for each in found.bars],
        "devices": [{**decided_json(found.case, each), **_thresholds_json(found, each)} for each in found.decided],
        "lost": list(found.lost),
    }


def _thresholds_json(found: Payback, each: Decided) -> dict[str, float | None]:
    most, least = thresholds(found, each)
    return {"worth_it_up_to_price": most, "worth_it_from_water_and_sewer_per_m3": least}


def ends_json(
    ends: Ends, margins: list[dict[str, Any]], over: OverRanges, moves: Sequence[Move]
) -> dict[str, Any]:
    """Plain data for a JSON file."""
    return {
        "assumed": ends.assumed,
        "constants": ends.constants,
        "runs": (1 + len(ends.trials)) * len(ends.typical),
        "answers": margins,
        "refused": [{"key": key, "end": end, "why": why} for key, end, why in ends.refused],
        **over_json(over, moves),
    }


def limit_json(limit: Limit) -> dict[str, Any]:
    """A limit; `most` is None where today's figure is, `stage` where it holds for all."""
    return {
        "figure": NAMES.get(limit.key, limit.key), "most": limit.most, "stage": limit.stage or None,
        "bound": limit.bound if limit.key in ("supply_kpa", "rating_kpa") else None,
    }  # fmt: skip


def kept_json(limit: Limit, tried: Tried, today: Tried) -> dict[str, Any]:
    """A limit, what it allows and where a setting stands."""
    return {
        **limit_json(limit), "allowed": limit.allowed(today), "reached": level(limit, tried),
        "kept": not limit.excess(tried, today),
    }  # fmt: skip


def tried_json(tried: Tried) -> dict[str, Any]:
    """The figures of a candidate with their intervals."""
    means, intervals = {}, {}
    for key in FIGURES:
        found = tried.interval(key)
        name = NAMES.get(key, key)
        means[name] = None if found is None else found.mean
        if found is not None and found.known:
            intervals[name] = [found.low, found.high]
    parts = {key.removeprefix("part "): tried.mean(key) for key in tried.figures if key.startswith("part ")}
    return {"figures": means, "interval": intervals, "cost_parts": {k: v for k, v in parts.items() if v == v}}


def advised_json(advice: Advice, advised: Advised) -> dict[str, Any]:
    """What was found of a policy; `settings` are keys and values of the case file."""
    best, told = advised.best, advised.best or advised.nearest
    today = advice.today if advised.best is not None else advice.scouted
    return {
        "name": advised.policy,
        "outcome": advised.outcome,
        "settings": None if best is None else settings_of(advice, advised, best),
        "present": tried_json(advised.present),
        "best": None if best is None else tried_json(best),
        "limits": [kept_json(each, told, today) for each in advice.limits],
        "binding": [limit_json(each) for each in advised.binding],
        "nearest": None if best is not None else _one_tried(advice, advised, advised.nearest),
        "at_the_end_of_its_range": [
            {"key": each.key(advised.policy), "end": end_words(each.end)} for each in advised.edges if each.end
        ],
        "tried": [_one_tried(advice, advised, each) for each in advised.tried],
    }


def _one_tried(advice: Advice, advised: Advised, tried: Tried) -> dict[str, Any]:
    """A setting on the searching runs, and whether it keeps every limit in their mean."""
    return {
        "values": _values(advised.knobs, tried.candidate.values, advised.policy),
        "figures": tried_json(tried)["figures"],
        "kept": not exceeded(advice.limits, tried, advice.scouted),
    }


def settings_of(advice: Advice, advised: Advised, tried: Tried) -> dict[str, str | float]:
    """The setting as keys and values of the case file, floors included."""
    found: dict[str, str | float] = _values(advised.knobs, tried.candidate.values, advised.policy)
    found |= dict(tried.candidate.steps)
    usual = {f"stage.{name}.longest_run": plain_duration(length) for name, length in usual_longest_runs(advice.case)}
    return found | usual


def _values(knobs: tuple[Knob, ...], values: tuple[float, ...], policy: str) -> dict[str, str | float]:
    return {knob.key(policy): value_text(knob, value) for knob, value in zip(knobs, values, strict=True)}


def seasons_json(seasons: Seasons) -> dict[str, Any]:
    """The years that were put together."""

    def year(each: Year | None) -> dict[str, Any] | None:
        if each is None:
            return None
        settings = [
            {knob.key(seasons.policy): value_text(knob, _value(knob, one.policy.triggers)) for knob in seasons.knobs}
            for one in each.settings
        ]
        spared = seasons.spared(each)
        return {"least": seasons.told(each), "from_clean_beds": each.least, "settings": settings, "spared": spared}

    return {
        "policy": seasons.policy,
        "starts_day": list(seasons.starts),
        "one": year(seasons.one),
        "two": year(seasons.two),
        "four": year(seasons.four),
        "worth_it": seasons.worth_it,
        "why_not": say("seasons.refused", error=Code(seasons.refused)) if seasons.refused else None,
    }


def _value(knob: Knob, triggers: tuple[tuple[str, Any], ...]) -> float:
    return float(getattr(dict(triggers)[knob.stage], knob.part))


def decided_json(case: Case, each: Decided) -> dict[str, Any]:
    """What a device is worth; a payback of None with a verdict of "does not pay" is never."""
    worth, after = each.worth, each.worth.payback
    return {
        "device": each.device,
        "policy": each.bar.policy,
        "verdict": each.verdict,
        "price": worth.price,
        "upkeep_a_year": worth.upkeep,
        "saving_a_year": worth.saving,
        "saving_interval": interval_json(each.saving),
        "drain_spared_m3": each.water.mean,
        "drain_spared_interval": interval_json(each.water),
        "washes_spared": each.washes.mean,
        "salt_spared_kg": None if each.salt is None else each.salt.mean,
        "salt_spared_interval": None if each.salt is None else interval_json(each.salt),
        "over_limit_spared_h": None if each.hours is None else each.hours.mean,
        "payback_years": None if after is None or math.isinf(after) else after,
        "life_years": each.life,
        "payback_within_life": None if after is None or each.life is None else after <= each.life,
        "bought_again_in_years": list(each.again),
        "net_present_value": each.value,
        "net_present_value_interval": None if each.value_low is None else [each.value_low, each.value_high],
        "net_present_value_all_prices": None if each.price_range is None else list(each.price_range),
        "break_even_water_and_sewer_per_m3": each.break_even,
        "pays_up_to_price": each.most_price,
        "tornado": [
            {"price": s.price, "low": s.low, "high": s.high, "value_at_low": s.at_low, "value_at_high": s.at_high}
            for s in each.swings
        ],
        "what_if": [{"what": what_if_words(case, one), **tried_json(one.tried)} for one in each.what_ifs],
    }


def interval_json(interval: Interval) -> list[float | None] | None:
    """Low and high, None where there is no interval."""
    return [interval.low, interval.high] if interval.known else None
