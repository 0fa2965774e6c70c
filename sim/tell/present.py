"""From results to what a person reads, in the units of `sim.case.quantities`.

All figures of a row have the same decimals, so that they line up; the best one carries a mark. Whether two
are equal is judged by the text shown, because that is all a reader can compare.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, get_args

from plots.words import Amount, Code, Label, Name, Number, Term, amount, label, localised, time_unit
from sim.case.quantities import MOST_DECIMALS, QUANTITIES, Quantity, System, constant_quantity
from sim.case.record import record
from sim.case.records import CHOICES, Assumption, Case, Solved
from sim.case.spelling import plain_duration
from sim.tell.kpis import GROUPS, Kpi

if TYPE_CHECKING:  # the plant brings the engine along, which a check does without
    from sim.plant.records import Figure, RunResult

ABSENT = Number("-")
SIGNIFICANT = 3
Constant = Number | Code
"""A number, or one of the choices that a key has."""
LONG, LONG_SIGNIFICANT = 1e4, 4  # from there on digits behind the fourth are zeros

@dataclass(frozen=True, slots=True)
class DisplayUnit:
    """A display unit: its symbol, and how many of it make one unit of the result."""

    symbol: Code
    per_result_unit: float


UNITS: Mapping[System, Mapping[Quantity, DisplayUnit]] = {
    system: {
        name: DisplayUnit(Code(each.symbol(system)), each.per_figure(system)) for name, each in QUANTITIES.items()
    }
    for system in get_args(System)
}
"""What the figures of a run are shown in."""


@record
class Row:
    """One figure for every policy: what its row is called, unit, texts, and the places of the best and the worst.

    `best` holds every policy whose text equals the best one's; it is empty where all are equal, where there
    is one policy only, or where the figure does not judge. `worst` likewise.
    """

    kpi: Kpi
    label: Label | Term
    unit: Code | Name
    texts: tuple[Number, ...]
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


def constant(assumption: Assumption | Solved, system: System) -> tuple[Code, Constant, Constant, Constant]:
    """Unit, value, low and high of an assumed or solved constant, to three significant figures.

    A choice comes by its names.
    """
    name = assumption.key.rpartition(".")[2]
    numbers = (assumption.value, assumption.low, assumption.high)
    quantity = constant_quantity(name, assumption.unit)
    texts: Sequence[Constant]
    if name in CHOICES:
        unit, texts = Code(ABSENT), [Code(CHOICES[name][round(each)]) for each in numbers]
    elif quantity is None:
        unit, texts = Code(assumption.unit), [_plain(each) for each in numbers]
    elif quantity == "temperature":
        unit, texts = symbol_of(quantity, system), [_degrees(each, system) for each in numbers]
    else:
        units = QUANTITIES[quantity]
        unit, texts = symbol_of(quantity, system), [_plain(units.shown(each, system)) for each in numbers]
    value, low, high = texts
    return unit, value, low, high


def symbol_of(quantity: Quantity, system: System) -> Code:
    """A unit as a person reads it.

    >>> symbol_of("temperature", "si"), symbol_of("flow", "si")
    ('°C', 'm3/h')
    """
    return Code(QUANTITIES[quantity].symbol(system).replace("deg", "°"))


def _plain(value: float) -> Number:
    return localised(f"{float(f'{value:.{SIGNIFICANT}g}'):g}")


def measured(value: float, quantity: Quantity, system: System, digits: int = SIGNIFICANT) -> tuple[Number, Code]:
    """A figure [SI] and its unit, to so many significant figures.

    >>> measured(0.01, "rate", "si"), measured(0.0254, "gap", "us")
    (('36', 'm/h'), ('1', 'in'))
    """
    return _significant(QUANTITIES[quantity].shown(value, system), digits), symbol_of(quantity, system)


def amount_of(value: float, quantity: Quantity, system: System, digits: int = SIGNIFICANT) -> Amount:
    """A figure [SI] with its unit, as a sentence has it.

    >>> amount_of(0.01, "rate", "si")
    '36 m/h'
    """
    return amount(*measured(value, quantity, system, digits))


def duration(seconds: float) -> Amount:
    """A length of time in the largest unit that it fills.

    >>> duration(345600.0), duration(90.0)
    ('4 d', '90 s')
    """
    value, unit = plain_duration(seconds).split()
    return amount(localised(value), time_unit(unit))


def degrees(temperature: float, system: System) -> Amount:
    """A temperature [degC] with its unit.

    >>> degrees(5.0, "us"), degrees(12.34, "si")
    ('41 °F', '12.3 °C')
    """
    return amount(_degrees(temperature, system), symbol_of("temperature", system))


def _degrees(temperature: float, system: System) -> Number:
    """Whole degrees Fahrenheit, which are fine enough."""
    shown = QUANTITIES["temperature"].shown(temperature, system)
    return localised(f"{shown:.0f}") if system == "us" else _significant(shown)


def _significant(value: float, digits: int = SIGNIFICANT) -> Number:
    rounded = float(f"{value:.{digits}g}")
    return localised(f"{rounded:.0f}" if abs(rounded) >= 10.0**digits else f"{rounded:.{digits}g}")


def in_currency(groups: Sequence[Sequence[Row]], case: Case) -> tuple[tuple[Row, ...], ...]:
    """The rows with the case's own currency on what is money."""
    currency = Name(case.prices.currency if case.prices else "")

    def named(each: Row) -> Row:
        is_money = each.kpi.quantity == "money"
        return replace(each, unit=currency, label=with_unit(each.kpi.words, currency)) if is_money else each

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
    texts = written(values, QUANTITIES[kpi.quantity].most_decimals)
    best, worst = _extremes(kpi, values, texts)
    name = with_unit(kpi.words, unit.symbol)
    return Row(kpi=kpi, label=name, unit=unit.symbol, texts=texts, best=best, worst=worst)


def with_unit(figure: Term, unit: Code | Name) -> Label | Term:
    """What a row or a column of figures is called, with its unit; a plain number has none.

    >>> with_unit(Term("downtime"), Code("h")), with_unit(Term("washes"), Code(""))
    ('downtime, h', 'washes')
    """
    return label("column.with_unit", figure=figure, unit=unit) if unit else figure


def solids_unit(turbidity_ratio: float | None, system: System) -> DisplayUnit:
    """Solids of water as the case speaks of them: NTU where it gives a ratio [g/m3 per NTU], else mg/L."""
    return UNITS[system]["solids"] if turbidity_ratio is None else DisplayUnit(Code("NTU"), 1.0 / turbidity_ratio)


def converted(value: "Figure", unit: DisplayUnit) -> float | None:
    """A result in its display unit."""
    return None if value is None else value * unit.per_result_unit


def column(
    values: "Sequence[Figure]", quantity: Quantity, system: System, *, fine: bool = False
) -> tuple[Number, ...]:
    """Texts of one column of figures, `fine` where it mixes large amounts with small ones."""
    write = finely_written if fine else written
    return write([converted(value, UNITS[system][quantity]) for value in values])


def written(values: Sequence[float | None], most: int = MOST_DECIMALS) -> tuple[Number, ...]:
    """Numbers of one row or column as text, with the decimals that give the largest three significant ones.

    No more than `most` decimals, and of long numbers four significant figures. A figure that does not apply is a
    dash; 0 is nothing at all, and what is not nothing never reads as zero.
    """
    decimals = min(_decimals(values, max, SIGNIFICANT), most)
    return tuple(ABSENT if value is None else _number(value, decimals) for value in values)


def finely_written(values: Sequence[float | None]) -> tuple[Number, ...]:
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


def _number(value: float, decimals: int) -> Number:
    if value == 0.0:
        return localised("0")
    if abs(value) >= LONG:
        return localised(f"{float(f'{value:.{LONG_SIGNIFICANT}g}'):.0f}")
    text = f"{value:.{decimals}f}"
    if float(text) != 0.0:
        return localised(text)
    smallest = f"{10.0**-decimals:.{decimals}f}"
    return localised(f"<{smallest}" if value > 0.0 else f">-{smallest}")


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
