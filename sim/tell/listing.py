"""One run and one checked case as tables of text, for whatever shows them."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from sim.case.quantities import System
from sim.case.record import record
from sim.case.records import Assumption, Case
from sim.tell.kpis import LEDGER
from sim.tell.present import UNITS, column, constant, is_shown, row
from sim.tell.review.constant_names import constant_name, meaning
from sim.tell.sentences import cause_words, day_clock

if TYPE_CHECKING:  # the plant brings the engine along, which a check does without
    from sim.plant.records import FilterRun
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
    return listing_of(
        [
            *([(Column("stage", "words"), [run.stage for run in runs])] if stages else []),
            *([(Column("vessel", "numbers"), [str(run.vessel) for run in runs])] if several else []),
            (Column("no.", "numbers"), [str(run.number) for run in runs]),
            (Column("in service from", "words"), [day_clock(start, run.start_s, days) for run in runs]),
            (Column("to", "words"), [day_clock(start, run.end_s, days) for run in runs]),
            (Column("what started the wash", "long words"), [cause_words(run) for run in runs]),
            (
                Column(f"treated {volume}", "numbers"),
                column([run.volume_m3 for run in runs], "volume", system),
            ),
            (
                Column(f"clean {pressure}", "numbers"),
                column([run.clean_dp_kpa for run in runs], "pressure", system),
            ),
            (
                Column(f"end {pressure}", "numbers"),
                column([run.end_dp_kpa for run in runs], "pressure", system),
            ),
            (Column("over limit h", "numbers"), column([run.over_limit_h for run in runs], "hours", system)),
            (Column("unused %", "numbers"), column([run.unused_capacity for run in runs], "share", system)),
        ]
    )


def ledger_listing(single: "SingleRun", system: System) -> Listing:
    """Where water and solids went: the site and, where there are several, each stage."""
    stages = single.result.stages
    places = {"site": single.result.site} | (stages if len(stages) > 1 else {})
    lines = [row(kpi, list(places.values()), system) for kpi in LEDGER if is_shown(kpi, list(places.values()))]
    return Listing(
        columns=(Column("", "words"), *(Column(place, "numbers") for place in places)),
        rows=tuple((line.label, *line.texts) for line in lines),
    )


def assumed_listing(case: Case, system: System) -> Listing:
    """Every assumed constant with its usual range; the number of its source refers to `sources`."""
    assumptions = case.assumptions
    known = sources(assumptions)
    shown = [constant(each, system) for each in assumptions]
    return listing_of(
        [
            (Column("constant", "long words"), [constant_name(each.key, case.stages) for each in assumptions]),
            (Column("what it is", "long words"), [meaning(each.key) for each in assumptions]),
            *((Column(head, "numbers"), texts) for head, texts in _range_columns(shown)),
            (Column("unit", "words"), [unit for unit, *_ in shown]),
            (Column("source", "numbers"), [f"[{known.index(each.source) + 1}]" for each in assumptions]),
        ]
    )


def _range_columns(shown: Sequence[tuple[str, ...]]) -> list[tuple[str, list[str]]]:
    return [(head, [texts[place] for texts in shown]) for place, head in enumerate(("value", "low", "high"), 1)]


def sources(assumptions: Sequence[Assumption]) -> tuple[str, ...]:
    """Where the constants come from, each source once, in the order of its first use."""
    return tuple(dict.fromkeys(each.source for each in assumptions))
