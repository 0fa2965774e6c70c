"""How far figures spread over the ranges of constants, and what would change the answer: words and a table."""

from collections.abc import Mapping, Sequence
from typing import Literal

from plots.words import (
    Amount,
    Code,
    Items,
    Kind,
    Label,
    Name,
    Number,
    Sentence,
    Term,
    amount,
    count,
    items,
    label,
    localised,
    paragraph,
    say,
    span,
)
from sim.case.quantities import Quantity, System
from sim.case.record import record
from sim.case.records import CHOICES, Case
from sim.case.units import HOUR
from sim.study.over_ranges import Move, OverRanges
from sim.tell.listing import Column, Listing
from sim.tell.present import ABSENT, UNITS, constant, solids_unit, with_unit, written
from sim.tell.review.constant_names import constant_name, meaning
from sim.tell.review.measurements import TOLD, settling


@record
class Named:
    """What a figure is called where it is told, and what it is."""

    words: Term
    quantity: Quantity
    unit: Code | Name

    def text(self, value: float, system: System) -> Amount:
        """A value with its unit."""
        return amount(self.texts([value], system)[0], self.unit)

    def texts(self, values: Sequence[float], system: System) -> tuple[Number, ...]:
        """Values without it."""
        return written([value * UNITS[system][self.quantity].per_result_unit for value in values])


Names = Mapping[str, Named]


Known = Literal["assumed", "given"]
NAMED = 3  # ends at which a way washes without end


@record
class RangesTold:
    """What is told of the ranges: how far the figures spread, what would change the answer, which ends cannot be run.

    `caption` stands above the spread, `brief` are the first of `change` in short. Nothing of it where no constant is
    assumed.
    """

    order: tuple[Sentence, ...] = ()
    caption: str = ""
    spread: Listing | None = None
    change: tuple[Sentence, ...] = ()
    brief: tuple[Sentence, ...] = ()


def refused_words(refused: Sequence[tuple[str, str, str]], case: Case) -> tuple[Sentence, ...]:
    """The ends of ranges that could not be run."""
    ends = [label("range.at_end", end=Kind(end), constant=Name(constant_name(key, case.stages)))
            for key, end, _ in refused]  # fmt: skip
    return (say("range.not_tried", ends=items(ends)),) if ends else ()


def endless_words(endless: Sequence[tuple[str, str, str]], case: Case) -> tuple[Sentence, ...]:
    """At how many ends each way washes without end, and the first of them."""
    ways: dict[str, list[Label]] = {}
    for key, end, way in endless:
        at_end = label("range.at_end", end=Kind(end), constant=Name(constant_name(key, case.stages)))
        ways.setdefault(way, []).append(at_end)
    return tuple(
        say("range.endless", way=Name(way), count=len(ends), ends=items(ends[:NAMED])) for way, ends in ways.items()
    )


def limit_of(case: Case, system: System) -> Amount:
    """The limit of the water that is judged."""
    solids = solids_unit(case.feed.turbidity_ratio, system)
    (limit,) = written([(case.judged.limit or 0.0) * solids.per_result_unit])
    return amount(limit, solids.symbol)


def limit_words(case: Case, system: System) -> Sentence:
    """What it means that a run keeps the limit."""
    limit, allowed = limit_of(case, system), case.run.allowed_over_limit
    if allowed is None:
        return say("limit.no_time", limit=limit)
    return say("limit.allowed", hours=localised(f"{allowed / HOUR:g}"), limit=limit)


def spread_caption(over: OverRanges) -> Label:
    """What the spread is of."""
    return label("compare.ranges", runs=count(over.runs))


def spread_listing(over: OverRanges, names: Names, ways: str, system: System, kept: str) -> Listing:
    """The least to the most of each figure: a row a way, with how many of the runs keep the limit."""
    known = {key: named for key, named in names.items() if any(over.span(way, key) for way in over.typical)}
    columns = [Column(ways, "long words")]
    columns += [Column(with_unit(named.words, named.unit), "numbers") for named in known.values()]
    rows: list[tuple[str, ...]] = [
        (way, *(_span_text(over, way, key, named, system) for key, named in known.items())) for way in over.typical
    ]
    if over.limited:
        columns.append(Column(kept, "numbers"))
        rows = [(*row, label("compare.of", part=count(over.keeping(row[0])), whole=count(over.runs))) for row in rows]
    return Listing(columns=tuple(columns), rows=tuple(rows))


def _span_text(over: OverRanges, way: str, key: str, named: Named, system: System) -> Amount | Number:
    found = over.span(way, key)
    return ABSENT if found is None else span(*named.texts([found.low, found.high], system))


def change_words(
    over: OverRanges, moves: Sequence[Move], names: Names, case: Case, system: System,
    turns: Mapping[str, Sentence] | None = None,
) -> tuple[Sentence, ...]:
    """The constants that move the answer most, what each does, and what measurements would settle it.

    `turns` says by key what a constant turns at which end.
    """  # fmt: skip
    if not moves:
        return (say("range.nothing_moves"),)
    told = [
        paragraph(_constant_words(each, case, system, key=True), _ends_words(each, names[each.figure], system),
                  *([turns[each.key]] if turns and each.key in turns else []))
        for each in moves[:TOLD]
    ]  # fmt: skip
    return (*told, *(say("range.settle", measurement=Term(each)) for each in settling(moves)))


def brief_words(moves: Sequence[Move], names: Names, case: Case, system: System) -> tuple[Sentence, ...]:
    """The same constants, each with how far the figure goes that it moves most."""
    return tuple(
        paragraph(_constant_words(each, case, system), _over_words(each, names[each.figure], system))
        for each in moves[:TOLD]
    )


def _over_words(move: Move, named: Named, system: System) -> Sentence:
    known = [value for value in (move.at_low, move.typical, move.at_high) if value == value]
    low, high = named.texts([min(known), max(known)], system)
    return say("range.over", figure=named.words, way=Name(move.way), span=span(low, high, named.unit))


def _ends_words(move: Move, named: Named, system: System) -> Sentence:
    figure, way, typical = named.words, Name(move.way), named.text(move.typical, system)
    low, high = (None if value != value else named.text(value, system) for value in (move.at_low, move.at_high))
    if low and high:
        return say("range.at_both", figure=figure, way=way, low=low, high=high, typical=typical)
    if low:
        return say("range.at_low", figure=figure, way=way, low=low, typical=typical)
    assert high is not None
    return say("range.at_high", figure=figure, way=way, high=high, typical=typical)


def _constant_words(move: Move, case: Case, system: System, *, key: bool = False) -> Sentence:
    """What a constant is, its value and usual range; with its `key`, for whoever sets it."""
    assumption = next(each for each in case.ranged if each.key == move.key)
    how: Known = "given" if assumption in case.stated else "assumed"
    known = Kind(how)
    unit, value, low, high = constant(assumption, system)
    usual: Amount | Items
    if move.key.rpartition(".")[2] in CHOICES:
        assumed, usual = Amount(value), items([low, high], "or")
    else:
        assumed, usual = amount(Number(value), unit if unit != "-" else ""), span(Number(low), Number(high))
    name, what = Name(constant_name(move.key, case.stages)), Term(meaning(move.key))
    place, of_stage, _ = name.partition(": ")
    if not what:
        return say("range.constant_alone", known=known, constant=name, value=assumed, range=usual)
    if key:
        return say("range.constant_by_key", known=known, constant=name, what=what, value=assumed, range=usual)
    if not of_stage:
        return say("range.constant_alone", known=known, constant=what, value=assumed, range=usual)
    return say("range.constant", known=known, place=Name(place), what=what, value=assumed, range=usual)
