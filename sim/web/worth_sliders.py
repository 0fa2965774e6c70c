"""What “Is a meter worth it?” lets people move: prices, use, devices, what counts as worth it, and the water."""

from collections.abc import Iterator, Mapping
from typing import Any

from sim.case.price.records import NO_PRICES
from sim.case.price.schema import INTEREST
from sim.case.quantities import System
from sim.web.sliders import STEPS, Slider, feed_sliders, in_unit, known, tidied

PRICES = "prices."
LIMIT = "over_limit"
NAMES = {
    "water": "water",
    "sewer": "sewer",
    "pumping": "pumping",
    "energy": "pumping energy",
    "salt": "salt",
    "labour": "labour",
    "cartridge": "cartridge",
    "lost_production": "not delivered",
    "price": "price, fitted",
    "upkeep": "upkeep",
    "life": "lasts",
}
# How far a slider goes where the case's own price does not ask for more; the currency may be any.
MOST = {
    "water": {"si": 20.0, "us": 80.0},
    "sewer": {"si": 20.0, "us": 80.0},
    "pumping": {"si": 5.0, "us": 20.0},
    "energy": {"si": 2.0, "us": 2.0},
    "salt": {"si": 5.0, "us": 2.0},
    "labour": {"si": 100.0, "us": 100.0},
    "cartridge": {"si": 500.0, "us": 500.0},
    "lost_production": {"si": 100.0, "us": 400.0},
    "price": {"si": 10_000.0, "us": 10_000.0},
    "upkeep": {"si": 1000.0, "us": 1000.0},
    "life": {"si": 30.0, "us": 30.0},
}
FACTOR = 4.0  # of the case's own price, where that is more
METERED = {"volume", "volume with reserve", "volume with learned reserve"}


def worth_sliders(data: Mapping[str, Any], system: System) -> tuple[Slider, ...]:
    """Prices first, since they answer at once; then what changes the runs, and what counts as worth it."""
    prices = data.get("prices", {})
    return (
        *_prices(data, prices, system),
        *_devices(data, prices, system),
        *_use(data["demand"]),
        *_limit(data),
        *feed_sliders(data["feed"], system),
        *_counting(prices),
    )


def is_money(slider: Slider) -> bool:
    """Whether it changes what things cost, and no run."""
    return slider.key.startswith(PRICES)


def moved_runs(sliders: tuple[Slider, ...], asked: Mapping[str, str]) -> tuple[tuple[str, str], ...]:
    """What of an address changes runs or limits, each value written in one way only; Refused as `Slider.read`."""
    known(sliders, asked)
    found = []
    for slider in sliders:
        value = slider.read(asked[slider.key]) if slider.key in asked else None
        if value is not None and value != slider.value and not is_money(slider):
            found.append((slider.key, f"{value!r}"))
    return tuple(sorted(found))


def blank_prices(sliders: tuple[Slider, ...]) -> dict[str, str]:
    """What an address says to leave every price of the case blank."""
    return {each.key: "" for each in sliders if is_money(each) and each.blank and each.value is not None}


def limit_asked(sliders: tuple[Slider, ...], asked: Mapping[str, str]) -> float | None:
    """The most hours over the limit in a year; None: no more than today."""
    return next((each.read(asked[LIMIT]) for each in sliders if each.key == LIMIT and LIMIT in asked), None)


def _prices(data: Mapping[str, Any], prices: Mapping[str, Any], system: System) -> Iterator[Slider]:
    driven = "wash_pressure" in prices and "pumping" not in prices
    offered = ["water", "sewer", *(["energy"] if driven else ["pumping"] if "pumping" in prices else []), "labour"]
    offered += [each for each in ("salt", "cartridge") if each in prices]
    for name in (*offered, "lost_production"):
        yield _price(f"{PRICES}{name}", "Prices", name, prices.get(name), prices, system)


def _devices(data: Mapping[str, Any], prices: Mapping[str, Any], system: System) -> Iterator[Slider]:
    kinds = set(_kinds(data))
    for device, wanted in (("meter", METERED), ("switch", {"pressure drop"})):
        if kinds & wanted:
            own = prices.get(device, {})
            for name in ("price", "upkeep", "life"):
                group = f"The {'pressure ' if device == 'switch' else ''}{device}"
                yield _price(f"{PRICES}{device}.{name}", group, name, own.get(name), prices, system)


def _kinds(data: Mapping[str, Any]) -> Iterator[str]:
    for stages in data["policy"].values():
        for trigger in stages.values():
            for each in trigger.get("any_of", [trigger]):
                yield str(each.get("start_on"))


def _price(key: str, group: str, name: str, raw: Any, prices: Mapping[str, Any], system: System) -> Slider:
    """A price; the case may have it alone, as a range, or not at all."""
    unit, value, about = "", None, "blank in the case"
    if raw is None:
        unit, _ = in_unit(name, _ONE[name], system)
    elif isinstance(raw, dict):
        unit, value = in_unit(name, str(raw["typical"]), system)
        low, high = (in_unit(name, str(raw[end]), system)[1] for end in ("low", "high"))
        about = f"the case: {value:g}, between {low:g} and {high:g}"
    else:
        unit, value = in_unit(name, str(raw), system)
        about = f"the case: {value:g}"
    high = MOST[name][system]
    if value is not None and FACTOR * value > high:
        high = max(tidied(FACTOR * value), value)
    low = 0.25 if name == "life" else 0.0
    money = "" if name == "life" else str(prices.get("currency", NO_PRICES.currency))
    return Slider(
        key=key, group=group, label=NAMES[name], unit=unit, low=low, high=high, step=tidied(high / STEPS / 2.0),
        value=value, form="quantity", money=money, about=about, blank=True,
    )  # fmt: skip


_ONE = {
    "water": "1 per m3", "sewer": "1 per m3", "pumping": "1 per m3", "lost_production": "1 per m3",
    "energy": "1 per kWh", "salt": "1 per kg", "labour": "1 per wash", "cartridge": "1 each", "price": "1 each",
    "upkeep": "1 per year", "life": "1 years",
}  # fmt: skip


def _use(demand: Mapping[str, Any]) -> Iterator[Slider]:
    """How much water is used, and how unlike its days are."""
    yield Slider(
        key="use", group="Use of water", label="all of it", unit="%", low=20.0, high=300.0, step=5.0, value=100.0,
        form="use", about="of what the case says",
    )  # fmt: skip
    if isinstance(demand.get("flow"), dict):
        return  # what was measured varies by itself
    own = "season" in demand
    yield Slider(
        key="swing", group="Use of water", label="swing over the year, up and down", unit="%", low=0.0, high=90.0,
        step=5.0, value=100.0 * float(demand["season"]["swing"]) if own else 0.0, form="swing",
        about="the case" if own else "none in the case; most in the middle of its time",
    )  # fmt: skip
    spread = demand.get("variation", {}).get("spread")
    yield Slider(
        key="days", group="Use of water", label="days differ at random by", unit="%", low=0.0, high=60.0, step=2.0,
        value=0.0 if "variation" not in demand else round(100.0 * (float(spread or 1.15) - 1.0), 6), form="days",
        about=f"two days in three stay within this; {'the case' if 'variation' in demand else 'none in the case'}",
    )  # fmt: skip


def _limit(data: Mapping[str, Any]) -> Iterator[Slider]:
    if "limit" in data["stage"][-1]:
        yield Slider(
            key=LIMIT, group="Water quality kept", label="over the limit at most", unit="h a year", low=0.0,
            high=4000.0, step=5.0, value=None, form="limit", about="blank: no more than today", blank=True,
        )  # fmt: skip


def _counting(prices: Mapping[str, Any]) -> Iterator[Slider]:
    """How money is counted over the years."""

    def where(name: str) -> str:
        return "the case" if name in prices else "usual; the case does not say"

    group = "How money is counted"
    rate = 100.0 * INTEREST.read(prices.get("discount_rate", NO_PRICES.discount_rate))
    yield Slider(key=f"{PRICES}discount_rate", group=group, label="interest", unit="% a year", low=0.0,
                 high=100.0 * INTEREST.high, step=0.5, value=round(rate, 6), form="share",
                 about=where("discount_rate"))  # fmt: skip
    years = float(prices.get("years", NO_PRICES.years))
    yield Slider(key=f"{PRICES}years", group=group, label="counted over", unit="years", low=1.0, high=50.0, step=1.0,
                 value=years, form="whole", about=where("years"))  # fmt: skip
    own = prices.get("payback_within", f"{NO_PRICES.payback_within} years")
    _, within = in_unit("payback_within", str(own), "si")
    yield Slider(key=f"{PRICES}payback_within", group=group, label="has to pay within", unit="years", low=0.5,
                 high=max(20.0, within), step=0.5, value=within, form="quantity",
                 about=where("payback_within"))  # fmt: skip
