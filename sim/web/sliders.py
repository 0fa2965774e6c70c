"""The settings of a case that the page lets people move: where they stand in the file, their unit and their range."""

import math
import re
from collections.abc import Iterator, Mapping
from datetime import time, timedelta
from typing import Any, Literal

from plots.words import Name, Sentence, label, localised, paragraph, say, term
from sim.case import units
from sim.case.price.schema import EACH, PER_ENERGY, PER_MASS, PER_VOLUME, PER_WASH, PER_YEAR, TIME_IN_YEARS
from sim.case.quantities import QUANTITIES, Quantity, System, Units
from sim.case.record import record
from sim.case.spelling import shown
from sim.case.units import Unit, parse_quantity
from sim.errors import RefusedValue
from sim.study.settable import RANGES, Range, around
from sim.web.cases_read import parsed
from sim.web.errors import Refused
from sim.web.shelf import Asked, Stand

LONGEST_NUMBER = 40
PRICED = (EACH, PER_ENERGY, PER_MASS, PER_VOLUME, PER_WASH, PER_YEAR, TIME_IN_YEARS)  # whose units are words
OWN_DIGITS: Mapping[System, int] = {"si": 6, "us": 3}  # of a value of the case: cases are mostly metric
STEPS = 60  # about so many from end to end where a setting has no step of its own
DISSOLVED = ("hardness", "iron", "manganese", "free_chlorine")
_NUMBER = re.compile(units.NUMBER_PATTERN)

Form = Literal[
    "quantity", "number", "scaled", "storms", "use", "swing", "days", "share", "whole", "limit", "rinse", "hour",
    "spacing",
]  # fmt: skip


@record
class Slider:
    """One setting: its dotted key, the words around it, its range, and its value in the case, in `unit`.

    `group` is what it belongs to; `form` says how a value goes into the case, `scale` what its unit is in SI. `shown`
    is the unit with the word for money, `about` says its range and where its value comes from, and where it may be
    left `blank`, a value of None is that.
    """

    key: str
    group: str
    label: str
    unit: str
    shown: str
    scale: Unit
    low: float
    high: float
    step: float
    value: float | None
    form: Form = "quantity"
    about: Sentence | None = None
    blank: bool = False

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


def slider_of(
    key: str,
    group: str,
    label: str,
    span: Range,
    value: float | None,
    system: System,
    *,
    form: Form = "quantity",
    money: str = "",
    about: Sentence | None = None,
    blank: bool = False,
) -> Slider:
    """A setting [SI] in the units of the page: its ends whole steps, but out to the case's own value.

    The unit of a price is in words and follows that for `money`; what it is `about` follows its range.
    """
    scale, unit = span.units.unit(system), span.units.symbol(system)
    low, high = (_plain(scale.from_si(end)) for end in (span.low, span.high))
    step = _plain(span.step / scale.factor)
    if not step:
        step = tidied((high - low) / STEPS)
        low, high = math.ceil(low / step - 1e-9) * step, math.floor(high / step + 1e-9) * step
    own = None if value is None else float(f"{scale.from_si(value):.{OWN_DIGITS[system]}g}")
    low, high = (low, high) if own is None else (min(low, own), max(high, own))
    return Slider(
        key=key, group=group, label=label, unit=unit, shown=_unit_shown(span.units, system, money), scale=scale,
        low=low, high=high, step=step, value=own, form=form, blank=blank,
        about=about and paragraph(_range(low, high), about),
    )  # fmt: skip


def _unit_shown(shown_in: Units, system: System, money: str) -> str:
    symbol = shown_in.symbol(system)
    return f"{money} {term('price_unit', symbol)}".strip() if shown_in.kind in PRICED else symbol


def _range(low: float, high: float) -> Sentence:
    return say("page.slider.range", low=localised(f"{low:.10g}"), high=localised(f"{high:.10g}"))


def _plain(value: float) -> float:
    return float(f"{value:.6g}")


def tidied(value: float) -> float:
    """1, 2 or 5 times a power of ten, near a value.

    >>> tidied(0.26), tidied(13.0)
    (0.2, 10.0)
    """
    power = 10.0 ** math.floor(math.log10(value))
    return float(f"{max(tidy for tidy in (1.0, 2.0, 5.0) if tidy <= value / power + 1e-9) * power:g}")


def moved(sliders: tuple[Slider, ...], asked: Asked) -> Iterator[tuple[Slider, float | None]]:
    """The sliders that do not stand where the case has them, and where they stand; Refused as `Slider.read`."""
    given = dict(asked)
    for name in given.keys() - {each.key for each in sliders}:
        raise Refused(400, f"This page has no setting called {shown(name[:60])}.")
    for each in sliders:
        if each.key in given and (value := each.read(given[each.key])) != each.value:
            yield each, value


def settings_of(sliders: tuple[Slider, ...], stand: Stand) -> dict[str, Any]:
    """Settings for the case file; a slider that stands where the case has it changes nothing."""
    settings, data = dict[str, Any](), parsed(stand.held)
    for each, value in moved(sliders, stand.moved):
        settings |= _setting(each, value, data, settings)
    return settings


def in_other_units(sliders: tuple[Slider, ...], others: tuple[Slider, ...], asked: Asked) -> Asked:
    """An address as the same sliders in the other system of units take it."""
    given = dict(asked)
    return tuple(
        (one.key, _in_other(one, other, given[one.key]))
        for one, other in zip(sliders, others, strict=True)
        if one.key in given
    )


def _in_other(one: Slider, other: Slider, text: str) -> str:
    value = one.read(text)
    if value is None:
        return ""
    there = value if one.scale == other.scale else _plain(other.scale.from_si(one.scale.to_si(value)))
    return f"{min(max(there, other.low), other.high):g}"


def _setting(
    slider: Slider, value: float | None, data: Mapping[str, Any], others: Mapping[str, Any]
) -> dict[str, Any]:
    """What a slider changes in the case; a limit is none of its settings: the study is asked for it."""
    if value is None or slider.form == "limit":
        return {} if slider.form == "limit" else {slider.key: None}
    match slider.form:
        case "quantity":
            return {slider.key: f"{value!r} {slider.unit}"}
        case "number" | "rinse":
            return {slider.key: value}
        case "whole":
            return {slider.key: round(value)}
        case "share":
            return {slider.key: value / 100.0}
        case "scaled":
            return _scaled(slider.key, value / 100.0, data)
        case "use":
            return _used(value / 100.0, data["demand"])
        case "swing":
            return _swung(value / 100.0, data)
        case "days":
            return {"demand.variation.spread": 1.0 + value / 100.0} if value else {"demand.variation": None}
        case "hour":
            hours, minutes = divmod(round(value * 60.0), 60)
            return {f"{slider.key.rpartition('.')[0]}.at": time(hours % 24, minutes)}
        case "spacing":
            return {slider.key: f"{value!r} min" if value else None}
        case "storms":
            return _stormy(value, data["feed"], others)


def feed_sliders(feed: Mapping[str, Any], system: System) -> Iterator[Slider]:
    """What the water carries, and its storms."""
    quantity: Quantity = "turbidity" if "turbidity" in feed else "solids"
    name = "turbidity" if quantity == "turbidity" else "suspended_solids"
    raw, key, shown_in = feed[name], f"feed.{name}", QUANTITIES[quantity]
    group, carried = label("page.group.water"), term("slider", quantity)
    if isinstance(raw, str):
        own = parse_quantity(raw, shown_in.kind)
        yield slider_of(key, group, carried, around(shown_in, own), own, system)
        yield _storms("storms", 0.0, "storms", system)
    elif "median" in raw:
        own = parse_quantity(str(raw["median"]), shown_in.kind)
        yield slider_of(f"{key}.median", group, carried, around(shown_in, own), own, system)
        storms = raw.get("storms", {"per_year": 0.0})
        if isinstance(storms, dict) and "per_year" in storms:
            yield _storms(f"{key}.storms.per_year", float(storms["per_year"]), "number", system)
    else:
        share = term("slider", f"{quantity} share")
        yield slider_of(key, group, share, RANGES["solids"], 1.0, system, form="scaled")


def chemistry_sliders(data: Mapping[str, Any], system: System) -> Iterator[Slider]:
    """What is dissolved in the feed, then the salt of each regeneration or the water that dissolves it."""
    for name in DISSOLVED:
        raw, shown_in = data["feed"].get(name), QUANTITIES["hardness" if name == "hardness" else "dissolved"]
        if isinstance(raw, str):
            own = parse_quantity(raw, shown_in.kind)
            group, carried = label("page.group.water"), term("slider", name)
            yield slider_of(f"feed.{name}", group, carried, around(shown_in, own), own, system)
    for place, stage in enumerate(data["stage"]):
        group = label("page.group.wash_of", stage=Name(str(stage["name"])))
        for number, step in enumerate(stage["step"]):
            key = f"stage.{place}.step.{number}"
            if "salt" in step:
                shown_in = QUANTITIES["mass"]
                own = parse_quantity(step["salt"], shown_in.kind)
                salt = term("slider", "salt of a regeneration")
                yield slider_of(f"{key}.salt", group, salt, around(shown_in, own), own, system)
            elif step["do"] == "make-up":
                own = float(step["minutes"]) * units.MINUTE
                span = around(QUANTITIES["minutes"], own)
                yield slider_of(f"{key}.minutes", group, term("slider", "make-up"), span, own, system, form="number")


def _storms(key: str, value: float, form: Form, system: System) -> Slider:
    group, storms = label("page.group.water"), term("slider", "storms")
    return slider_of(key, group, storms, RANGES["storms"], value, system, form=form)


def _scaled(key: str, factor: float, data: Mapping[str, Any]) -> dict[str, Any]:
    """Every amount of a series times a factor, whatever its shape."""
    raw = data["feed"][key.rpartition(".")[2]]
    if "file" in raw:
        return {f"{key}.scale": factor * float(raw.get("scale", 1.0))}
    if "hourly" in raw:
        return {f"{key}.hourly": [_times(each, factor) for each in raw["hourly"]]}
    return {f"{key}.{part}": _times(raw[part], factor) for part in ("mean", "swing")}


def _times(raw: str, factor: float) -> str:
    kind = units.TURBIDITY if raw.endswith("NTU") else units.CONCENTRATION
    try:
        return f"{parse_quantity(raw, kind) * factor!r} {kind.si}"
    except RefusedValue as refused:
        raise Refused(422, f"The feed of this case cannot be scaled: {refused}.") from None


def _used(factor: float, demand: Mapping[str, Any]) -> dict[str, Any]:
    """Every flow that is asked for times a factor, whatever the shape of the demand."""
    if "hourly" in demand:
        return {"demand.hourly": [_flow(each, factor) for each in demand["hourly"]]}
    if isinstance(demand["flow"], dict):
        return {"demand.flow.scale": factor * float(demand["flow"].get("scale", 1.0))}
    return {"demand.flow": _flow(demand["flow"], factor)}


def _flow(raw: str, factor: float) -> str:
    return f"{parse_quantity(raw, units.FLOW) * factor * units.HOUR!r} m3/h"


def _swung(swing: float, data: Mapping[str, Any]) -> dict[str, Any]:
    """Use that swings over the year; one that did not is highest in the middle of the run."""
    if "season" in data["demand"]:
        return {"demand.season.swing": swing}
    run = data["run"]
    middle = run["start"] + timedelta(seconds=parse_quantity(run["length"], units.DURATION) / 2.0)
    return {"demand.season": {"swing": swing, "highest_on": middle.date()}}


def _stormy(per_year: float, feed: Mapping[str, Any], others: Mapping[str, Any]) -> dict[str, Any]:
    """A steady feed with storms: its value becomes the median, which nothing else disturbs."""
    key = "feed.turbidity" if "turbidity" in feed else "feed.suspended_solids"
    median = others.get(key, feed[key.removeprefix("feed.")])
    return {key: {"median": median, "spread": 1.0, "slow_spread": 1.0, "storms": {"per_year": per_year}}}
