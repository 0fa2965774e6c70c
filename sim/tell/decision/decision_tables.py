"""The tables of a decision: text for screen and report, numbers for the workbook."""

from collections.abc import Sequence

import pandas as pd

from plots.inputs import Column, Sheet, TextTable
from sim.case.quantities import System
from sim.study.costs import PRICE_OF
from sim.study.decide.advice import Advice
from sim.study.decide.limits import broken_when_dead
from sim.study.decide.payback import Decided, Payback
from sim.study.decide.trials import Tried
from sim.tell.decision.advice_words import best_words, currency, present_words
from sim.tell.decision.decision_json import NAMES, tried_json
from sim.tell.decision.payback_words import PRICE_WORDS, again_words, paid_words
from sim.tell.decision.told import (
    HEADS,
    QUANTITIES,
    broken_words,
    figure,
    number,
    setting_words,
    spread,
    unit_of,
    what_if_words,
)
from sim.tell.present import ABSENT, UNITS
from sim.tell.workbook import head

SHOWN = ("water", "cost", "over_limit_h", "breakthrough_risk", "risk", "stopped_h", "pressure_kpa", "unmet_m3",
         "washes")  # fmt: skip


def a_year(advice: Advice) -> str:
    """What the figures of the tables are; a single run has no interval."""
    if advice.replicates == 1:
        return "Figures are of a year; a pressure drop is the highest of it."
    mean = "in the mean of the runs, ± half of the 95 % interval"
    return f"Figures are of a year, {mean}; a pressure drop is the highest of all."


Line = tuple[tuple[str, ...], Tried | None]
"""A row of a table: its words, and the candidate whose figures follow."""


def heads(keys: Sequence[str], system: System, money: str) -> list[str]:
    """The heads of figures with their units."""
    units = [unit_of(key, system, money) for key in keys]
    return [f"{HEADS[key]}, {unit}" if unit else HEADS[key] for key, unit in zip(keys, units, strict=True)]


def _figures(caption: str, first: Sequence[str], lines: Sequence[Line], system: System, money: str) -> TextTable:
    keys = [key for key in SHOWN if any(tried and tried.interval(key) is not None for _, tried in lines)]
    columns = [Column(each, "words") for each in first]
    columns += [Column(each, "numbers") for each in heads(keys, system, money)]
    rows = [
        (*words, *(ABSENT if tried is None else figure(tried, key, system) for key in keys)) for words, tried in lines
    ]
    return TextTable(caption=caption, columns=tuple(columns), rows=tuple(rows))


def advice_tables(advice: Advice, system: System) -> tuple[TextTable, TextTable]:
    """Every policy at present and at its best: the settings, and what they take."""
    settings = [(each.policy, present_words(each, system), best_words(each, system)) for each in advice.policies]
    lines: list[Line] = []
    for each in advice.policies:
        lines.append(((f"{each.policy}, at present",), each.present))
        lines.append(((f"{each.policy}, at its best",), each.best))
    heads = ("what starts a wash", "at present", "at its best: the least that keeps the limits")
    first = _words("Settings", heads, settings)
    return first, _figures("What a year takes", ("setting",), lines, system, currency(advice))


def bars_tables(found: Payback, system: System) -> tuple[TextTable, TextTable]:
    """The bars that are compared: what they are, and what they take."""
    settings = []
    for each in found.bars:
        knobs = next(one.knobs for one in found.advice.policies if one.policy == each.policy)
        values = each.tried.candidate.values or tuple(knob.present for knob in knobs)
        settings.append((each.name, each.policy, setting_words(knobs, values, system)))
    first = _words("Settings", ("compared", "what starts a wash", "setting"), settings)
    lines: list[Line] = [((each.name,), each.tried) for each in found.bars]
    return first, _figures("What a year takes", ("compared",), lines, system, found.prices.currency)


def _words(caption: str, heads: Sequence[str], rows: Sequence[tuple[str, ...]]) -> TextTable:
    return TextTable(caption=caption, columns=tuple(Column(each, "words") for each in heads), rows=tuple(rows))


def worth_table(found: Payback, system: System) -> TextTable:
    """What each device is worth against the best calendar."""
    rows = []
    for name, of in (
        ("price", lambda each: _money(each.worth.price)),
        ("saved a year", lambda each: spread(each.saving, "money", system)),
        ("upkeep a year, to be taken off that", lambda each: _money(each.worth.upkeep)),
        (head("water to drain saved a year", "volume", system), lambda each: spread(each.water, "volume", system)),
        ("washes saved a year", lambda each: spread(each.washes, "count", system)),
        ("hours over the limit a year", lambda each: _hours(found, each, system)),
        ("paid for itself", lambda each: paid_words(each, found.prices)),
        ("bought again in year", lambda each: again_words(each) or ABSENT),
        (f"worth over {found.prices.years} years, at {100.0 * found.prices.discount_rate:g} % a year", _worth),
    ):
        rows.append((name, *(of(each) for each in found.decided)))
    columns = (Column("figure", "words"), *(Column(each.device, "numbers") for each in found.decided))
    calendar = "the best calendar" if found.has_calendar else "today's calendar"
    caption = f"A device against {calendar}; money in {found.prices.currency}"
    return TextTable(caption=caption, columns=columns, rows=tuple(rows))


def _money(value: float | None) -> str:
    return number(value, "money", "si")


def _hours(found: Payback, each: Decided, system: System) -> str:
    """The hours over the limit with a device, and with the calendar it stands against."""
    if each.bar.tried.interval("over_limit_h") is None:
        return ABSENT
    new, old = (figure(tried, "over_limit_h", system) for tried in (each.bar.tried, found.calendar.tried))
    return f"{new} instead of {old}"


def _worth(each: Decided) -> str:
    if each.value_low is None or each.value_high is None or each.value_low == each.value_high:
        return _money(each.value)
    return f"{_money(each.value)} ({_money(each.value_low)} to {_money(each.value_high)})"


def what_if_table(found: Payback, each: Decided, system: System) -> TextTable:
    """A device that errs or fails, beside the same one in order, and which limits it then breaks."""
    rows = [(f"the {each.device} in order", each.bar.tried)]
    rows += [(what_if_words(found.case, one), one.tried) for one in each.what_ifs]
    lines: list[Line] = [((words, limits_words(found.advice, tried, system)), tried) for words, tried in rows]
    heads = ("what if", "limits")
    return _figures(f"If the {each.device} errs or fails", heads, lines, system, found.prices.currency)


def limits_words(advice: Advice, tried: Tried, system: System) -> str:
    """Whether a setting keeps the limits in the mean of its runs, or which ones it breaks."""
    broken = broken_when_dead(advice.limits, tried, advice.today)
    if not broken:
        return "kept"
    return f"NOT KEPT: {'; '.join(broken_words(each, tried, advice.today, system) for each in broken)}"


def advice_sheets(advice: Advice, system: System) -> tuple[Sheet, ...]:
    """Settings with their figures, and everything that was tried."""
    rows, tried = [], []
    for each in advice.policies:
        rows.append([each.policy, "at present", present_words(each, system), *_numbers(each.present, system)])
        if each.best is not None:
            rows.append([each.policy, "advised", best_words(each, system), *_numbers(each.best, system)])
        for one in each.tried:
            words = setting_words(each.knobs, one.candidate.values, system)
            tried.append([each.policy, words, *_numbers(one, system)])
    columns = heads(SHOWN, system, currency(advice))
    return (
        Sheet(name="Settings", table=_frame(rows, ["what starts a wash", "which", "setting", *columns])),
        Sheet(name="Tried", table=_frame(tried, ["what starts a wash", "setting", *columns])),
    )


def payback_sheets(found: Payback, system: System) -> tuple[Sheet, ...]:
    """The bars with the parts of their costs, what devices are worth, prices at their ends, devices that err."""
    columns = heads(SHOWN, system, found.prices.currency)
    bars = [
        [
            each.name,
            each.policy,
            *_numbers(each.tried, system),
            *(_or_none(each.tried.mean(f"part {part}")) for part in PRICE_OF),
        ]
        for each in found.bars
    ]
    swings = [
        [each.device, PRICE_WORDS[one.price], one.low, one.high, one.at_low, one.at_high]
        for each in found.decided
        for one in each.swings
    ]
    ifs = [
        [each.device, what_if_words(found.case, one), *_numbers(one.tried, system)]
        for each in found.decided
        for one in each.what_ifs
    ]
    worth = worth_table(found, system)
    money = found.prices.currency
    ends = [f"price at the {end} end, {money} per SI unit" for end in ("low", "high")]
    ends += [f"worth at the {end} end, {money}" for end in ("low", "high")]
    return (
        Sheet(
            name="Bars",
            table=_frame(bars, ["bar", "what starts a wash", *columns, *(f"{p}, {money}" for p in PRICE_OF)]),
        ),
        Sheet(name="Worth", table=_frame([list(row) for row in worth.rows], [each.head for each in worth.columns])),
        Sheet(name="Prices", table=_frame(swings, ["device", "price", *ends])),
        Sheet(name="What if", table=_frame(ifs, ["device", "what if", *columns])),
    )


def _numbers(tried: Tried, system: System) -> list[float | None]:
    """The figures as numbers in display units."""
    means = tried_json(tried)["figures"]
    found: list[float | None] = []
    for key in SHOWN:
        value = means[NAMES.get(key, key)]
        found.append(None if value is None else value * UNITS[system][QUANTITIES[key]].per_result_unit)
    return found


def _or_none(value: float) -> float | None:
    return value if value == value else None


def _frame(rows: Sequence[Sequence[object]], columns: Sequence[str]) -> pd.DataFrame:
    return pd.DataFrame(list(rows), columns=list(columns), dtype=object)
