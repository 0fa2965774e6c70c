"""All files of a decision that people look at: figures, report and workbook."""

from typing import Literal, get_args

import pandas as pd

from plots.decision import decision_files
from plots.decision_inputs import Decision, StackedBars, Tornado, Tradeoff, TradeoffLine
from plots.inputs import Head, Measure, Sheet
from plots.words import Amount, Kind, Label, in_years, label, localised, term
from sim.case.quantities import System
from sim.study.costs import PRICE_OF
from sim.study.decide.advice import Advice, Advised
from sim.study.decide.ends import Ends
from sim.study.decide.limits import Bound, Limit, level
from sim.study.decide.money import range_of_year
from sim.study.decide.payback import Decided, Payback, amounts_of, device_shares
from sim.study.decide.seasons import Seasons
from sim.study.decide.trials import Tried
from sim.tell.decision.decision_report import advice_report, facts, payback_report
from sim.tell.decision.decision_tables import (
    advice_sheets,
    payback_sheets,
)
from sim.tell.decision.given import price_unit
from sim.tell.decision.payback_words import Sign
from sim.tell.decision.told import QUANTITIES, amount, bar_name, figure_name, number
from sim.tell.present import UNITS
from sim.tell.sentences import caution
from sim.tell.workbook import assumed_rows

Risk = Literal["risk", "over_limit_h"]
RISKS: tuple[Bound, ...] = get_args(Risk)


def advice_files(
    advice: Advice, seasons: Seasons | None, system: System, head: Head, ends: Ends | None = None, *,
    png: bool = False,
) -> dict[str, str | bytes]:
    """The files of a study of settings."""
    sheets = (*advice_sheets(advice, system), *_last_sheets(advice, system))
    report = advice_report(advice, seasons, system, ends)
    return decision_files(Decision(tradeoff=tradeoff(advice, system)), report, sheets, head, png=png)


def payback_files(
    found: Payback, system: System, head: Head, ends: Ends | None = None, *, png: bool = False
) -> dict[str, str | bytes]:
    """The files of a study of worth."""
    advice = found.advice
    sheets = (*payback_sheets(found, system), *advice_sheets(advice, system), *_last_sheets(advice, system))
    drawn = Decision(
        tradeoff=tradeoff(advice, system),
        bars=stacked_bars(found, system),
        tornados=tuple(
            tornado(found, each, system) for each in found.decided if each.swings and each.value is not None
        ),
    )
    return decision_files(drawn, payback_report(found, system, ends), sheets, head, png=png)


def _last_sheets(advice: Advice, system: System) -> tuple[Sheet, ...]:
    about = [[label("decision_report.caution"), caution()], *([name, value] for name, value in facts(advice))]
    heads = [label("decision_report.what"), label("decision_report.is")]
    return (
        Sheet(name=label("decision_report.assumed_sheet"), table=assumed_rows(advice.case, system)),
        Sheet(name=label("decision_report.about_sheet"), table=pd.DataFrame(about, columns=heads, dtype=object)),
    )


def risk_limit(advice: Advice) -> Limit:
    """The limit that the trade-off is drawn against."""
    known = [each for each in advice.limits if each.key in RISKS and not each.stage]
    return known[0] if known else Limit("over_limit_h", None)


def tradeoff(advice: Advice, system: System) -> Tradeoff:
    """Water to drain against what goes over the limit, every setting that was tried."""
    limit = risk_limit(advice)
    quantity = QUANTITIES[limit.key]
    y_factor, x_factor = UNITS[system][quantity].per_result_unit, UNITS[system]["volume"].per_result_unit

    def point(tried: Tried) -> tuple[float, float]:
        return tried.mean("water") * x_factor, level(limit, tried) * y_factor

    def line(each: Advised) -> TradeoffLine:
        points = tuple(sorted(point(one) for one in each.tried))
        return TradeoffLine(
            policy=each.policy, points=points, present=point(each.present),
            best=None if each.best is None else point(each.best),
            steps=bool(each.knobs) and all(knob.part in ("every", "at") for knob in each.knobs),
        )  # fmt: skip

    return Tradeoff(
        x=Measure(label("chart.water"), UNITS[system]["volume"].symbol),
        y=Measure(label("chart.risk", limit=Kind(limit.key)), UNITS[system][quantity].symbol),
        lines=tuple(line(each) for each in advice.policies),
        limit=limit.allowed(advice.today) * y_factor,
    )


def stacked_bars(found: Payback, system: System) -> StackedBars:
    """The cost of a year by its parts, a device's share among them, or water to drain where no price is given."""
    bars = tuple(bar_name(each) for each in found.bars)
    parts = [part for part in PRICE_OF if any(each.tried.mean(f"part {part}") > 0.0 for each in found.bars)]
    if not parts:
        factor = UNITS[system]["volume"].per_result_unit
        return StackedBars(
            measure=Measure(label("chart.water"), UNITS[system]["volume"].symbol), bars=bars,
            parts=(figure_name("water"),), values=tuple((each.tried.mean("water") * factor,) for each in found.bars),
            texts=tuple(amount(each.tried.mean("water"), "volume", system) for each in found.bars),
            ends=tuple(_around(each.tried, "water", factor) for each in found.bars),
        )  # fmt: skip
    shares = {each.bar.name: device_shares(found.prices, each.device) for each in found.decided}
    all_shares = [shares.get(each.name, (0.0, 0.0, 0.0)) for each in found.bars]
    device = [label("chart.device_share")] if any(any(each) for each in all_shares) else []
    pairs = list(zip(found.bars, all_shares, strict=True))
    return StackedBars(
        measure=Measure(figure_name("cost"), found.prices.currency),
        bars=bars,
        parts=(*(term("cost_part", part) for part in parts), *device),
        values=tuple(
            (*(each.tried.mean(f"part {part}") for part in parts), *(share[1] for _ in device))
            for each, share in pairs
        ),
        texts=tuple(
            label(
                "chart.cost_and_water", water=amount(each.tried.mean("water"), "volume", system),
                cost=amount(each.tried.mean("cost") + share[1], "money", "si", found.prices.currency),
            )
            for each, share in pairs
        ),
        ends=tuple(_with_share(cost_range(found, each.tried), each.tried, share) for each, share in pairs),
    )


def _with_share(
    ends: tuple[float, float] | None, tried: Tried, share: tuple[float, float, float]
) -> tuple[float, float] | None:
    """Where the cost of a year may lie with the share of a device."""
    low, high = ends or (tried.mean("cost"), tried.mean("cost"))
    whole = low + share[0], high + share[2]
    return None if whole[0] == whole[1] else whole


def _around(tried: Tried, key: str, factor: float) -> tuple[float, float] | None:
    """The interval of a mean where there is one."""
    found = tried.interval(key)
    if found is None or found.low is None or found.high is None or found.low == found.high:
        return None
    return found.low * factor, found.high * factor


def cost_range(found: Payback, tried: Tried) -> tuple[float, float] | None:
    """Where the cost of a year may lie, by the ranges of all prices and by the interval of its mean."""
    low, high = range_of_year(found.prices, amounts_of(tried))
    interval = tried.interval("cost")
    half = 0.0 if interval is None or interval.half is None else interval.half
    return None if low == high and not half else (max(low - half, 0.0), high + half)


def tornado(found: Payback, each: Decided, system: System) -> Tornado:
    """The worth of a device with each price at the ends of its range."""
    return Tornado(
        device=term("device", each.device),
        measure=Measure(
            label("chart.worth", device=Kind(each.device), years=in_years(found.prices.years)), found.prices.currency
        ),
        base=each.value or 0.0,
        rows=tuple(
            (
                term("price", one.price), one.at_low, one.at_high,
                _end(one.price, one.low, one.at_low, system), _end(one.price, one.high, one.at_high, system),
            )
            for one in each.swings
        ),
    )  # fmt: skip


def _end(price: str, value: float, worth: float, system: System) -> Label:
    """The price at an end of its range and what the device is then worth."""
    sign: Sign = "loss" if worth < 0.0 else "gain"
    unit, factor = price_unit(price, system)
    at = localised(f"{float(f'{value * factor:.3g}'):.10g}")
    return label(
        "chart.price_at_end", sign=Kind(sign), price=Amount(f"{at}/{unit}") if unit else Amount(at),
        worth=number(abs(worth), "money", "si"),
    )  # fmt: skip
