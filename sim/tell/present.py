"""From results to what a person reads: the only converter to display units.

All figures of a row have the same decimals, so that they line up; the best one carries a mark. Whether two
are equal is judged by the text shown, because that is all a reader can compare.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from sim.case.records import CHOICES, Assumption, Case, Solved
from sim.case.units import (
    DAY,
    DENSITY,
    DEPOSIT,
    FOOT,
    GALLON,
    HEAD_LOSS_GAIN,
    HOUR,
    INCH,
    LENGTH,
    LOADING,
    MINUTE,
    PER_LENGTH,
    PER_TIME,
    POUND,
    PRESSURE,
    PSI,
    RATE,
    SOLIDS_PER_TURBIDITY,
    TEMPERATURE,
    Kind,
)
from sim.review.findings import Measure
from sim.study.kpis import GROUPS, Kpi, Quantity, System

if TYPE_CHECKING:  # the plant brings the engine along, which a check does without
    from sim.plant.records import Figure, RunResult

ABSENT = "-"
SIGNIFICANT = 3
MOST_DECIMALS = 3
MOST_DECIMALS_OF: Mapping[Quantity, int] = {"count": 1, "minutes": 1}
LONG, LONG_SIGNIFICANT = 1e4, 4  # from there on digits behind the fourth are zeros

PA_PER_KPA = 1000.0
GRAMS_PER_KILOGRAM = 1000.0
MINUTES_AN_HOUR = 60.0


@dataclass(frozen=True, slots=True)
class DisplayUnit:
    """A display unit: its symbol, and how many of it make one unit of the result."""

    symbol: str
    per_result_unit: float


_SAME_IN_BOTH: dict[Quantity, DisplayUnit] = {
    "count": DisplayUnit("", 1.0),
    "share": DisplayUnit("%", 100.0),
    "hours": DisplayUnit("h", 1.0),
    "minutes": DisplayUnit("min", 1.0),
    "solids": DisplayUnit("mg/L", 1.0),
    "money": DisplayUnit("", 1.0),
}
UNITS: dict[System, dict[Quantity, DisplayUnit]] = {
    "si": {
        **_SAME_IN_BOTH,
        "volume": DisplayUnit("m3", 1.0),
        "flow": DisplayUnit("m3/h", 1.0),
        "mass": DisplayUnit("kg", 1.0),
        "small mass": DisplayUnit("g", GRAMS_PER_KILOGRAM),
        "pressure": DisplayUnit("kPa", 1.0),
        "depth": DisplayUnit("m", 1.0),
        "deposit": DisplayUnit("kg/m3", 1.0),
    },
    "us": {
        **_SAME_IN_BOTH,
        "volume": DisplayUnit("gal", 1.0 / GALLON),
        "flow": DisplayUnit("gpm", 1.0 / GALLON / MINUTES_AN_HOUR),
        "mass": DisplayUnit("lb", 1.0 / POUND),
        "small mass": DisplayUnit("g", GRAMS_PER_KILOGRAM),
        "pressure": DisplayUnit("psi", PA_PER_KPA / PSI),
        "depth": DisplayUnit("in", 1.0 / INCH),
        "deposit": DisplayUnit("lb/ft3", DEPOSIT.units["kg/m3"].factor / DEPOSIT.units["lb/ft3"].factor),
    },
}


# Constants whose SI unit is not the one in which the trade thinks of them, by that unit or by the constant's name.
_IN_BOTH: dict[str, tuple[str, Kind]] = {
    "1/s": ("1/min", PER_TIME),
    "size": ("mm", LENGTH),  # as the trade has it everywhere
    "g/m3 per NTU": ("mg/L per NTU", SOLIDS_PER_TURBIDITY),
    "particle_size": ("um", LENGTH),
}
_CONSTANTS: dict[System, dict[str, tuple[str, Kind]]] = {
    "si": {
        **_IN_BOTH,
        "roughness": ("mm", LENGTH),
        "m/s": ("m/h", RATE),
        "g/m3": ("kg/m3", DEPOSIT),
        "volume": ("m3/m2", LOADING),
        "Pa": ("kPa", PRESSURE),
    },
    "us": {
        **_IN_BOTH,
        "roughness": ("in", LENGTH),
        "m/s": ("gpm/ft2", RATE),
        "g/m3": ("lb/ft3", DEPOSIT),
        "kg/m3": ("lb/ft3", DENSITY),
        "1/m": ("1/ft", PER_LENGTH),
        "Pa": ("psi", PRESSURE),
        "Pa/m per g/m3": ("psi/ft per lb/ft3", HEAD_LOSS_GAIN),
        "volume": ("gal/ft2", LOADING),
    },
}

# What the review measures: the symbol shown, and how many SI units make one of it.
_MEASURED_ALIKE: dict[Measure, tuple[str, float]] = {
    "grain": ("mm", 1e-3),
    "minutes": ("min", MINUTE),
    "days": ("d", DAY),
    "share": ("%", 0.01),
    "number": ("", 1.0),
    "solids": ("mg/L", 1.0),
}
_MEASURED: dict[System, dict[Measure, tuple[str, float]]] = {
    "si": {
        **_MEASURED_ALIKE,
        "rate": ("m/h", RATE.units["m/h"].factor),
        "speed": ("m/s", 1.0),
        "flow": ("m3/h", 1.0 / HOUR),
        "pressure": ("kPa", PA_PER_KPA),
        "volume": ("m3", 1.0),
        "loading": ("m", 1.0),
        "length": ("m", 1.0),
        "gap": ("mm", 1e-3),
        "deposit": ("kg/m3", DEPOSIT.units["kg/m3"].factor),
        "gain": ("Pa/m per g/m3", 1.0),
    },
    "us": {
        **_MEASURED_ALIKE,
        "rate": ("gpm/ft2", RATE.units["gpm/ft2"].factor),
        "speed": ("ft/s", FOOT),
        "flow": ("gpm", GALLON / MINUTE),
        "pressure": ("psi", PSI),
        "volume": ("gal", GALLON),
        "loading": ("gal/ft2", LOADING.units["gal/ft2"].factor),
        "length": ("in", INCH),
        "gap": ("in", INCH),
        "deposit": ("lb/ft3", DEPOSIT.units["lb/ft3"].factor),
        "gain": ("psi/ft per lb/ft3", HEAD_LOSS_GAIN.units["psi/ft per lb/ft3"].factor),
    },
}
_DEGREES: dict[System, str] = {"si": "degC", "us": "degF"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One figure for every policy: label, unit, texts, and the places of the best and the worst.

    `best` holds every policy whose text equals the best one's; it is empty where all are equal, where there
    is one policy only, or where the figure does not judge. `worst` likewise.
    """

    kpi: Kpi
    label: str
    unit: str
    texts: tuple[str, ...]
    best: frozenset[int]
    worst: frozenset[int]


def rows(results: "Sequence[RunResult]", system: System, stage: str | None = None) -> tuple[tuple[Row, ...], ...]:
    """The rows of the comparison in groups, for the site or for one stage; a group may be empty."""
    figures = [each.site if stage is None else each.stages[stage] for each in results]
    return tuple(tuple(row(kpi, figures, system) for kpi in group if is_shown(kpi, figures)) for group in GROUPS)


def is_shown(kpi: Kpi, figures: "Sequence[Mapping[str, Figure]]") -> bool:
    """Whether a figure has a row, by what the policies have of it."""
    if kpi.shown == "always":
        return True
    values = [each[kpi.key] for each in figures]
    return any(values) if kpi.shown == "where met" else any(value is not None for value in values)


def constant(assumption: Assumption | Solved, system: System) -> tuple[str, str, str, str]:
    """Unit, value, low and high of an assumed or solved constant, to three significant figures.

    A choice comes by its names.
    """
    known, name = _CONSTANTS[system], assumption.key.rpartition(".")[2]
    numbers = (assumption.value, assumption.low, assumption.high)
    if name in CHOICES:
        chosen, low, high = (CHOICES[name][round(each)] for each in numbers)
        return "-", chosen, low, high
    if assumption.unit == "degC":
        value, low, high = (degrees(each, system).partition(" ")[0] for each in numbers)
        return _DEGREES[system], value, low, high
    found = known.get(name) or known.get(assumption.unit)
    symbol, factor = (assumption.unit, 1.0) if found is None else (found[0], found[1].units[found[0]].factor)
    value, low, high = (
        f"{float(f'{each / factor:.{SIGNIFICANT}g}'):g}"
        for each in numbers
    )
    return symbol, value, low, high


def quantity(value: float, kind: Kind, system: System) -> str:
    """A rate [m/s] or a temperature [degC] in its display unit, to three significant figures.

    >>> quantity(5.0, TEMPERATURE, "us"), quantity(36.0 / 3600.0, RATE, "si")
    ('41 degF', '36 m/h')
    """
    return degrees(value, system) if kind is TEMPERATURE else " ".join(measured(value, "rate", system))


def measured(value: float, measure: Measure, system: System, digits: int = SIGNIFICANT) -> tuple[str, str]:
    """A figure and its unit, to so many significant figures."""
    symbol, factor = _MEASURED[system][measure]
    return _significant(value / factor, digits), symbol


def degrees(temperature: float, system: System) -> str:
    """A temperature [degC] with its unit."""
    unit = TEMPERATURE.units[_DEGREES[system]]
    value = temperature / unit.factor + unit.zero
    return f"{f'{value:.0f}' if system == 'us' else _significant(value)} {_DEGREES[system]}"


def _significant(value: float, digits: int = SIGNIFICANT) -> str:
    rounded = float(f"{value:.{digits}g}")
    return f"{rounded:,.0f}" if abs(rounded) >= 10.0**digits else f"{rounded:,.{digits}g}"


def in_currency(groups: Sequence[Sequence[Row]], case: Case) -> tuple[tuple[Row, ...], ...]:
    """The rows with the case's own currency on what is money."""
    currency = case.prices.currency if case.prices else ""

    def named(each: Row) -> Row:
        is_money = each.kpi.quantity == "money"
        return replace(each, unit=currency, label=f"{each.label}, {currency}") if is_money else each

    return tuple(tuple(named(each) for each in group) for group in groups)


def unranked(groups: Sequence[Sequence[Row]]) -> tuple[tuple[Row, ...], ...]:
    """The rows without a best and a worst one."""
    nobody = frozenset[int]()
    return tuple(tuple(replace(each, best=nobody, worst=nobody) for each in group) for group in groups)


def applying(groups: Sequence[Sequence[Row]]) -> tuple[tuple[Row, ...], ...]:
    """The rows that apply to at least one policy."""
    return tuple(tuple(each for each in group if set(each.texts) != {ABSENT}) for group in groups)


def row(kpi: Kpi, figures: "Sequence[Mapping[str, Figure]]", system: System) -> Row:
    """One figure of every policy, converted, written and compared."""
    unit = UNITS[system][kpi.quantity]
    values = [converted(each[kpi.key], unit) for each in figures]
    texts = written(values, MOST_DECIMALS_OF.get(kpi.quantity, MOST_DECIMALS))
    label = f"{kpi.words}, {unit.symbol}" if unit.symbol else kpi.words
    best, worst = _extremes(kpi, values, texts)
    return Row(kpi=kpi, label=label, unit=unit.symbol, texts=texts, best=best, worst=worst)


def solids_unit(turbidity_ratio: float | None, system: System) -> DisplayUnit:
    """Solids of water as the case speaks of them: NTU where it gives a ratio [g/m3 per NTU], else mg/L."""
    return UNITS[system]["solids"] if turbidity_ratio is None else DisplayUnit("NTU", 1.0 / turbidity_ratio)


def converted(value: "Figure", unit: DisplayUnit) -> float | None:
    """A result in its display unit."""
    return None if value is None else value * unit.per_result_unit


def column(values: "Sequence[Figure]", quantity: Quantity, system: System, *, fine: bool = False) -> tuple[str, ...]:
    """Texts of one column of figures, `fine` where it mixes large amounts with small ones."""
    write = finely_written if fine else written
    return write([converted(value, UNITS[system][quantity]) for value in values])


def written(values: Sequence[float | None], most: int = MOST_DECIMALS) -> tuple[str, ...]:
    """Numbers of one row or column as text, with the decimals that give the largest three significant ones.

    No more than `most` decimals, and of long numbers four significant figures. A figure that does not apply is a
    dash; 0 is nothing at all, and what is not nothing never reads as zero.
    """
    decimals = min(_decimals(values, max, SIGNIFICANT), most)
    return tuple(ABSENT if value is None else _number(value, decimals) for value in values)


def finely_written(values: Sequence[float | None]) -> tuple[str, ...]:
    """As `written`, for a column of unlike amounts: the smallest one keeps two significant figures."""
    decimals = _decimals(values, min, 2)
    return tuple(ABSENT if value is None else _number(value, decimals) for value in values)


def _decimals(values: Sequence[float | None], choose: Callable[..., float], significant: int) -> int:
    """Decimals that give the largest or the smallest amount so many significant figures; none for whole numbers."""
    amounts = [abs(value) for value in values if value]
    if all(amount == int(amount) for amount in amounts):
        return 0
    power = int(f"{choose(amounts):.{significant - 1}e}".partition("e")[2])
    return min(max(significant - 1 - power, 0), MOST_DECIMALS)


def _number(value: float, decimals: int) -> str:
    if value == 0.0:
        return "0"
    if abs(value) >= LONG:
        return f"{float(f'{value:.{LONG_SIGNIFICANT}g}'):,.0f}"
    text = f"{value:,.{decimals}f}"
    if float(text.replace(",", "")) != 0.0:
        return text
    smallest = f"{10.0**-decimals:.{decimals}f}"
    return f"<{smallest}" if value > 0.0 else f">-{smallest}"


def _extremes(
    kpi: Kpi, values: Sequence[float | None], texts: Sequence[str]
) -> tuple[frozenset[int], frozenset[int]]:
    known = [place for place, value in enumerate(values) if value is not None]
    if kpi.better is None or len({texts[place] for place in known}) < 2:
        return frozenset(), frozenset()

    def places(choose: Callable[..., int]) -> frozenset[int]:
        found = choose(known, key=lambda place: values[place])
        return frozenset(place for place in known if texts[place] == texts[found])

    least, most = places(min), places(max)
    return (least, most) if kpi.better == "less" else (most, least)
