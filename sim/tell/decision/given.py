"""What a decision was given: prices, plant and water, in one table."""

import math
from collections.abc import Callable, Iterator

from plots.inputs import Column, TextTable
from sim.case.price.records import Device, Price, Prices
from sim.case.quantities import System
from sim.case.records import Case
from sim.case.series.records import (
    Changeable,
    Coagulant,
    Measured,
    Profile,
    Seasonal,
    Series,
    Steady,
    UnsettledSeason,
)
from sim.case.stage.records import Stage
from sim.case.units import MINUTE
from sim.study.decide.money import PRICED_KEYS
from sim.tell.decision.payback_words import PRICE_WORDS
from sim.tell.decision.told import volume_price
from sim.tell.present import degrees, measured, solids_unit
from sim.tell.sentences import clock, days_words

KWH = 3.6e6  # J
BLANK = "blank"
Row = tuple[str, str, str]


def given_table(case: Case, system: System) -> TextTable:
    """Prices, plant and water as the case has them; a typical value that stands in for one is called assumed."""
    rows = [*_prices(case, system), *_plant(case, system), *_water(case, system)]
    firsts = [place for place, row in enumerate(rows) if row[0] and place]
    return TextTable(
        caption="What was given",
        columns=(Column("of", "words"), Column("what", "words"), Column("given", "words")),
        rows=tuple(rows),
        starts=frozenset(firsts),
    )


def _group(name: str, pairs: Iterator[tuple[str, str]]) -> Iterator[Row]:
    """Rows of one group, its name beside the first."""
    for place, (what, given) in enumerate(pairs):
        yield name if place == 0 else "", what, given


def _prices(case: Case, system: System) -> Iterator[Row]:
    if case.prices is None:
        yield "prices", "all of them", BLANK
    else:
        yield from _group(f"prices, {case.prices.currency}", _priced(case, case.prices, system))


def _priced(case: Case, prices: Prices, system: System) -> Iterator[tuple[str, str]]:
    unit, volume = volume_price(system)
    units = dict.fromkeys(("water", "sewer", "pumping", "lost_production"), (f" a {unit}", volume))
    units |= {"energy": (" a kWh", KWH), "salt": (" a kg", 1.0), "labour": (" a wash", 1.0), "cartridge": ("", 1.0)}
    known = [key for key in PRICED_KEYS if getattr(prices, key) is not None]
    for key in known:
        symbol, factor = units[key]
        yield PRICE_WORDS[key], f"{_price_text(getattr(prices, key), factor)}{symbol}"
    if prices.energy is not None:
        yield "pump", _pump(case, prices, system)
    for name, device in (("meter", prices.meter.device), ("pressure switch", prices.switch)):
        yield name, _device(device)
    yield "interest", f"{100.0 * prices.discount_rate:g} % a year over {prices.years} years"
    yield "asked to pay within", f"{prices.payback_within:g} years"
    either = {"pumping": "energy", "energy": "pumping"}
    if blank := [PRICE_WORDS[key] for key in PRICED_KEYS if key not in known and either.get(key) not in known]:
        yield "blank, so not counted", ", ".join(blank)


def _pump(case: Case, prices: Prices, system: System) -> str:
    """What moves the wash water; an efficiency that nobody gave is assumed."""
    pressures = (prices.wash_pressure, prices.rinse_pressure)
    wash, rinse = (" ".join(measured(each, "pressure", system)) for each in pressures)
    assumed = next((each for each in case.assumptions if each.key == "prices.pump_efficiency"), None)
    usual = "" if assumed is None else f", assumed; usual {100.0 * assumed.low:g} to {100.0 * assumed.high:g} %"
    return f"backwash at {wash}, rinse at {rinse}; efficiency {100.0 * prices.pump_efficiency:g} %{usual}"


def _price_text(price: Price, factor: float = 1.0) -> str:
    value, low, high = (f"{each * factor:,.4g}" for each in (price.value, price.low, price.high))
    return f"{value} ({low} to {high})" if price.is_range else value


def _device(device: Device) -> str:
    if device.price is None and device.upkeep is None and device.life is None:
        return BLANK
    price = BLANK if device.price is None else _price_text(device.price)
    upkeep = "" if device.upkeep is None else f", upkeep {_price_text(device.upkeep)} a year"
    return f"{price}{upkeep}{'' if device.life is None else f', lasts {device.life:g} years'}"


def _plant(case: Case, system: System) -> Iterator[Row]:
    def told() -> Iterator[tuple[str, str]]:
        for stage in case.stages:
            yield stage.name, _bed(stage, case, system)
            yield f"its wash{'' if len(case.stages) == 1 else f' ({stage.name})'}", _wash(stage, system)

    yield from _group("plant", told())


def _bed(stage: Stage, case: Case, system: System) -> str:
    count = f"{stage.vessels.count} vessels" if stage.vessels.count > 1 else "a vessel"
    layers = ", ".join(f"{each.medium} {' '.join(measured(each.depth, 'length', system))}" for each in stage.layers)
    limit = "" if stage.limit is None else f"; limit {_solids(stage.limit, case, system)}"
    return f"{count} of {' '.join(measured(stage.vessel.diameter, 'length', system))} across: {layers}{limit}"


def _wash(stage: Stage, system: System) -> str:
    return ", ".join(
        f"{step.do} {step.seconds / MINUTE:g} min"
        + (f" at {' '.join(measured(step.flow, 'flow', system))}" if step.flow else "")
        for step in stage.steps
    )


def _water(case: Case, system: System) -> Iterator[Row]:
    def told() -> Iterator[tuple[str, str]]:
        yield "time", f"{days_words(case.run.length / 86_400.0)} from {clock(case.run.start)}"
        yield "feed", series_words(case.feed.solids, lambda value: _solids(value, case, system))
        if case.feed.coagulant is not None:
            yield "coagulant", _coagulant(case.feed.coagulant)
        yield "temperature", series_words(case.feed.temperature, lambda value: degrees(value, system))
        yield "demand", _demand(case, system)

    yield from _group("water", told())


def _coagulant(dosed: Coagulant) -> str:
    """A coagulant by the solids that it adds.

    >>> _coagulant(Coagulant(product="alum", adds=0.0, adds_per_solids=0.25))
    'alum, whose floc adds 0.25 g for each gram of the solids in the feed'
    """
    follows = f"{dosed.adds_per_solids:.2g} g for each gram of the solids in the feed"
    return f"{dosed.product}, whose floc adds {follows if dosed.adds_per_solids > 0.0 else f'{dosed.adds:.2g} mg/L'}"


def _demand(case: Case, system: System) -> str:
    demand = case.demand
    told = [series_words(demand.flow, lambda value: " ".join(measured(value, "flow", system)))]
    if demand.season is not None:
        told.append(f"over the year {100.0 * demand.season.swing:g} % up and down")
    if demand.wander is not None:
        told.append(f"two days in three within a factor of {math.exp(demand.wander.spread):.3g} at random")
    if demand.closed:
        told.append(f"{len(demand.closed)} days closed")
    return "; ".join(told)


def _solids(value: float, case: Case, system: System) -> str:
    unit = solids_unit(case.feed.turbidity_ratio, system)
    return f"{value * unit.per_result_unit:.3g} {unit.symbol}"


def series_words(series: Series | UnsettledSeason, text: Callable[[float], str]) -> str:
    """A series in words; `text` writes one of its values.

    >>> series_words(Steady(value=6.0), "{:g} mg/L".format)
    '6 mg/L'
    >>> series_words(Profile(hourly=(0.0, 4.0), weekday=(1.0, 0.5)), "{:g} m3/h".format)
    'by hour and weekday, 0 m3/h to 4 m3/h'
    """
    match series:
        case Steady():
            return text(series.value)
        case Profile():
            values = [hour * day for hour in series.hourly for day in series.weekday]
            return f"by hour and weekday, {text(min(values))} to {text(max(values))}"
        case Seasonal():
            ends = (series.mean - series.swing, series.mean + series.swing)
            return f"over the year {text(ends[0])} to {text(ends[1])}"
        case Measured():
            return f"from a file, {text(min(series.value))} to {text(max(series.value))}"
        case UnsettledSeason():
            return f"{series_words(series.usual, text)}, at random about that from day to day"
        case Changeable():
            storms = "" if series.storms is None else f", {series.storms.per_year:g} storms a year"
            return f"at random, median {text(series.median)}{storms}"
