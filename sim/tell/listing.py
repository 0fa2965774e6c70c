"""One run and one checked case as tables of text, for whatever shows them."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from plots.words import Label, label, term
from sim.case.quantities import System
from sim.case.record import record
from sim.case.records import Assumption, Case
from sim.tell.kpis import LEDGER
from sim.tell.present import UNITS, column, constant, is_shown, row, with_unit
from sim.tell.review.constant_names import constant_name, meaning
from sim.tell.sentences import SITE, cause_words, day_clock

if TYPE_CHECKING:  # the plant brings the engine along, which a check does without
    from sim.case.chemistry.records import Solute
    from sim.plant.records import FilterRun, RunResult, Way
    from sim.study.single import SingleRun


@dataclass(frozen=True, slots=True)
class Column:
    """A column: its head, and whether it holds numbers, words, or words that may be long."""

    head: str
    holds: Literal["numbers", "words", "long words"]


@record
class Listing:
    """A table of text."""

    columns: tuple[Column, ...]
    rows: tuple[tuple[str, ...], ...]


def listing_of(columns: Sequence[tuple[Column, Sequence[str]]]) -> Listing:
    """A table by its columns, each as long as the others."""
    heads = tuple(head for head, _ in columns)
    return Listing(columns=heads, rows=tuple(zip(*(texts for _, texts in columns), strict=True)))


def run_listing(single: "SingleRun", runs: "Sequence[FilterRun]", system: System) -> Listing:
    """Filter runs, a row each; with the stage where they are of several."""
    start, days = single.case.run.start, single.result.days
    volume, pressure = UNITS[system]["volume"].symbol, UNITS[system]["pressure"].symbol
    several, stages = any(run.vessel > 1 for run in runs), len({run.stage for run in runs}) > 1
    vessels = [str(run.vessel) for run in runs]
    over, unused = [run.over_limit_h for run in runs], [run.unused_capacity for run in runs]
    clean, end = [run.clean_dp_kpa for run in runs], [run.end_dp_kpa for run in runs]
    left = [run.capacity_left for run in runs]
    takes_up = any(each is not None for each in left)
    return listing_of(
        [
            *([(Column(label("column.stage"), "words"), [run.stage for run in runs])] if stages else []),
            *([(Column(label("run_column.vessel"), "numbers"), vessels)] if several else []),
            (Column(label("run_column.number"), "numbers"), [str(run.number) for run in runs]),
            (Column(label("run_column.from"), "words"), [day_clock(start, run.start_s, days) for run in runs]),
            (Column(label("run_column.to"), "words"), [day_clock(start, run.end_s, days) for run in runs]),
            (Column(label("run_column.cause"), "long words"), [cause_words(run) for run in runs]),
            (
                Column(label("run_column.treated", unit=volume), "numbers"),
                column([run.volume_m3 for run in runs], "volume", system),
            ),
            (Column(label("run_column.clean", unit=pressure), "numbers"), column(clean, "pressure", system)),
            (Column(label("run_column.end", unit=pressure), "numbers"), column(end, "pressure", system)),
            (Column(label("run_column.over"), "numbers"), column(over, "hours", system)),
            (Column(label("run_column.unused"), "numbers"), column(unused, "share", system)),
            *([(Column(label("run_column.left"), "numbers"), column(left, "share", system))] if takes_up else []),
        ]
    )


def ledger_listing(single: "SingleRun", system: System) -> Listing:
    """Where water and solids went: the site and, where there are several, each stage."""
    stages = single.result.stages
    places = {label("column.site"): single.result.site} | (stages if len(stages) > 1 else {})
    lines = [row(kpi, list(places.values()), system) for kpi in LEDGER if is_shown(kpi, list(places.values()))]
    return Listing(
        columns=(Column("", "words"), *(Column(place, "numbers") for place in places)),
        rows=tuple((line.label, *line.texts) for line in lines),
    )


def solute_listing(single: "SingleRun", system: System) -> Listing:
    """Where what is dissolved came from and went, a row for each stage and solute."""
    site, head = label("column.site"), label("column.stage")
    return _solutes({site if place == SITE else place: books for place, books in single.result.solutes.items()}, head,
                    system)  # fmt: skip


def site_solute_listing(results: "Sequence[RunResult]", system: System) -> Listing | None:
    """The same of the site, a row for each way to start a wash and solute; None where nothing is dissolved."""
    books = {each.policy: each.solutes[SITE] for each in results if each.solutes}
    return _solutes(books, label("settings.way"), system) if books else None


def _solutes(
    books: "Mapping[str, Mapping[Solute, Mapping[Way, float]]]", head: Label, system: System
) -> Listing:
    """A row for each place and solute that is met; without ways that nothing took."""
    rows = [
        (place, solute, ways)
        for place, solutes in books.items()
        for solute, ways in solutes.items()
        if any(ways.values())
    ]
    met = dict.fromkeys(way for _, _, ways in rows for way in ways if any(each[way] for _, _, each in rows))
    unit = UNITS[system]["mass"].symbol
    return listing_of(
        [
            (Column(head, "words"), [place for place, _, _ in rows]),
            (Column(label("solutes.solute"), "words"), [term("solute", solute) for _, solute, _ in rows]),
            *(
                (Column(with_unit(term("solute_way", way), unit), "numbers"),
                 column([ways[way] for _, _, ways in rows], "mass", system, fine=True))
                for way in met
            ),
        ]
    )  # fmt: skip


def assumed_listing(case: Case, system: System) -> Listing:
    """Every assumed constant with its usual range; the number of its source refers to `sources`."""
    assumptions = case.assumptions
    known = sources(assumptions)
    shown = [constant(each, system) for each in assumptions]
    names = [constant_name(each.key, case.stages) for each in assumptions]
    numbered = [f"[{known.index(each.source) + 1}]" for each in assumptions]
    return listing_of(
        [
            (Column(label("constant.name"), "long words"), names),
            (Column(label("constant.meaning"), "long words"), [meaning(each.key) for each in assumptions]),
            *((Column(head, "numbers"), texts) for head, texts in _range_columns(shown)),
            (Column(label("column.unit"), "words"), [unit for unit, *_ in shown]),
            (Column(label("constant.source"), "numbers"), numbered),
        ]
    )


def _range_columns(shown: Sequence[tuple[str, ...]]) -> list[tuple[Label, list[str]]]:
    heads = (label("constant.value"), label("constant.low"), label("constant.high"))
    return [(head, [texts[place] for texts in shown]) for place, head in enumerate(heads, 1)]


def sources(assumptions: Sequence[Assumption]) -> tuple[str, ...]:
    """Where the constants come from, each source once, in the order of its first use."""
    return tuple(dict.fromkeys(each.source for each in assumptions))
