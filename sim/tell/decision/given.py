"""What a decision was given, in one table: the plant, its water, the prices."""

from collections.abc import Iterator
from typing import Literal

from plots.inputs import Column, TextTable
from plots.words import (
    Amount,
    Code,
    Kind,
    Name,
    amount,
    count,
    dated,
    in_days,
    in_years,
    items,
    label,
    localised,
    span,
    term,
)
from sim.case.price.records import Device, Price, Prices
from sim.case.quantities import Quantity, System
from sim.case.records import Case
from sim.case.series.records import (
    Changeable,
    Demand,
    Measured,
    Profile,
    Seasonal,
    Series,
    Steady,
    UnsettledSeason,
)
from sim.case.stage.records import Stage
from sim.case.units import DAY
from sim.study.decide.money import PRICED_KEYS
from sim.tell.decision.told import volume_price
from sim.tell.present import amount_of, duration, measured

KWH = 3.6e6  # J
Row = tuple[str, str]
LimitOf = Literal["hardness", "iron", "manganese", "chlorine"]
WaterUse = Literal["membrane", "process", "food", "drinking", "not stated"]


def given_table(case: Case, system: System) -> TextTable:
    """What the case says of plant, water and prices; a typical value that stands in for one is called assumed."""
    groups = [list(_plant(case, system)), list(_water(case, system)), list(_prices(case, system))]
    return TextTable(
        caption=label("given.caption"),
        columns=(Column(label("given.what"), "words"), Column(label("given.given"), "words")),
        rows=tuple(row for group in groups for row in group),
        starts=frozenset({len(groups[0]), len(groups[0]) + len(groups[1])}),
    )


def _plant(case: Case, system: System) -> Iterator[Row]:
    length, start = in_days(case.run.length / DAY), dated(case.run.start)
    yield label("given.run"), label("given.run_of", length=length, start=start)
    for stage in case.stages:
        yield label("given.stage", stage=Name(stage.name)), _stage(stage)
        yield label("given.wash", stage=Name(stage.name)), items(
            [label("given.step", do=Kind(step.do), time=duration(step.seconds)) for step in stage.steps]
        )
        yield from _chemicals(stage, system)
    yield label("given.ways"), items([each.name for each in case.policies])


def _chemicals(stage: Stage, system: System) -> Iterator[Row]:
    """What is dosed ahead of a stage, and the limits on what is dissolved behind it."""
    name, limits, dosing = Name(stage.name), stage.limits, stage.dosing
    if dosing is not None and dosing.product != "air":
        dose, product = amount_of(dosing.dose, "dissolved", system), term("product", dosing.product)
        yield label("given.dosing", stage=name), label("given.dose", dose=dose, product=product)
    known: tuple[tuple[LimitOf, float | None], ...] = (
        ("hardness", limits.hardness), ("iron", limits.iron), ("manganese", limits.manganese),
        ("chlorine", limits.chlorine),
    )  # fmt: skip
    told = [
        label("given.limit", amount=amount_of(limit, _quantity(of), system), what=term("limited", of))
        for of, limit in known
        if limit is not None
    ]
    if told:
        yield label("given.limits", stage=name), items(told)


def _quantity(name: str) -> Quantity:
    return "hardness" if name == "hardness" else "dissolved"


def _stage(stage: Stage) -> str:
    media = items([term("medium", layer.medium) for layer in stage.layers])
    vessels = stage.vessels
    if vessels.count == 1:
        return media
    return label(
        "given.vessels", arrangement=Kind(vessels.arrangement), vessels=count(vessels.count), media=media
    )  # fmt: skip


def _water(case: Case, system: System) -> Iterator[Row]:
    use: WaterUse = case.use or "not stated"
    yield label("given.use"), label("given.use_is", use=Kind(use))
    yield label("given.temperature"), _series(case.feed.temperature, "temperature", system)
    yield label("given.solids"), _series(case.feed.solids, "solids", system)
    for name, series in case.feed.solutes:
        yield label("given.dissolved", solute=term("solute", name)), _series(series, _quantity(name), system)
    yield label("given.demand"), items(list(_demand(case.demand, system)))


def _demand(demand: Demand, system: System) -> Iterator[str]:
    yield _series(demand.flow, "flow", system)
    if demand.season is not None:
        yield label("given.season", share=_percent(demand.season.swing))
    if demand.wander is not None:
        yield label("given.from_day_to_day")
    if demand.closed:
        yield label("given.closed", count=len(demand.closed))


def _series(series: Series | UnsettledSeason, quantity: Quantity, system: System) -> str:
    """A value, or from where to where it goes and how."""

    def ends(low: float, high: float) -> Amount:
        texts = [measured(each, quantity, system) for each in (low, high)]
        return span(texts[0][0], texts[1][0], texts[0][1])

    match series:
        case Steady():
            return amount_of(series.value, quantity, system)
        case Profile():
            flows = [factor * each for factor in series.weekday for each in series.hourly]
            return label("given.by_hour", span=ends(min(flows), max(flows)))
        case Measured():
            return label("given.from_record", span=ends(min(series.value), max(series.value)))
        case Seasonal():
            return label("given.over_the_year", span=ends(series.mean - series.swing, series.mean + series.swing))
        case UnsettledSeason():
            usual = series.usual
            return label("given.unsettled", span=ends(usual.mean - usual.swing, usual.mean + usual.swing))
        case Changeable():
            return label("given.at_random", value=amount_of(series.median, quantity, system))


def _prices(case: Case, system: System) -> Iterator[Row]:
    prices = case.prices
    if prices is None:
        yield label("given.all_prices"), label("given.blank")
        return
    known = [key for key in PRICED_KEYS if getattr(prices, key) is not None]
    yield label("given.currency"), Name(prices.currency)
    for key in known:
        unit, factor = price_unit(key, system)
        price = _price(getattr(prices, key), factor)
        yield term("price", key), label("given.price_per", price=price, unit=unit) if unit else price
    if prices.energy is not None:
        yield from _pump(case, prices, system)
    for name, device in (("meter", prices.meter.device), ("switch", prices.switch)):
        yield from _device(name, device)
    rate, years = _percent(prices.discount_rate), in_years(prices.years)
    yield label("given.interest"), label("given.interest_over", rate=rate, years=years)
    yield label("given.pay_within"), in_years(prices.payback_within)
    either = {"pumping": "energy", "energy": "pumping"}
    if blank := [term("price", key) for key in PRICED_KEYS if key not in known and either.get(key) not in known]:
        yield label("given.not_counted"), items(blank)


def price_unit(key: str, system: System) -> tuple[Code | None, float]:
    """What a price is told for, and how many SI units that is; None for what is counted by the piece or the year."""
    match key:
        case "water" | "sewer" | "pumping" | "lost_production":
            return volume_price(system)
        case "energy":
            return Code("kWh"), KWH
        case "salt" | "permanganate":
            return Code("kg"), 1.0
        case _:
            return None, 1.0


def _pump(case: Case, prices: Prices, system: System) -> Iterator[Row]:
    """What moves the wash water; an efficiency that nobody gave is assumed."""
    yield label("given.wash_pressure"), amount_of(prices.wash_pressure, "pressure", system)
    yield label("given.rinse_pressure"), amount_of(prices.rinse_pressure, "pressure", system)
    assumed = next((each for each in case.assumptions if each.key == "prices.pump_efficiency"), None)
    efficiency = _percent(prices.pump_efficiency)
    if assumed is None:
        yield label("given.efficiency"), efficiency
    else:
        usual = span(localised(f"{100.0 * assumed.low:g}"), localised(f"{100.0 * assumed.high:g}"), "%")
        yield label("given.efficiency"), label("given.assumed", value=efficiency, usual=usual)


def _device(name: str, device: Device) -> Iterator[Row]:
    of = term("device", name)
    yield label("given.price_of", device=of), label("given.blank") if device.price is None else _price(device.price)
    if device.upkeep is not None:
        yield label("given.upkeep_of", device=of), _price(device.upkeep)
    if device.life is not None:
        yield label("given.life_of", device=of), in_years(device.life)


def _price(price: Price, factor: float = 1.0) -> Amount:
    value, low, high = (localised(f"{each * factor:.4g}") for each in (price.value, price.low, price.high))
    return Amount(f"{value} ({span(low, high)})") if price.is_range else amount(value)


def _percent(share: float) -> Amount:
    return amount(localised(f"{100.0 * share:g}"), "%")
