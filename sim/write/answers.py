"""Answers read: each by itself with a reason if it will not do, and all of them together."""

import math
import re
import unicodedata
from collections.abc import Callable, Iterable, Mapping
from typing import Any, NamedTuple

from hydraulics.water import COLDEST, HOTTEST
from sim.case import units
from sim.case.limits import DISSOLVED
from sim.case.quantities import System
from sim.case.record import record
from sim.case.records import USES
from sim.case.series.waters import WATERS
from sim.case.spelling import listed, nearest, quoted, shown
from sim.case.values import Amount, Either, Number, OneOf, Quantity
from sim.errors import RefusedValue
from sim.write.filters import FILTERS
from sim.write.questions import BY_KEY, NONE, UNKNOWN, USUAL
from sim.write.written import plain

DIAMETER = Quantity(units.LENGTH, "5 cm", "20 m")
FLOW = Quantity(units.FLOW, "1 L/h", "100000 m3/h")
DEPTH = Quantity(units.LENGTH, "20 cm", "3 m")
SOLIDS = Either(
    Quantity(units.TURBIDITY, "0.01 NTU", "200 NTU"), Quantity(units.CONCENTRATION, "0.01 mg/L", "400 mg/L")
)
LIMIT = Either(
    Quantity(units.TURBIDITY, "0.001 NTU", "200 NTU"), Quantity(units.CONCENTRATION, "0.001 mg/L", "400 mg/L")
)
SLOWEST, FASTEST = 0.5 / units.HOUR, 50.0 / units.HOUR
"""Filtration rates [m/s] outside which a diameter or a flow is mistaken."""

COMMON = (5.0 / units.HOUR, 25.0 / units.HOUR)
"""Filtration rates [m/s] that plants have."""

LONGEST_ANSWER = 200
MOST_LIMIT, LIMIT_SHARE = 1.0, 0.2
"""The limit where none is given: a share of the turbidity that comes, at most so many NTU or mg/L, unless a clean bed
needs more."""

MOST_FILTERS = 6
PRODUCTS = ("alum", "ferric chloride", "ferric sulfate", "aluminium", "iron")
DOSE = Either(
    Quantity(units.CONCENTRATION, "0.01 mg/L", "1000 mg/L"),
    Quantity(units.SOLIDS_PER_TURBIDITY, "0.001 mg/L per NTU", "100 mg/L per NTU"),
)
ACIDITY = Number(4.0, 11.0, like=7.4)
HARDNESS = Quantity(units.HARDNESS, "1 mg/L", "10000 mg/L")
OXIDANT_DOSE = Quantity(units.CONCENTRATION, "0.01 mg/L", "1000 mg/L", like="2 mg/L")
CONTACT = Quantity(units.DURATION, "1 s", "7 d", like="20 min")
OXIDANTS: Mapping[str, Quantity] = {"chlorine": OXIDANT_DOSE, "permanganate": OXIDANT_DOSE, "air": CONTACT}
"""What may be dosed ahead of oxidising media, each with what says how much."""

BATCH = Quantity(units.MASS, "1 g", "10000 kg", like="90 g")
WORDS: Mapping[str, tuple[str, ...]] = {
    "units": ("si", "us"), "water": tuple(WATERS), "use": (*USES, UNKNOWN), "together": ("overlap", "wait"),
}  # fmt: skip
"""The answers that are one of a few words."""

YES_NO = {"yes": True, "y": True, "no": False, "n": False, "none": False}
SAID: Mapping[str, str] = {
    said: word for word, each in {
        "media": ("multimedia", "multi media", "mixed media", "dual media"),
        "oxidising": ("oxidizing", "oxidising media", "oxidizing media", "iron", "manganese", "greensand"),
        "carbon": ("activated carbon", "gac", "charcoal"),
        "softener": ("water softener", "softening", "ion exchange"),
        "in": ('"', "inch", "inches"), "ft": ("'", "foot", "feet"), "m": ("metre", "metres", "meter", "meters"),
        "min": ("minute", "minutes"), "h": ("hour", "hours"),
    }.items() for said in each
}  # fmt: skip
"""What people say for a kind of filter or a unit."""

SPAN = re.compile(
    rf"(?P<low>(?>{units.NUMBER_PATTERN})) *(?P<unit>[^\d\s.+-]*) *(\.\.\.?|to|[-\u2013\u2014]|a|à) *"
    rf"(?P<high>{units.NUMBER_PATTERN}) *(?P<rest>.*)"
)
"""From one number to another, in any of the languages."""


class Given(NamedTuple):
    """A quantity as it was written, and its value [SI] with its kind."""

    text: str
    value: float
    kind: units.Kind

    @property
    def unit(self) -> str:
        """The unit it was written in."""
        return re.sub(f"^{units.NUMBER_PATTERN} *", "", self.text)


class Warmth(NamedTuple):
    """Coldest and warmest of the year in one unit of temperature."""

    low: float
    high: float
    unit: str

    @property
    def coldest(self) -> float:
        """In degC."""
        return self._degc(self.low)

    @property
    def warmest(self) -> float:
        """In degC."""
        return self._degc(self.high)

    def _degc(self, reading: float) -> float:
        unit = units.TEMPERATURE.units[self.unit]
        return (reading - unit.zero) * unit.factor


class Dosing(NamedTuple):
    """Whether a coagulant is dosed; which and how much of it as written, "" where nobody knows."""

    used: bool
    product: str = ""
    dose: str = ""


class Oxidant(NamedTuple):
    """What is dosed ahead of oxidising media, "" for nothing; its dose, or the contact of air, "" if unknown."""

    product: str = ""
    amount: str = ""


@record
class Answers:
    """All that a new case is made from; depth and backwash are None where what is usual shall do, use and what is
    dissolved if unknown, permanganate for no batch."""

    units: System
    water: str
    train: tuple[str, ...]
    use: str | None
    together: str
    diameter: Given
    flow: Given
    hours: int
    days: int
    turbidity: Given
    limit: Given
    limit_given: bool
    temperature: Warmth
    coagulant: Dosing
    depth: Given | None
    backwash: Given | None
    hardness: Given | None
    iron: Given | None
    manganese: Given | None
    pH: float | None
    oxidant: Oxidant
    permanganate: Given | None
    chlorine: Given | None

    @property
    def area(self) -> float:
        """Of one bed [m2]."""
        return math.pi * self.diameter.value**2 / 4.0


class Clash(NamedTuple):
    """Answers that are in order one by one and not together, and why not."""

    keys: tuple[str, ...]
    refused: RefusedValue


def read(key: str, text: str, system: System = "si") -> Any:
    """The value of one answer, as people type it; RefusedValue with the reason if it will not do.

    A number alone is in the unit of the question's example.
    """
    if len(text) > LONGEST_ANSWER:
        raise RefusedValue(shown(text), "a short answer", f"up to {LONGEST_ANSWER} characters")
    like = BY_KEY[key].examples[system]
    typed = unicodedata.normalize("NFKC", text.replace("º", "°")).replace("μ", "u").strip(" ")
    if key == "temperature":
        typed = re.sub(r" *(?:°|deg(?:rees)?)? *(c|f)(?:elsius|ahrenheit)?\b",
                       lambda found: f" deg{found[1].upper()}", typed, flags=re.IGNORECASE)  # fmt: skip
        typed = SPAN.sub(r"\g<low>\g<unit>..\g<high> \g<rest>", typed).strip(" ")
    elif SPAN.fullmatch(typed):
        raise RefusedValue(shown(text), "one value, not a range", f"the usual one, as in {like}")
    else:
        typed = re.sub(r"(?<=\d),(?=\d{1,2}(?!\d))", ".", typed)
    if " " in like and re.fullmatch(rf"(.*\.\. *)?{units.NUMBER_PATTERN}", typed):
        typed = f"{typed} {like.rpartition(' ')[2]}"
    return _READERS[key](typed)


def defaults(read_so_far: Mapping[str, Any]) -> dict[str, str]:
    """What an empty answer stands for, as far as it can be said from the answers that are there."""
    texts = {"units": "si", "use": UNKNOWN, "together": "overlap", "days": "7"}
    texts |= {"depth": USUAL, "backwash": USUAL, "oxidant": NONE}
    texts |= dict.fromkeys(("hardness", "iron", "manganese", "pH", "chlorine"), UNKNOWN)
    texts["permanganate"] = NONE
    turbidity = read_so_far.get("turbidity")
    if turbidity is not None:
        number = min(MOST_LIMIT, LIMIT_SHARE * turbidity.value)
        texts["limit"] = f"{number:.2g} {'NTU' if turbidity.kind is units.TURBIDITY else 'mg/L'}"
    return texts


def clash(values: Mapping[str, Any]) -> Clash | None:
    """What the answers that are there say against each other."""
    return _rate_clash(values) or _oxidant_clash(values)


def _rate_clash(values: Mapping[str, Any]) -> Clash | None:
    if "diameter" not in values or "flow" not in values:
        return None
    diameter, flow = values["diameter"], values["flow"]
    rate = flow.value / (math.pi * diameter.value**2 / 4.0)
    if SLOWEST <= rate <= FASTEST:
        return None

    def shown_rate(each: float) -> str:
        return plain(each, "rate", values.get("units", "si"), 3)

    refused = RefusedValue(
        f"{flow.text} through a filter of {diameter.text}: {shown_rate(rate)}",
        f"{shown_rate(SLOWEST)} to {shown_rate(FASTEST)}; {' to '.join(map(shown_rate, COMMON))} are common",
        "the inner diameter of one filter and the flow in an hour of use, each with its unit",
    )
    return Clash(("diameter", "flow"), refused)


def _oxidant_clash(values: Mapping[str, Any]) -> Clash | None:
    """What is for oxidising media, in a train that has none."""
    if "oxidising" in values.get("train", ("oxidising",)):
        return None
    for key, absent in (("oxidant", Oxidant()), ("permanganate", None)):
        if values.get(key, absent) != absent:
            named = ",".join(values["train"])
            given, allowed = f"{key} with the train {named}", "one for a train with oxidising"
            return Clash((key, "train"), RefusedValue(given, allowed, "leaving it out"))
    return None


def answers_of(values: Mapping[str, Any]) -> Answers:
    """The record of all answers; what is not there takes its default. Needed ones have to be there."""
    filled = {key: read(key, text) for key, text in defaults(values).items()} | dict(values)
    return Answers(**filled, limit_given="limit" in values)


def unanswered(values: Mapping[str, Any]) -> list[str]:
    """Keys of the needed answers that are not there."""
    return [key for key, question in BY_KEY.items() if question.needed and key not in values]


def _word(words: Iterable[str]) -> Callable[[str], str]:
    rule = OneOf(*words)

    def reader(text: str) -> str:
        word = " ".join(text.split()).casefold()
        said = SAID.get(word.replace("-", " ").removesuffix(" filter"), word)
        try:
            return str(rule.read(said if said in words else word))
        except RefusedValue as refused:
            raise RefusedValue(shown(text), refused.allowed, refused.try_.removesuffix(", in quotes")) from None

    return reader


def _train(text: str) -> tuple[str, ...]:
    one = _word(FILTERS)
    parts = [name.strip(" ") for name in re.split(r"[,;+→]|-?>|\band\b|\bthen\b", text)]
    if "" in parts:
        named = ",".join(filter(None, parts)) or next(iter(FILTERS))
        raise RefusedValue(shown(text), f"filters with a comma between two: {listed(FILTERS)}", named)
    names = tuple(one(name) for name in parts)
    if len(names) > MOST_FILTERS:
        raise RefusedValue(f"{len(names)} filters", f"up to {MOST_FILTERS}", "the first ones; the file takes more")
    return names


def _whole(low: int, high: int, unit: str) -> Callable[[str], int]:
    def reader(text: str) -> int:
        found = re.fullmatch(f"([0-9]{{1,3}}) *({unit})?", text)
        number = int(found[1]) if found else None
        if number is not None and low <= number <= high:
            return number
        offer = f"a number such as {high}" if number is None else str(low if number < low else high)
        raise RefusedValue(shown(text), f"a whole number from {low} to {high}", offer)

    return reader


def _quantity(rule: Quantity | Either) -> Callable[[str], Given]:
    def reader(text: str) -> Given:
        text = _spelt(text, rule)
        read = rule.read(text)
        if isinstance(read, Amount):
            return Given(_plain(text), read.value, read.kind)
        assert isinstance(rule, Quantity)
        return Given(_plain(text), read, rule.kind)

    return reader


def _known_or(word: str, rule: Quantity) -> Callable[[str], Given | None]:
    given = _quantity(rule)
    return lambda text: None if text.casefold() == word else given(text)


def _spelt(text: str, rule: Quantity | Either, alone: str = "") -> str:
    """A quantity with its unit as a case spells it; a number alone in a unit for that."""
    found = re.fullmatch(f"(?P<number>{units.NUMBER_PATTERN}) *(?P<unit>.*)", text.replace("°", ""))
    if found is None:
        return text
    unit = " ".join(found["unit"].split())
    kinds = rule.each if isinstance(rule, Either) else (rule,)
    known = {unit.casefold(): unit for each in kinds for unit in each.kind.units}
    unit = known.get(SAID.get(unit.casefold(), unit.casefold()), "" if unit else alone)
    return f"{found['number']} {unit}" if unit else text


def _plain(quantity: str) -> str:
    """A quantity that was read, with one space before its unit."""
    number = re.match(units.NUMBER_PATTERN, quantity)
    assert number is not None, "it was read"
    return f"{number[0]} {quantity[number.end() :].strip(' ')}"


def _temperature(text: str) -> Warmth:
    low_text, dots, high_text = text.partition("..")
    if not dots:
        high_text = low_text
    unit = next((unit for unit in units.TEMPERATURE.units if high_text.endswith(unit)), None)
    if unit is None:
        raise RefusedValue(shown(text), "two temperatures in degC or degF", "as in 6..21 degC or 43..70 degF")
    numbers = [_degrees(each.strip(" ").removesuffix(unit).rstrip(" "), unit, text) for each in (low_text, high_text)]
    if numbers[0] > numbers[1]:
        turned = f"{numbers[1]:g}..{numbers[0]:g} {unit}"
        raise RefusedValue(shown(text), "the coldest first, then the warmest", turned)
    return Warmth(numbers[0], numbers[1], unit)


def _degrees(number: str, unit: str, text: str) -> float:
    """The number of a temperature, in its unit."""
    try:
        value = units.parse_quantity(f"{number} {unit}", units.TEMPERATURE)
    except RefusedValue:
        raise RefusedValue(shown(text), "two temperatures in one unit", "as in 6..21 degC or 43..70 degF") from None
    if not COLDEST <= value <= HOTTEST:
        scale = units.TEMPERATURE.units[unit]
        low, high = (scale.from_si(each) for each in (COLDEST, HOTTEST))
        liquid = f"{low:g} to {high:g} {unit}"
        raise RefusedValue(shown(text), liquid, "the temperature of the water, not of the air")
    return float(number)


def _coagulant(text: str) -> Dosing:
    """No, yes, or a product and its dose."""
    word = " ".join(text.split()).casefold()
    if word in YES_NO:
        return Dosing(YES_NO[word])
    product = next((each for each in PRODUCTS if word.startswith(f"{each} ")), None)
    if product is None:
        allowed = f"yes or no, or a product and its dose: {listed(PRODUCTS)}"
        near = nearest(word, YES_NO)
        raise RefusedValue(shown(text), allowed, quoted(near) if near else "yes, where the dose is not known")
    dose = _spelt(" ".join(text.split())[len(product) + 1 :], DOSE, "mg/L")
    DOSE.read(dose)
    return Dosing(True, product, _plain(dose))


def _acidity(text: str) -> float | None:
    if text.casefold() == UNKNOWN:
        return None
    if not re.fullmatch(units.NUMBER_PATTERN, text):
        raise RefusedValue(shown(text), ACIDITY.allowed, f"a number such as {ACIDITY.example}")
    acidity: float = ACIDITY.read(float(text))
    return acidity


def _oxidant(text: str) -> Oxidant:
    """Nothing, or a product with its dose or contact, or without."""
    word, _, amount = " ".join(text.split()).partition(" ")
    product = word.casefold()
    if product == NONE and not amount:
        return Oxidant()
    if product not in OXIDANTS:
        near = nearest(product, (NONE, *OXIDANTS))
        allowed = f"{NONE}, or one of these and how much of it: {listed(OXIDANTS)}"
        raise RefusedValue(shown(text), allowed, quoted(near) if near else "the word alone, without how much")
    if amount:
        amount = _spelt(amount, OXIDANTS[product], "min" if product == "air" else "mg/L")
        OXIDANTS[product].read(amount)
    return Oxidant(product, _plain(amount) if amount else "")


def _use(text: str) -> str | None:
    word = _word(WORDS["use"])(text)
    return None if word == UNKNOWN else word


_READERS: Mapping[str, Callable[[str], Any]] = {
    "units": _word(WORDS["units"]),
    "water": _word(WORDS["water"]),
    "train": _train,
    "use": _use,
    "together": _word(WORDS["together"]),
    "diameter": _quantity(DIAMETER),
    "flow": _quantity(FLOW),
    "hours": _whole(1, 24, "h|hours?"),
    "days": _whole(1, 7, "d|days?"),
    "turbidity": _quantity(SOLIDS),
    "limit": _quantity(LIMIT),
    "temperature": _temperature,
    "coagulant": _coagulant,
    "depth": _known_or(USUAL, DEPTH),
    "backwash": _known_or(USUAL, FLOW),
    "hardness": _known_or(UNKNOWN, HARDNESS),
    "iron": _known_or(UNKNOWN, DISSOLVED),
    "manganese": _known_or(UNKNOWN, DISSOLVED),
    "pH": _acidity,
    "oxidant": _oxidant,
    "permanganate": _known_or(NONE, BATCH),
    "chlorine": _known_or(UNKNOWN, DISSOLVED),
}
