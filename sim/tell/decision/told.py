"""Settings, limits and amounts of a decision in words and display units."""

from collections.abc import Sequence
from datetime import timedelta
from typing import Literal, assert_never, get_args

from plots import words
from plots.words import (
    Amount,
    Code,
    Items,
    Kind,
    Label,
    Moment,
    Name,
    Number,
    Sentence,
    Term,
    apart,
    colon,
    dated,
    items,
    label,
    localised,
    paragraph,
    say,
    term,
)
from sim.case import quantities
from sim.case.quantities import Quantity, System
from sim.case.records import Case
from sim.case.spelling import plain_duration
from sim.case.stage.longest_run import longest_run_of, with_usual_longest_runs
from sim.case.units import HOUR, MINUTE
from sim.study.decide.knobs import Knob
from sim.study.decide.limits import OVER_DISSOLVED, Limit, level
from sim.study.decide.payback import Bar, WhatIf
from sim.study.decide.seasons import Seasons, Year
from sim.study.decide.trials import Tried
from sim.study.many.intervals import Interval
from sim.study.settable import End
from sim.tell.comparison.leading import named
from sim.tell.comparison.many_rows import share
from sim.tell.kpis import KPIS, RISK, Kpi
from sim.tell.present import ABSENT, UNITS, duration, written
from sim.tell.sentences import day_time

FIGURES: dict[str, Kpi] = {
    "water": KPIS["drain_m3"], "cost": KPIS["cost"], "over_limit_h": KPIS["over_limit_h"], "risk": RISK,
    "breakthrough_risk": KPIS["breakthrough_risk"], "stopped_h": KPIS["downstream_stopped_h"],
    "pressure_kpa": KPIS["peak_dp_kpa"], "unmet_m3": KPIS["unmet_m3"], "washes": KPIS["washes"],
    "downtime_h": KPIS["downtime_h"], **{key: KPIS[key] for key in OVER_DISSOLVED},
    "exposure": KPIS["oxidant_exposure_g_h_m3"], "salt_kg": KPIS["salt_kg"], "regenerations": KPIS["regenerations"],
    "without": KPIS["regenerations_without"],
}  # fmt: skip
"""The figures of a candidate as a comparison has them."""
QUANTITIES: dict[str, Quantity] = {key: kpi.quantity for key, kpi in FIGURES.items()} | {"worth": "money"}
Worse = Literal[
    "pressure_kpa", "unmet_m3", "over_limit_h", "breakthrough_risk", "hardness_over_h", "iron_over_h",
    "manganese_over_h", "oxidant_over_h", "exposure",
]  # fmt: skip
WORSE: tuple[Worse, ...] = get_args(Worse)
"""What a cheaper setting may do that its cost does not show."""
ALWAYS_TOLD = WORSE[:4]
"""Those of them that are told whether or not a case has them."""

OF_TODAY = ("over_limit_h", "unmet_m3", *OVER_DISSOLVED, "exposure", "hardness_leak_kg", "without")
"""Limits that may be no more than today's figure."""


def figure_name(key: str) -> Term:
    """What a figure of a candidate is called."""
    if key == "worth":
        return term("decision", "worth")
    return RISK.words if key == "risk" else named(FIGURES[key].key)


def bar_name(bar: Bar) -> Term:
    """What is compared in a study of worth."""
    return term("bar", bar.name)


def number(value: float | None, quantity: Quantity, system: System) -> Number:
    """A number in its display unit, without the unit.

    >>> number(1234.5, "volume", "si"), number(None, "volume", "si")
    ('1,234', '-')
    """
    if value is None or value != value:
        return ABSENT
    return written([value * UNITS[system][quantity].per_result_unit])[0]


def amount(value: float | None, quantity: Quantity, system: System, currency: str = "") -> Amount:
    """A number with its unit, or with the currency."""
    symbol = currency if quantity == "money" else UNITS[system][quantity].symbol
    text = number(value, quantity, system)
    return words.amount(text, "" if text == ABSENT else symbol)


def unit_of(key: str, system: System, money: str) -> Name | Code:
    """The symbol of a figure's unit."""
    return Name(money) if QUANTITIES[key] == "money" else UNITS[system][QUANTITIES[key]].symbol


def volume_price(system: System) -> tuple[Code, float]:
    """The volume that a price of water is for, and how many m3 it has."""
    if system == "si":
        return Code("m3"), 1.0
    return Code("1000 gal"), 1000.0 / UNITS["us"]["volume"].per_result_unit


def spread(interval: Interval | None, quantity: Quantity, system: System) -> Number:
    """A mean with half of its interval, a share with the whole of it."""
    if interval is None:
        return ABSENT
    factor = UNITS[system][quantity].per_result_unit
    ends = [None if each is None else each * factor for each in interval]
    texts = written(ends)
    if ends[1] is None or interval.half is None or texts[1] == texts[2]:
        return texts[0]
    if quantity == "share":
        return share(interval)
    half = written([*ends, interval.half * factor])[3]
    return texts[0] if "<" in half else Number(f"{texts[0]} ±{half}")


def figure(tried: Tried, key: str, system: System) -> Number:
    """A figure of a candidate with its interval."""
    found = tried.interval(key)
    if key == "pressure_kpa" and found is not None:
        return number(float(tried.figures[key].max()), "pressure", system)
    return spread(found, QUANTITIES[key], system)


def end_words(end: End) -> Term:
    """What the high end of a range that was tried is."""
    match end:
        case (
            "longest run" | "longest hold" | "let through" | "restored" | "largest days" | "salt table" | "present"
        ):
            return term("range_end", end)
        case "rating" | "pump" | "shared line" | "usual supply":
            return term("bound", end)
        case _:
            assert_never(end)


def value_words(knob: Knob, value: float, system: System) -> Amount | Moment:
    """The value of a knob in display units."""
    match knob.part:
        case "every" | "hold":
            return duration(value)
        case "volume" | "reserve" | "above" | "salt":
            units = quantities.QUANTITIES[knob.quantity]
            return words.amount(written([units.shown(value, system)])[0], units.symbol(system))
        case "at":
            return day_time(value)
        case "backwash" | "rinse" | "make-up":
            return words.amount(localised(f"{value / MINUTE:g}"), "min")
        case _:
            assert_never(knob.part)


def value_text(knob: Knob, value: float) -> str | float:
    """The value as a case file has it; a time of day as text."""
    match knob.part:
        case "every" | "hold":
            return plain_duration(value)
        case "volume" | "reserve" | "above" | "salt":
            units = quantities.QUANTITIES[knob.quantity]
            return f"{units.shown(value, 'si'):.10g} {units.si}"
        case "at":
            return f"{int(value // HOUR):02d}:{round(value % HOUR / MINUTE):02d}:00"
        case "backwash" | "rinse" | "make-up":
            return value / MINUTE
        case _:
            assert_never(knob.part)


def setting_words(knobs: Sequence[Knob], values: Sequence[float], system: System) -> Items:
    """All settings of a policy in a line, by stage where there are several."""
    stages: dict[str, list[str]] = {}
    for knob, value in zip(knobs, values, strict=True):
        stages.setdefault(knob.stage, []).append(f"{term('part', knob.part)} {value_words(knob, value, system)}")
    if not stages:
        return items([term("setting", "present")])
    lines = {stage: ", ".join(parts) for stage, parts in stages.items()}
    if len(lines) == 1:
        return Items(*lines.values())
    return Items(apart(f"{stage}{colon()}{line}" for stage, line in lines.items()))


def limits_words(limits: Sequence[Limit], system: System, today: Tried | None = None) -> Items:
    """Limits with what they allow; one of today's figure has it where `today` is known."""
    return items([_item(_name(each), _allowed(each, system, today)) for each in limits])


def broken_words(limits: Sequence[Limit], tried: Tried, today: Tried, system: System) -> Items:
    """Limits that a setting breaks, each with its figure and what is allowed, as in "28.2 > 20 h"."""
    return items([_item(_name(each), _reached(each, tried, today, system)) for each in limits])


def _item(name: Term, details: Sequence[str]) -> str:
    return f"{name} ({', '.join(details)})" if details else name


def _name(limit: Limit) -> Term:
    return term("limit_of_today" if limit.most is None and limit.key in OF_TODAY else "limit", limit.key)


def _allowed(limit: Limit, system: System, today: Tried | None) -> Sequence[str]:
    known = limit.most if today is None else limit.allowed(today)
    most = [] if known is None else [amount(known, _quantity(limit), system)]
    where = [limit.stage] if limit.stage else []
    match limit.key:
        case "supply_kpa" | "rating_kpa":
            return [*where, *most, term("bound", limit.bound)]
        case "below_clean_kpa" | "idle":
            return []
        case _:
            return [*where, *most]


def _reached(limit: Limit, tried: Tried, today: Tried, system: System) -> list[str]:
    reached = level(limit, tried)
    match limit.key:
        case "idle":
            return []
        case "below_clean_kpa":
            return [amount(-reached, "pressure", system)]
        case _:
            texts = number(reached, _quantity(limit), system), amount(limit.allowed(today), _quantity(limit), system)
            return [*([limit.stage] if limit.stage else []), " > ".join(texts)]


def _quantity(limit: Limit) -> Quantity:
    match limit.key:
        case "risk" | "off_line" | "idle":
            return "share"
        case (
            "over_limit_h" | "stopped_h" | "hardness_over_h" | "iron_over_h" | "manganese_over_h" | "oxidant_over_h"
        ):
            return "hours"
        case "hardness_leak_kg":
            return "mass"
        case "exposure":
            return "exposure"
        case "pressure_kpa" | "supply_kpa" | "rating_kpa" | "below_clean_kpa":
            return "pressure"
        case "waits" | "without":
            return "count"
        case "raw_min":
            return "minutes"
        case "unmet_m3":
            return "volume"
        case _:
            assert_never(limit.key)


def worse_words(setting: Tried, today: Tried, system: System) -> Sentence:
    """What gets worse against today, and by how much."""
    worse = worse_keys([setting], today, system)
    if not worse:
        known = [figure_name(key) for key in WORSE if setting.interval(key) is not None or key in ALWAYS_TOLD]
        return say("decision.no_worse", figures=items(known))
    return paragraph(*(_rises(key, today, setting, system) for key in worse))


def _rises(key: Worse, today: Tried, setting: Tried, system: System) -> Sentence:
    now, then = (amount(highest(each, key), QUANTITIES[key], system) for each in (today, setting))
    return say("decision.rises", figure=Kind(key), now=now, then=then)


def worse_keys(settings: Sequence[Tried], today: Tried, system: System) -> tuple[Worse, ...]:
    """The figures in which some setting is worse than today, as far as is shown."""
    found = list[Worse]()
    for key in WORSE:
        now, most = highest(today, key), max(highest(each, key) for each in settings)
        if most > now and number(most, QUANTITIES[key], system) != number(now, QUANTITIES[key], system):
            found.append(key)
    return tuple(found)


def highest(tried: Tried, key: str) -> float:
    """The mean of a figure, of a pressure the highest of all runs."""
    return float(tried.figures[key].max()) if key == "pressure_kpa" else tried.mean(key)


def what_if_words(case: Case, each: WhatIf) -> Label:
    """A device that fails or errs."""
    fault = each.fault
    if fault.kind == "stuck":
        return label("stuck", device=Kind(fault.device), longest=longest_words(case, each.tried))
    return label("what_if", kind=Kind(fault.kind), share=words.amount(localised(f"{100.0 * fault.share:.3g}"), "%"))


def longest_words(case: Case, tried: Tried) -> Items:
    """The longest runs of the stages, each once."""
    pairs = zip(with_usual_longest_runs(case).stages, tried.candidate.policy.triggers, strict=True)
    runs = (longest_run_of(stage, trigger) for stage, (_, trigger) in pairs)
    return items(list(dict.fromkeys(duration(each) for each in runs if each is not None)), "or")


def year_words(seasons: Seasons, year: Year, system: System) -> Items:
    """The settings of a year, each from its day; the one where they are all the same."""
    settings = [_main_words(seasons, each.policy.triggers, system) for each in year.settings]
    if len(set(settings)) == 1:
        return settings[0]
    dates = [seasons.begin + timedelta(days=start) for start in seasons.starts]
    parts = zip(dates, settings, strict=True)
    return Items(apart(f"{dated(date, 'day')}{colon()}{setting}" for date, setting in parts))


def _main_words(seasons: Seasons, triggers: Sequence[tuple[str, object]], system: System) -> Items:
    named = dict(triggers)
    values = [float(getattr(named[knob.stage], knob.part)) for knob in seasons.knobs]
    return setting_words(seasons.knobs, values, system)
