"""Settings, limits and amounts of a decision in words and display units."""

from collections.abc import Sequence
from datetime import timedelta

from sim.case.quantities import Quantity, System
from sim.case.records import Case
from sim.case.spelling import plain_duration
from sim.case.stage.longest_run import longest_run_of, with_usual_longest_runs
from sim.case.units import HOUR, MINUTE, PA_PER_KPA
from sim.review.bearable import Bound
from sim.study.decide.knobs import Knob
from sim.study.decide.limits import Limit, level
from sim.study.decide.payback import WhatIf
from sim.study.decide.seasons import Seasons, Year
from sim.study.decide.trials import Tried
from sim.study.many.intervals import Interval
from sim.study.settable import End
from sim.tell.comparison.doubt_words import BOUNDS
from sim.tell.comparison.leading import named
from sim.tell.comparison.many_rows import share
from sim.tell.kpis import KPIS, RISK, Kpi
from sim.tell.present import ABSENT, UNITS, written
from sim.tell.sentences import joined

FIGURES: dict[str, Kpi] = {
    "water": KPIS["drain_m3"], "cost": KPIS["cost"], "over_limit_h": KPIS["breach_h"], "risk": RISK,
    "breakthrough_risk": KPIS["breakthrough_risk"], "stopped_h": KPIS["downstream_stopped_h"],
    "pressure_kpa": KPIS["peak_dp_kpa"], "unmet_m3": KPIS["unmet_m3"], "washes": KPIS["washes"],
    "offline_h": KPIS["offline_h"],
}  # fmt: skip
"""The figures of a candidate as a comparison has them."""
QUANTITIES: dict[str, Quantity] = {key: kpi.quantity for key, kpi in FIGURES.items()} | {"worth": "money"}
HEADS = {key: named(kpi.key) for key, kpi in FIGURES.items() if kpi is not RISK} | {
    "risk": RISK.words.strip(), "worth": "worth of the device",
}  # fmt: skip

WORSE = {
    "pressure_kpa": "the highest pressure drop",
    "unmet_m3": "the demand not met in a year",
    "over_limit_h": "the time over the limit in a year",
    "breakthrough_risk": "the breakthrough risk",
}
"""What a cheaper setting may do that its cost does not show."""

MONTHS = ("January", "February", "March", "April", "May", "June", "July", "August", "September", "October",
          "November", "December")  # fmt: skip
PART_WORDS = {"every": "every", "volume": "volume", "reserve": "reserve", "above": "set point", "hold": "hold",
              "at": "at", "backwash": "backwash", "rinse": "rinse"}  # fmt: skip


def number(value: float | None, quantity: Quantity, system: System) -> str:
    """A number in its display unit, without the unit.

    >>> number(1234.5, "volume", "si"), number(None, "volume", "si")
    ('1,234', '-')
    """
    if value is None or value != value:
        return ABSENT
    return written([value * UNITS[system][quantity].per_result_unit])[0]


def amount(value: float | None, quantity: Quantity, system: System, currency: str = "") -> str:
    """A number with its unit, or with the currency."""
    symbol = currency if quantity == "money" else UNITS[system][quantity].symbol
    text = number(value, quantity, system)
    return text if text == ABSENT or not symbol else f"{text} {symbol}"


def unit_of(key: str, system: System, money: str) -> str:
    """The symbol of a figure's unit."""
    return money if QUANTITIES[key] == "money" else UNITS[system][QUANTITIES[key]].symbol


def volume_price(system: System) -> tuple[str, float]:
    """The volume that a price of water is told for, and how many m3 it has."""
    return ("m3", 1.0) if system == "si" else ("1000 gal", 1000.0 / UNITS["us"]["volume"].per_result_unit)


def spread(interval: Interval | None, quantity: Quantity, system: System) -> str:
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
    return texts[0] if "<" in half else f"{texts[0]} ±{half}"


def figure(tried: Tried, key: str, system: System) -> str:
    """A figure of a candidate with its interval."""
    found = tried.interval(key)
    if key == "pressure_kpa" and found is not None:
        return number(float(tried.figures[key].max()), "pressure", system)
    return spread(found, QUANTITIES[key], system)


def end_words(end: End | None) -> str:
    """What the high end of a range that was tried is."""
    match end:
        case None:
            return ""
        case "longest run" | "longest hold":
            return f"the {end}"
        case "let through":
            return "what the longest run lets through"
        case "largest days":
            return "two of the largest days"
        case "present":
            return "the present setting, since the water may be drunk"
        case _:
            return f"what {BOUNDS[end]}"


def value_words(knob: Knob, value: float, system: System) -> str:
    """The value of a knob in display units."""
    match knob.part:
        case "every" | "hold":
            return plain_duration(value)
        case "volume" | "reserve":
            return amount(value, "volume", system)
        case "above":
            return amount(value / PA_PER_KPA, "pressure", system)
        case "at":
            return f"{int(value // HOUR):02d}:{round(value % HOUR / MINUTE):02d}"
        case _:
            return f"{value / MINUTE:g} min"


def value_text(knob: Knob, value: float) -> str | float:
    """The value as a case file has it; a time of day as text."""
    match knob.part:
        case "every" | "hold":
            return plain_duration(value)
        case "volume" | "reserve":
            return f"{value:.10g} m3"
        case "above":
            return f"{value / PA_PER_KPA:.10g} kPa"
        case "at":
            return f"{value_words(knob, value, 'si')}:00"
        case _:
            return value / MINUTE


def setting_words(knobs: Sequence[Knob], values: Sequence[float], system: System) -> str:
    """All settings of a policy in a line, by stage where there are several."""
    stages: dict[str, list[str]] = {}
    for knob, value in zip(knobs, values, strict=True):
        stages.setdefault(knob.stage, []).append(f"{PART_WORDS[knob.part]} {value_words(knob, value, system)}")
    if not stages:
        return "as it is"
    lines = {stage: ", ".join(parts) for stage, parts in stages.items()}
    return "; ".join(lines.values() if len(lines) == 1 else (f"{stage}: {line}" for stage, line in lines.items()))


def _at_most(most: float, bound: Bound, system: System) -> str:
    return f"a pressure drop of at most {amount(most, 'pressure', system)}, what {BOUNDS[bound]}"


def limit_words(limit: Limit, allowed_h: float | None, system: System) -> str:
    """A limit as a person asks for it."""
    most = limit.most or 0.0
    match limit.key:
        case "over_limit_h":
            return (
                "no more hours over the limit than today"
                if limit.most is None
                else f"the limit of {most:g} h a year over the limit of solids"
            )
        case "risk":
            years = "" if allowed_h is None else f" with more than {allowed_h:g} avoidable hours over the limit"
            return f"at most {100.0 * most:g} % of the years{years}"
        case "pressure_kpa":
            return f"a pressure drop of at most {amount(most, 'pressure', system)}"
        case "stopped_h":
            return f"at most {most:g} h a year in which the unit is held"
        case "waits":
            return "no wash that has to wait for another"
        case "raw_min":
            return "no raw water past a filter"
        case "unmet_m3":
            return "no more demand unmet than today" if limit.most is None else (
                f"at most {amount(most, 'volume', system)} of demand unmet in a year"
            )
        case "supply_kpa":
            return _at_most(most, limit.bound, system)
        case "rating_kpa":
            return f"{limit.stage}: {_at_most(most, limit.bound, system)}"
        case "below_clean_kpa":
            return "no set point below the clean bed in the coldest water, at full flow"
        case "idle":
            return "a device that starts a wash at all, before the longest run does"
        case "off_line":
            return f"at most {100.0 * most:g} % of the time off line, no washing without end"


REACHED: dict[str, tuple[Quantity, str]] = {
    "risk": ("share", " of the years"), "pressure_kpa": ("pressure", ""), "supply_kpa": ("pressure", ""),
    "rating_kpa": ("pressure", ""), "below_clean_kpa": ("pressure", " below the clean bed"),
    "off_line": ("share", " of the time off line"), "unmet_m3": ("volume", " a year not delivered"),
    "waits": ("count", " a year"), "raw_min": ("minutes", " a year"), "over_limit_h": ("hours", " a year"),
    "stopped_h": ("hours", " a year"),
}  # fmt: skip
"""What a limit is of, and what stands behind a figure that breaks it."""


def broken_words(limit: Limit, tried: Tried, today: Tried, system: System) -> str:
    """Which limit a setting breaks, and by how much.

    Hours over the limit of solids of 28.2 where 20 are allowed read "28.2 h a year, 20 allowed".
    """
    if limit.key == "idle":
        return "no wash started by the device"
    quantity, behind = REACHED[limit.key]
    reached = f"{amount(level(limit, tried), quantity, system)}{behind}"
    if limit.key == "below_clean_kpa":
        return reached
    allowed = amount(limit.allowed(today), quantity, system)
    return f"{reached}, {allowed if quantity == 'share' else allowed.partition(' ')[0]} allowed"


def worse_words(settings: Sequence[Tried], today: Tried, system: System) -> str:
    """What gets worse against today; of a single setting by how much."""
    told = []
    for key, words in worse_keys(settings, today, system).items():
        now, then = (amount(_highest(each, key), QUANTITIES[key], system) for each in (today, settings[0]))
        told.append(f"{words} from {now} to {then}" if len(settings) == 1 else words)
    if not told:
        return f"None of these gets worse: {joined(list(WORSE.values()))}."
    return f"What gets worse: {'; '.join(told)}."


def worse_keys(settings: Sequence[Tried], today: Tried, system: System) -> dict[str, str]:
    """The figures in which some setting is worse than today, as far as is shown, and their words."""
    found = {}
    for key, words in WORSE.items():
        now, most = _highest(today, key), max(_highest(each, key) for each in settings)
        if most > now and number(most, QUANTITIES[key], system) != number(now, QUANTITIES[key], system):
            found[key] = words
    return found


def _highest(tried: Tried, key: str) -> float:
    """The mean of a figure, of a pressure the highest of all runs."""
    return float(tried.figures[key].max()) if key == "pressure_kpa" else tried.mean(key)


def what_if_words(case: Case, each: WhatIf) -> str:
    """A device that fails or errs, as it follows an "if"."""
    fault = each.fault
    match fault.kind:
        case "too much" | "too little":
            return f"the meter reads {100.0 * fault.share:g} % {fault.kind}"
        case "least flow":
            return f"below its least flow the meter stands still: it sees {100.0 * fault.share:.0f} % of the water"
        case "stuck":
            what = "the meter is stuck" if fault.device == "meter" else "the switch never closes"
            return f"{what}: only the longest run starts a wash, after {_longest(case, each.tried)}"


def _longest(case: Case, tried: Tried) -> str:
    """The longest runs of the stages, each once."""
    pairs = zip(with_usual_longest_runs(case).stages, tried.candidate.policy.triggers, strict=True)
    runs = (longest_run_of(stage, trigger) for stage, (_, trigger) in pairs)
    return " or ".join(dict.fromkeys(plain_duration(each) for each in runs if each is not None))


def refused_words(seasons: Seasons) -> str:
    """Why no settings by season were tried; empty where they were."""
    return f"a part of the year cannot be run by itself: {seasons.refused}" if seasons.refused else ""


def year_words(seasons: Seasons, year: Year | None, system: System) -> str:
    """The settings of a year, part by part; one line where they are all the same."""
    if year is None:
        return "none that keeps the limits"
    settings = [_main_words(seasons, each.policy.triggers, system) for each in year.settings]
    if len(set(settings)) == 1:
        return settings[0]
    dates = [seasons.begin + timedelta(days=start) for start in seasons.starts]
    pairs = zip(dates, settings, strict=True)
    return "; ".join(f"from {date.day} {MONTHS[date.month - 1]} {words}" for date, words in pairs)


def _main_words(seasons: Seasons, triggers: Sequence[tuple[str, object]], system: System) -> str:
    named = dict(triggers)
    values = [float(getattr(named[knob.stage], knob.part)) for knob in seasons.knobs]
    return setting_words(seasons.knobs, values, system)
