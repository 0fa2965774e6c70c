"""How far figures spread over the ranges of what is assumed, and what would change the answer: words and a table."""

from collections.abc import Mapping, Sequence

from sim.case.quantities import Quantity, System
from sim.case.record import record
from sim.case.records import CHOICES, Case
from sim.case.units import HOUR
from sim.study.over_ranges import Move, OverRanges
from sim.tell.listing import Column, Listing
from sim.tell.present import ABSENT, UNITS, constant, solids_unit, written
from sim.tell.review.constant_names import constant_name, meaning
from sim.tell.review.measurements import TOLD, settling


@record
class Named:
    """What a figure is called where it is told, and what it is."""

    words: str
    quantity: Quantity
    unit: str

    def text(self, value: float, system: System) -> str:
        """A value with its unit."""
        texts = self.texts([value], system)
        return f"{texts[0]} {self.unit}".rstrip()

    def texts(self, values: Sequence[float], system: System) -> tuple[str, ...]:
        """Values without it."""
        return written([value * UNITS[system][self.quantity].per_result_unit for value in values])


Names = Mapping[str, Named]


@record
class RangesTold:
    """What is told of the ranges: whether the answer holds, how far the figures spread, what would change it.

    `caption` stands above the spread, `brief` are the first of `change` in short. Nothing of it where no constant is
    assumed.
    """

    order: tuple[str, ...] = ()
    caption: str = ""
    spread: Listing | None = None
    change: tuple[str, ...] = ()
    brief: tuple[str, ...] = ()


NO_RANGES = RangesTold()


def refused_words(refused: Sequence[tuple[str, str, str]], case: Case) -> tuple[str, ...]:
    """The ends of ranges that could not be run."""
    keys = "; ".join(f"{constant_name(key, case.stages)} {end}" for key, end, _ in refused)
    return (f"Not tried, since the case cannot run there: {keys}.",) if keys else ()


def kept_words(case: Case, system: System) -> str:
    """What it means that a run keeps the limit."""
    solids = solids_unit(case.feed.turbidity_ratio, system)
    (limit,) = written([(case.judged.limit or 0.0) * solids.per_result_unit])
    if case.run.allowed_breach is None:
        return f"no time over {limit} {solids.symbol}"
    hours = case.run.allowed_breach / HOUR
    return f"at most {hours:g} avoidable h a year over {limit} {solids.symbol}"


def spread_caption(over: OverRanges, kept: str = "") -> str:
    """What the spread is of, and what it means to keep the limit where that is not told elsewhere."""
    limit = f"; a run keeps the limit with {kept}" if kept and over.limited else ""
    return f"Over the usual ranges of what is assumed, the least to the most of {over.runs} runs each{limit}"


def spread_listing(
    over: OverRanges, names: Names, ways: str, system: System, kept: str = "runs that keep the limit"
) -> Listing:
    """The least to the most of each figure: a row a way, with how many of the runs keep the limit."""
    known = {key: named for key, named in names.items() if any(over.span(way, key) for way in over.typical)}
    columns = [Column(ways, "long words")]
    columns += [Column(f"{named.words}, {named.unit}" if named.unit else named.words, "numbers")
                for named in known.values()]  # fmt: skip
    rows = [
        (way, *(_span_text(over, way, key, named, system) for key, named in known.items())) for way in over.typical
    ]
    if over.limited:
        columns.append(Column(kept, "numbers"))
        rows = [(*row, f"{over.keeping(row[0])} of {over.runs}") for row in rows]
    return Listing(columns=tuple(columns), rows=tuple(rows))


def _span_text(over: OverRanges, way: str, key: str, named: Named, system: System) -> str:
    span = over.span(way, key)
    if span is None:
        return ABSENT
    low, high = named.texts([span.low, span.high], system)
    return low if low == high else f"{low} to {high}"


def change_words(
    over: OverRanges, moves: Sequence[Move], names: Names, case: Case, system: System,
    turns: Mapping[str, str] | None = None,
) -> tuple[str, ...]:
    """The constants that move the answer most, what each does, and what measurements would settle it.

    `turns` says by key what a constant turns at which end.
    """  # fmt: skip
    if not moves:
        return ("No constant that is assumed moves what decides by much, taken by itself.",)
    told = [_move_words(each, names, case, system, (turns or {}).get(each.key, "")) for each in moves[:TOLD]]
    return (*told, f"What would settle it (common practice): {'; '.join(settling(moves))}.")


def brief_words(moves: Sequence[Move], names: Names, case: Case, system: System) -> tuple[str, ...]:
    """The same constants, a sentence each."""
    return tuple(_brief(each, names[each.figure], case, system) for each in moves[:TOLD])


def _brief(move: Move, named: Named, case: Case, system: System) -> str:
    name, what, usual = _constant_words(move, case, system)
    known = [value for value in (move.at_low, move.typical, move.at_high) if value == value]
    low, high = named.texts([min(known), max(known)], system)
    plain = f"{name.partition(': ')[0]}: {what}" if what and ": " in name else what or name
    return f"{plain} ({usual}): over that range {named.words} with “{move.way}” is {low} to {high} {named.unit}."


def _move_words(move: Move, names: Names, case: Case, system: System, turn: str) -> str:
    name, what, usual = _constant_words(move, case, system)
    named = names[move.figure]
    ends = [
        f"{named.text(figure, system)} at its {end} end"
        for end, figure in (("low", move.at_low), ("high", move.at_high))
        if figure == figure
    ]
    goes = f"{'is' if len(ends) == 1 else 'goes from'} {' to '.join(ends)}"
    told = (
        f"{name} ({f'{what}; ' if what else ''}{usual}): {named.words} with “{move.way}” {goes}, "
        f"{named.text(move.typical, system)} as assumed"
    )
    return f"{told}; {turn}." if turn else f"{told}."


def _constant_words(move: Move, case: Case, system: System) -> tuple[str, str, str]:
    """What a constant is called, what it is, and its value and usual range."""
    assumption = next(each for each in case.assumptions if each.key == move.key)
    unit, value, low, high = constant(assumption, system)
    symbol = "" if unit == "-" else f" {unit}"
    between = "or" if move.key.rpartition(".")[2] in CHOICES else "to"
    return (
        constant_name(move.key, case.stages), meaning(move.key),
        f"assumed {value}{symbol}, usual {low} {between} {high}",
    )  # fmt: skip
