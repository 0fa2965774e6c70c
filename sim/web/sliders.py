"""The settings of a case that the page lets people move: where they stand in the file, their unit and their range."""

import math
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import timedelta
from typing import Any, Literal

from sim.case import units
from sim.case.price.schema import EACH, PER_ENERGY, PER_MASS, PER_VOLUME, PER_WASH, PER_YEAR, TIME_IN_YEARS
from sim.case.quantities import QUANTITIES, Quantity, System
from sim.case.spelling import shown
from sim.case.units import Kind, parse_any, parse_quantity
from sim.errors import RefusedValue
from sim.web.errors import Refused

MOST_SLIDERS = 60
LONGEST_NUMBER = 40
FACTOR = 4.0  # a slider reaches from this part to this multiple of the case's own value
STEPS = 60  # about so many from end to end
_NUMBER = re.compile(units.NUMBER_PATTERN)
TRIGGERS = ("every", "volume", "reserve", "above", "hold")

Form = Literal["quantity", "number", "scaled", "storms", "use", "swing", "days", "share", "whole", "limit"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Slider:
    """One setting: its dotted key, the words around it, its range, and its value in the case, in `unit`.

    `group` is what it belongs to; `form` says how a value goes into the case. A price has the word for its `money`,
    `about` says where its value comes from, and where it may be left `blank`, a value of None is that.
    """

    key: str
    group: str
    label: str
    unit: str
    low: float
    high: float
    step: float
    value: float | None
    form: Form
    money: str = ""
    about: str = ""
    blank: bool = False

    @property
    def shown(self) -> str:
        """The unit, with the word for money."""
        return f"{self.money} {self.unit}".removesuffix(" each").strip()

    def read(self, text: str) -> float | None:
        """A value as typed or dragged; Refused if it is no number of the range."""
        if self.blank and not text:
            return None
        value = float(text) if len(text) <= LONGEST_NUMBER and _NUMBER.fullmatch(text) else math.nan
        if not self.low <= value <= self.high:
            raise Refused(
                422,
                f"{self.group}, {self.label} takes a number from {self.low:g} to {self.high:g} {self.shown}".rstrip()
                + ", with a point for decimals.",
            )
        return value


# What the trade measures each kind of setting in.
_QUANTITIES: dict[str, Quantity] = {
    "every": "days",
    "hold": "minutes",
    "volume": "volume",
    "reserve": "volume",
    "above": "pressure",
    "temperature": "temperature",
    "turbidity": "turbidity",
    "suspended_solids": "solids",
}
# In what a price is asked for: in SI, in US, and its kind.
_PRICED: dict[str, tuple[str, str, Kind]] = {
    **dict.fromkeys(("water", "sewer", "pumping", "lost_production"), ("per m3", "per 1000 gal", PER_VOLUME)),
    "energy": ("per kWh", "per kWh", PER_ENERGY),
    "salt": ("per kg", "per lb", PER_MASS),
    "labour": ("per wash", "per wash", PER_WASH),
    **dict.fromkeys(("cartridge", "price"), ("each", "each", EACH)),
    "upkeep": ("per year", "per year", PER_YEAR),
    **dict.fromkeys(("life", "payback_within"), ("years", "years", TIME_IN_YEARS)),
}
_LABELS = {
    "every": "a wash every",
    "volume": "volume to treat",
    "reserve": "reserve kept of it",
    "above": "set point",
    "hold": "held for",
}
_DAYS_STEP = 0.5
_RANGES = {"hold": (0.0, 60.0, 0.5), "temperature": {"si": (1.0, 35.0, 0.5), "us": (34.0, 95.0, 1.0)}}
WATER = "Water"


def start_sliders(data: Mapping[str, Any], system: System) -> tuple[Slider, ...]:
    """What can start a wash, policy by policy, then the water: feed and storms."""
    found = [*_triggers(data, system), *feed_sliders(data["feed"], system)]
    return tuple(found[:MOST_SLIDERS])


def rinse_sliders(data: Mapping[str, Any], stage: str, system: System) -> tuple[Slider, ...]:
    """Backwash and rinse of one stage, then the water: what it carries, and its temperature."""
    place = next(place for place, each in enumerate(data["stage"]) if each["name"] == stage)
    steps = data["stage"][place]["step"]
    found = []
    for do, most in (("backwash", 30.0), ("rinse", 60.0)):
        numbers = [number for number, step in enumerate(steps) if step["do"] == do]
        for count, number in enumerate(numbers, 1):
            minutes = float(steps[number]["minutes"])
            found.append(
                Slider(
                    key=f"stage.{place}.step.{number}.minutes",
                    group="Wash",
                    label=do + (f" {count}" if len(numbers) > 1 else ""),
                    unit="min",
                    low=0.0 if do == "rinse" else 1.0,
                    high=max(most, tidied(2.0 * minutes)),
                    step=0.5,
                    value=minutes,
                    form="number",
                )
            )
    return (*found, next(feed_sliders(data["feed"], system)), _temperature(data["feed"], system))


def settings_of(sliders: tuple[Slider, ...], asked: Mapping[str, str], data: Mapping[str, Any]) -> dict[str, Any]:
    """Settings for the case file from an address; a slider that stands where the case has it changes nothing."""
    settings: dict[str, Any] = {}
    known(sliders, asked)
    for slider in sliders:
        text = asked.get(slider.key)
        value = slider.value if text is None else slider.read(text)
        if value != slider.value:
            settings |= _setting(slider, value, data, settings)
    return settings


def known(sliders: tuple[Slider, ...], asked: Mapping[str, str]) -> None:
    """Refused where an address names a setting that there is none of."""
    for name in asked.keys() - {slider.key for slider in sliders}:
        raise Refused(400, f"This page has no setting called {shown(name[:60])}.")


def in_other_units(slider: Slider, other: Slider, text: str) -> str:
    """A value of a slider as the same slider in the other system of units takes it."""
    value = slider.read(text)
    if value is None:
        return ""
    if slider.unit == other.unit:
        return f"{value:g}"
    name = slider.key.removesuffix(".median").rpartition(".")[2]
    system: System = "us" if _shown(name, "us")[0] == other.unit else "si"
    _, there = in_unit(name, f"{value!r} {slider.unit}", system)
    return f"{min(max(there, other.low), other.high):g}"


def _setting(
    slider: Slider, value: float | None, data: Mapping[str, Any], others: Mapping[str, Any]
) -> dict[str, Any]:
    if value is None:
        return {} if slider.form == "limit" else {slider.key: None}
    match slider.form:
        case "quantity":
            return {slider.key: f"{value!r} {slider.unit}"}
        case "number" | "whole":
            return {slider.key: value if slider.form == "number" else round(value)}
        case "share":
            return {slider.key: value / 100.0}
        case "scaled":
            return _scaled(slider.key, value / 100.0, data)
        case "use":
            return used(value / 100.0, data)
        case "swing":
            return swung(value / 100.0, data)
        case "days":
            return {"demand.variation.spread": 1.0 + value / 100.0} if value else {"demand.variation": None}
        case "storms":
            return _stormy(value, data, others)
        case "limit":
            return {}  # no setting of the case: the study is asked for it


def _triggers(data: Mapping[str, Any], system: System) -> Iterator[Slider]:
    several = len(data["stage"]) > 1
    for policy, stages in data["policy"].items():
        for stage, trigger in stages.items():
            for path, name, raw in _settings_in(trigger):
                label = f"{stage}: {_LABELS[name]}" if several else _LABELS[name]
                yield _quantity(f"policy.{policy}.{stage}.{path}", policy, label, name, raw, system)


def _settings_in(trigger: Mapping[str, Any]) -> Iterator[tuple[str, str, str]]:
    """Path below the trigger, name and value of what can be moved; of every one where there are several."""
    yield from ((name, name, str(trigger[name])) for name in TRIGGERS if name in trigger)
    for place, each in enumerate(trigger.get("any_of", ())):
        yield from ((f"any_of.{place}.{path}", name, raw) for path, name, raw in _settings_in(each))


def _quantity(key: str, group: str, label: str, name: str, raw: str, system: System) -> Slider:
    unit, value = in_unit(name, raw, system)
    span = _RANGES.get(name)
    if isinstance(span, dict):
        low, high, step = span[system]
    elif span is not None:
        low, high, step = span
    else:
        low, high, step = _span(value)
    if name == "every" and value >= 4.0 * _DAYS_STEP:
        low, high, step = _DAYS_STEP, math.ceil(FACTOR * value), _DAYS_STEP
    low, high = min(low, value), max(high, value)
    return Slider(
        key=key, group=group, label=label, unit=unit, low=low, high=high, step=step, value=value, form="quantity"
    )


def in_unit(name: str, raw: str, system: System) -> tuple[str, float]:
    """The unit that the trade has for a setting, and a quantity of a case file in it."""
    unit, kind = _shown(name, system)
    return unit, float(f"{kind.units[unit].from_si(parse_quantity(raw, kind)):.6g}")


def _shown(name: str, system: System) -> tuple[str, Kind]:
    if name in _PRICED:
        si, us, kind = _PRICED[name]
        return si if system == "si" else us, kind
    shown = QUANTITIES[_QUANTITIES[name]]
    return shown.symbol(system), shown.kind


def _span(value: float) -> tuple[float, float, float]:
    """A range around a value, its ends whole steps."""
    if value <= 0.0:
        return 0.0, 10.0, 0.5
    step = tidied(FACTOR * value / STEPS)
    return max(step, round(value / FACTOR / step) * step), round(FACTOR * value / step) * step, step


def tidied(value: float) -> float:
    """1, 2 or 5 times a power of ten, near a value.

    >>> tidied(0.26), tidied(13.0)
    (0.2, 10.0)
    """
    power = 10.0 ** math.floor(math.log10(value))
    return float(f"{max(tidy for tidy in (1.0, 2.0, 5.0) if tidy <= value / power + 1e-9) * power:g}")


def feed_sliders(feed: Mapping[str, Any], system: System) -> Iterator[Slider]:
    name = "turbidity" if "turbidity" in feed else "suspended_solids"
    raw = feed[name]
    word = "turbidity of the feed" if name == "turbidity" else "solids of the feed"
    key = f"feed.{name}"
    if isinstance(raw, str):
        yield _quantity(key, WATER, word, name, raw, system)
        yield _storms(key, 0.0, form="storms")
    elif "median" in raw:
        yield _quantity(f"{key}.median", WATER, word, name, str(raw["median"]), system)
        storms = raw.get("storms")
        if isinstance(storms, dict) and "per_year" in storms:
            yield _storms(f"{key}.storms.per_year", float(storms["per_year"]), form="number")
        elif storms is None:
            yield _storms(f"{key}.storms.per_year", 0.0, form="number")
    else:
        yield Slider(
            key=key, group=WATER, label=f"{word}, of what the case says", unit="%", low=20.0, high=400.0, step=5.0,
            value=100.0, form="scaled",
        )  # fmt: skip


def _storms(key: str, value: float, *, form: Form) -> Slider:
    name = "storms" if form == "storms" else key
    return Slider(
        key=name, group=WATER, label="storms", unit="a year", low=0.0, high=max(60.0, value), step=1.0, value=value,
        form=form,
    )  # fmt: skip


def _temperature(feed: Mapping[str, Any], system: System) -> Slider:
    """One temperature all the time; the case's own, or the middle of its season."""
    raw = feed["temperature"]
    text = raw if isinstance(raw, str) else str(raw.get("mean", "15 degC"))
    return _quantity("feed.temperature", WATER, "temperature", "temperature", text, system)


def _scaled(key: str, factor: float, data: Mapping[str, Any]) -> dict[str, Any]:
    """Every amount of a series times a factor, whatever its shape."""
    name = key.rpartition(".")[2]
    raw = data["feed"][name]
    if "file" in raw:
        return {f"{key}.scale": factor * float(raw.get("scale", 1.0))}
    if "hourly" in raw:
        return {f"{key}.hourly": [_times(each, factor) for each in raw["hourly"]]}
    return {f"{key}.{part}": _times(raw[part], factor) for part in ("mean", "swing")}


def _times(raw: str, factor: float) -> str:
    kind = units.TURBIDITY if raw.endswith("NTU") else units.CONCENTRATION
    try:
        value, _ = parse_any(raw, (kind,))
    except RefusedValue as refused:
        raise Refused(422, f"The feed of this case cannot be scaled: {refused}.") from None
    return f"{value * factor!r} {'NTU' if kind is units.TURBIDITY else 'g/m3'}"


def used(factor: float, data: Mapping[str, Any]) -> dict[str, Any]:
    """Every flow that is asked for times a factor, whatever the shape of the demand."""
    demand = data["demand"]
    if "hourly" in demand:
        return {"demand.hourly": [_flow(each, factor) for each in demand["hourly"]]}
    if isinstance(demand["flow"], dict):
        return {"demand.flow.scale": factor * float(demand["flow"].get("scale", 1.0))}
    return {"demand.flow": _flow(demand["flow"], factor)}


def _flow(raw: str, factor: float) -> str:
    value, _ = parse_any(raw, (units.FLOW,))
    return f"{value * factor * units.HOUR!r} m3/h"


def swung(swing: float, data: Mapping[str, Any]) -> dict[str, Any]:
    """Use that swings over the year; one that did not is highest in the middle of the run."""
    if "season" in data["demand"]:
        return {"demand.season.swing": swing}
    run = data["run"]
    length, _ = parse_any(run["length"], (units.DURATION,))
    middle = run["start"] + timedelta(seconds=length / 2.0)
    return {"demand.season": {"swing": swing, "highest_on": middle.date()}}


def _stormy(per_year: float, data: Mapping[str, Any], others: Mapping[str, Any]) -> dict[str, Any]:
    """A steady feed with storms: its value becomes the median, which nothing else disturbs."""
    name = "turbidity" if "turbidity" in data["feed"] else "suspended_solids"
    median = others.get(f"feed.{name}", data["feed"][name])
    return {f"feed.{name}": {"median": median, "spread": 1.0, "slow_spread": 1.0, "storms": {"per_year": per_year}}}
