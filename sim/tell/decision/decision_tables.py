"""The tables of a decision: text for screen and report, numbers for the workbook."""

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

from plots.inputs import Column, Sheet, TextTable
from plots.words import Kind, Label, Name, Number, Sentence, amount, label, localised, say, span, term
from sim.case.quantities import System
from sim.study.costs import PRICE_OF
from sim.study.decide.advice import Advice
from sim.study.decide.limits import OVER_DISSOLVED, broken_when_dead
from sim.study.decide.payback import Decided, Payback
from sim.study.decide.trials import Tried
from sim.tell.decision.advice_words import best_words, currency, present_words
from sim.tell.decision.decision_json import NAMES, tried_json
from sim.tell.decision.payback_words import again_words, paid_words
from sim.tell.decision.told import (
    QUANTITIES,
    bar_name,
    broken_words,
    figure,
    figure_name,
    number,
    setting_words,
    spread,
    unit_of,
    what_if_words,
)
from sim.tell.present import ABSENT, UNITS

if TYPE_CHECKING:  # loaded where a table for a file is made
    import pandas as pd

SHOWN = ("water", "cost", "over_limit_h", "breakthrough_risk", "risk", "stopped_h", "pressure_kpa", "unmet_m3",
         "washes")  # fmt: skip
OF_THE_DISSOLVED = ("regenerations", "without", "salt_kg", *OVER_DISSOLVED, "exposure")
"""What is shown too where a case has it."""


def a_year(advice: Advice) -> Sentence:
    """What the figures of the tables are; a single run has no interval."""
    return say("decision.a_year") if advice.replicates == 1 else say("decision.a_year_of_runs")


Line = tuple[tuple[str, ...], Tried]
"""A row of a table: its words, and the candidate whose figures follow."""


def heads(keys: Sequence[str], system: System, money: str) -> list[str]:
    """The heads of figures with their units."""
    units = [unit_of(key, system, money) for key in keys]
    names = [figure_name(key) for key in keys]
    return [f"{name}, {unit}" if unit else name for name, unit in zip(names, units, strict=True)]


def _figures(caption: str, first: Sequence[str], lines: Sequence[Line], system: System, money: str) -> TextTable:
    keys = _known((*SHOWN, *OF_THE_DISSOLVED), [tried for _, tried in lines])
    columns = [Column(each, "words") for each in first]
    columns += [Column(each, "numbers") for each in heads(keys, system, money)]
    rows = [(*words, *(figure(tried, key, system) for key in keys)) for words, tried in lines]
    return TextTable(caption=caption, columns=tuple(columns), rows=tuple(rows))


def _known(keys: Sequence[str], settings: Sequence[Tried]) -> list[str]:
    """The figures that some setting has."""
    return [key for key in keys if any(tried.interval(key) is not None for tried in settings)]


def advice_tables(advice: Advice, system: System) -> tuple[TextTable, TextTable]:
    """Every policy at present and at its best: the settings, and what they take."""
    settings = [(each.policy, present_words(each, system), best_words(each, system)) for each in advice.policies]
    lines: list[Line] = []
    for each in advice.policies:
        lines.append(((label("decision_tables.way_at_present", way=Name(each.policy)),), each.present))
        if each.best is not None:
            lines.append(((label("decision_tables.way_at_best", way=Name(each.policy)),), each.best))
    heads = [label("decision_tables.way"), label("decision_tables.at_present"), label("decision_tables.at_best")]
    first = _words(label("decision_tables.settings"), heads, settings)
    year = label("decision_tables.year")
    return first, _figures(year, [label("decision_tables.setting")], lines, system, currency(advice))


def bars_tables(found: Payback, system: System) -> tuple[TextTable, TextTable]:
    """The bars that are compared: what they are, and what they take."""
    settings = []
    for each in found.bars:
        knobs = next(one.knobs for one in found.advice.policies if one.policy == each.policy)
        values = each.tried.candidate.values or tuple(knob.present for knob in knobs)
        settings.append((bar_name(each), each.policy, setting_words(knobs, values, system)))
    heads = [label("decision_tables.compared"), label("decision_tables.way"), label("decision_tables.setting")]
    first = _words(label("decision_tables.settings"), heads, settings)
    lines: list[Line] = [((bar_name(each),), each.tried) for each in found.bars]
    return first, _figures(label("decision_tables.year"), heads[:1], lines, system, found.prices.currency)


def _words(caption: str, heads: Sequence[str], rows: Sequence[tuple[str, ...]]) -> TextTable:
    return TextTable(caption=caption, columns=tuple(Column(each, "words") for each in heads), rows=tuple(rows))


def worth_table(found: Payback, system: System) -> TextTable:
    """What each device is worth against the best calendar."""
    prices, volume = found.prices, UNITS[system]["volume"].symbol
    interest = amount(localised(f"{100.0 * prices.discount_rate:g}"), "%")
    rows: tuple[tuple[Label, Callable[[Decided], str]], ...] = (
        (label("worth.price"), lambda each: _money(each.worth.price)),
        (label("worth.saved"), lambda each: spread(each.saving, "money", system)),
        (label("worth.upkeep"), lambda each: _money(each.worth.upkeep)),
        (label("worth.water", unit=volume), lambda each: spread(each.water, "volume", system)),
        (label("worth.washes"), lambda each: spread(each.washes, "count", system)),
        *([(label("worth.salt", unit=UNITS[system]["mass"].symbol), lambda each: spread(each.salt, "mass", system))]
          if any(each.salt is not None for each in found.decided) else []),
        (label("worth.over_limit"), lambda each: _hours(found, each, system)),
        (label("worth.paid"), lambda each: paid_words(each, prices)),
        (label("worth.again"), lambda each: again_words(each) or ABSENT),
        (label("worth.worth", years=prices.years, interest=interest), _worth),
    )
    columns = [Column(label("worth.figure"), "words")]
    columns += [Column(term("device", each.device), "numbers") for each in found.decided]
    money = Name(prices.currency)
    of_best, of_today = label("worth.caption", currency=money), label("worth.caption_today", currency=money)
    return TextTable(
        caption=of_best if found.has_calendar else of_today,
        columns=tuple(columns), rows=tuple((name, *(of(each) for each in found.decided)) for name, of in rows),
    )  # fmt: skip


def _money(value: float | None) -> Number:
    return number(value, "money", "si")


def _hours(found: Payback, each: Decided, system: System) -> str:
    """The hours over the limit with a device, and with the calendar that it is compared with."""
    if each.bar.tried.interval("over_limit_h") is None:
        return ABSENT
    new, old = (figure(tried, "over_limit_h", system) for tried in (each.bar.tried, found.calendar.tried))
    return label("worth.instead", new=new, old=old)


def _worth(each: Decided) -> str:
    if each.value_low is None or each.value_high is None or each.value_low == each.value_high:
        return _money(each.value)
    return f"{_money(each.value)} ({span(_money(each.value_low), _money(each.value_high))})"


def what_if_table(found: Payback, each: Decided, system: System) -> TextTable:
    """A device that errs or fails, beside the same one in order, and which limits it then breaks."""
    rows = [(label("decision_tables.in_order", device=Kind(each.device)), each.bar.tried)]
    rows += [(what_if_words(found.case, one), one.tried) for one in each.what_ifs]
    lines: list[Line] = [((words, whether_kept(found.advice, tried, system)), tried) for words, tried in rows]
    heads = [label("decision_tables.what_if"), label("decision_tables.limits")]
    caption = label("decision_tables.fails", device=Kind(each.device))
    return _figures(caption, heads, lines, system, found.prices.currency)


def whether_kept(advice: Advice, tried: Tried, system: System) -> Label:
    """Whether a setting keeps the limits in the mean of its runs, or which ones it breaks."""
    broken = broken_when_dead(advice.limits, tried, advice.today)
    if not broken:
        return label("decision_tables.kept")
    return label("decision_tables.not_kept", limits=broken_words(broken, tried, advice.today, system))


def advice_sheets(advice: Advice, system: System) -> tuple[Sheet, ...]:
    """Settings with their figures, and everything that was tried."""
    rows, tried, keys = [], [], _in_sheets([each.present for each in advice.policies])
    for each in advice.policies:
        now, advised = label("decision_tables.at_present"), label("decision_tables.advised")
        rows.append([each.policy, now, present_words(each, system), *_numbers(each.present, keys, system)])
        if each.best is not None:
            rows.append([each.policy, advised, best_words(each, system), *_numbers(each.best, keys, system)])
        for one in each.tried:
            words = setting_words(each.knobs, one.candidate.values, system)
            tried.append([each.policy, words, *_numbers(one, keys, system)])
    columns = heads(keys, system, currency(advice))
    way, setting = label("decision_tables.way"), label("decision_tables.setting")
    settings = _frame(rows, [way, label("decision_tables.which"), setting, *columns])
    return (
        Sheet(name=label("decision_tables.settings"), table=settings),
        Sheet(name=label("decision_tables.tried"), table=_frame(tried, [way, setting, *columns])),
    )


def payback_sheets(found: Payback, system: System) -> tuple[Sheet, ...]:
    """The bars with the parts of their costs, what devices are worth, prices at their ends, devices that err."""
    keys = _in_sheets([each.tried for each in found.bars])
    columns = heads(keys, system, found.prices.currency)
    bars = [
        [
            bar_name(each),
            each.policy,
            *_numbers(each.tried, keys, system),
            *(_or_none(each.tried.mean(f"part {part}")) for part in PRICE_OF),
        ]
        for each in found.bars
    ]
    swings = [
        [term("device", each.device), term("price", one.price), one.low, one.high, one.at_low, one.at_high]
        for each in found.decided
        for one in each.swings
    ]
    ifs = [
        [term("device", each.device), what_if_words(found.case, one), *_numbers(one.tried, keys, system)]
        for each in found.decided
        for one in each.what_ifs
    ]
    worth = worth_table(found, system)
    money, device = Name(found.prices.currency), label("decision_tables.device")
    ends = [
        label("decision_tables.low_price", currency=money), label("decision_tables.high_price", currency=money),
        label("decision_tables.worth_low", currency=money), label("decision_tables.worth_high", currency=money),
    ]
    bar_heads = [label("decision_tables.compared"), label("decision_tables.way"), *columns]
    bar_heads += [f"{term('cost_part', part)}, {money}" for part in PRICE_OF]
    what_if = label("decision_tables.what_if")
    return (
        Sheet(name=label("decision_tables.bars"), table=_frame(bars, bar_heads)),
        Sheet(
            name=label("decision_tables.worth"),
            table=_frame([list(row) for row in worth.rows], [each.head for each in worth.columns]),
        ),
        Sheet(
            name=label("decision_tables.prices"),
            table=_frame(swings, [device, label("decision_tables.price"), *ends]),
        ),
        Sheet(name=label("decision_tables.what_if_sheet"), table=_frame(ifs, [device, what_if, *columns])),
    )


def _in_sheets(settings: Sequence[Tried]) -> list[str]:
    """The figures of a workbook."""
    return [*SHOWN, *_known(OF_THE_DISSOLVED, settings)]


def _numbers(tried: Tried, keys: Sequence[str], system: System) -> list[float | None]:
    """The figures as numbers in display units."""
    means = tried_json(tried)["figures"]
    found: list[float | None] = []
    for key in keys:
        value = means[NAMES.get(key, key)]
        found.append(None if value is None else value * UNITS[system][QUANTITIES[key]].per_result_unit)
    return found


def _or_none(value: float) -> float | None:
    return value if value == value else None


def _frame(rows: Sequence[Sequence[object]], columns: Sequence[str]) -> "pd.DataFrame":
    import pandas as pd

    return pd.DataFrame(list(rows), columns=list(columns), dtype=object)
