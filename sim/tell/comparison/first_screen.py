"""The answer of a comparison against today's way, what gets worse, how sure it is: first screen and report alike."""

from collections.abc import Iterator, Sequence
from typing import Literal, get_args

from plots.inputs import Answer
from plots.words import Kind, Label, Name, Number, Sentence, Term, count, items, label, localised, paragraph, say
from sim.case.quantities import System
from sim.case.record import record
from sim.case.trigger.records import by_calendar
from sim.case.units import HOUR
from sim.study.choice import NO_TIME, Choice, once
from sim.study.compare import Comparison
from sim.study.decide.advice import policy_of_today
from sim.study.decide.limits import OVER_DISSOLVED, Limit
from sim.study.doubts import Doubt, doubts
from sim.study.many.doubts_of_many import doubts_of
from sim.study.many.repeat import Repeated
from sim.study.ranking import RangeTest
from sim.tell.comparison.answer_words import answer, sure
from sim.tell.comparison.doubt_words import chemistry_words, grave_words, telling_words
from sim.tell.comparison.leading import named
from sim.tell.comparison.many_words import of_the_runs
from sim.tell.comparison.many_words import simulated as runs_simulated
from sim.tell.comparison.range_words import ranges_told
from sim.tell.comparison.remarks import earlier_stage
from sim.tell.comparison.shown import Shown
from sim.tell.comparison.spread_words import limit_words
from sim.tell.comparison.tables import text_table
from sim.tell.decision.told import limits_words
from sim.tell.kpis import CARD, DECISIVE, KPIS
from sim.tell.listing import Column, Listing
from sim.tell.present import duration, row
from sim.tell.sentences import fault_words, simulated

MARK = "!"
FEWEST_DECISIVE, MOST_DECISIVE = 2, 4
ACROSS = 5  # ways that stand side by side; more of them one below the other
HELD = {
    "over_limit_h": "over_limit_h", **{key: key for key in OVER_DISSOLVED}, "exposure": "oxidant_exposure_g_h_m3",
    "without": "regenerations_without", "unmet_m3": "unmet_m3", "raw_min": "bypass_min",
}  # fmt: skip
"""The figures that limits are held against."""
State = Literal["supply_kpa", "rating_kpa", "below_clean_kpa", "idle", "off_line"]
"""The limits that no figure of the site shows."""


@record
class FirstScreen:
    """What stands on a first screen, in this order; of `change` as much as there is room for."""

    title: str
    answer: tuple[str, ...]
    table: Listing
    legend: str
    change: tuple[str, ...]
    foot: tuple[str, ...]


def answer_of(screen: FirstScreen) -> Answer:
    """The same as a report has it."""
    table = text_table(label("compare.side_by_side"), screen.table)
    return Answer(sentences=screen.answer, table=table, notes=(screen.legend, *screen.foot), change=screen.change)


def screen_of_one(
    comparison: Comparison, system: System, *, test: RangeTest | None = None, stages: bool = False,
    whole: bool = False,
) -> FirstScreen:  # fmt: skip
    """Of one run of every way; `test` knows the ranges of what is assumed, `whole` has all that they say."""
    case, results, ranges = comparison.case, comparison.results, ranges_told(test, comparison.case, system)
    return first_screen(
        Choice(once(case, comparison.seed, results)), doubts(case, results), system, stages=stages,
        title=simulated(case, comparison.days), earlier=earlier_stage(case, results, system), test=test,
        moves=ranges.change if whole else ranges.brief,
    )  # fmt: skip


def screen_of_many(repeated: Repeated, system: System, *, stages: bool = False) -> FirstScreen:
    """Of many runs of every way."""
    return first_screen(
        Choice(repeated), doubts_of(repeated), system, stages=stages, remarks=of_the_runs(repeated),
        title=f"{repeated.case.title} ({runs_simulated(repeated)})",
    )  # fmt: skip


def first_screen(
    choice: Choice, found: Sequence[Doubt], system: System, *, stages: bool = False, title: str = "",
    earlier: Sequence[Sentence] = (), remarks: Sequence[Sentence] = (), test: RangeTest | None = None,
    moves: Sequence[Sentence] = (),
) -> FirstScreen:  # fmt: skip
    """All of it: `found` are the doubts of these runs, `earlier` tells of a stage before the one judged.

    `remarks` are of many runs, `moves` tell of the constants that move the answer most.
    """
    shown, doubted = Shown(choice, system), telling_words(found, system)
    return FirstScreen(
        title=title,
        answer=(*answer(shown, found), *grave_words(found, system), *sure(shown, test), *remarks),
        table=_table(shown, stages),
        legend=_legend(shown),
        change=(*earlier, *moves[:1], *doubted[:1], *moves[1:], *doubted[1:]),
        foot=(*fault_words(choice.repeated.case), *chemistry_words(found), *_foot(shown)),
    )


def answered_early(comparison: Comparison, system: System, *, part: bool = False) -> Sentence:
    """The answer in short before the ranges are tried, or of the first days alone before the others are run."""
    about = say("compare.first_days", count=count(round(comparison.days))) if part else say("compare.before_ranges")
    return paragraph(Sentence(screen_of_one(comparison, system).answer[0]), about)


def hint() -> Sentence:
    """How to have more than the first screen."""
    return say("compare.more")


def laid_out(first: str, heads: Sequence[str], rows: Sequence[Sequence[str]]) -> Listing:
    """Figures of ways that stand side by side or, where these are many, one below the other."""
    if len(heads) <= ACROSS:
        columns = (Column(first, "words"), *(Column(head, "numbers") for head in heads))
        return Listing(columns=columns, rows=tuple(tuple(row) for row in rows))
    labels = [Column(name, "numbers") for name, *_ in rows]
    lines = [(head, *(texts[place] for _, *texts in rows)) for place, head in enumerate(heads)]
    return Listing(columns=(Column(first, "long words"), *labels), rows=tuple(lines))


def _table(shown: Shown, stages: bool) -> Listing:
    """The card's three figures of every way and what else may decide, those of each stage below where asked for."""
    choice, case = shown.choice, shown.choice.repeated.case
    ways = choice.order
    heads = [label("compare.today", way=Name(way)) if way == choice.today and _is_todays(shown) else Name(way)
             for way in ways]  # fmt: skip
    rows: list[tuple[str, ...]] = [(shown.row_head(key), *shown.texts(key, ways)) for key in CARD]
    over = [choice.repeated.over(way) for way in ways]
    if case.run.allowed_over_limit is not None and all(each is not None for each in over):
        years = [label("compare.of", part=count(int(each.sum())), whole=count(each.size))
                 for each in over if each is not None]  # fmt: skip
        hours = localised(f"{case.run.allowed_over_limit / HOUR:g}")
        rows.append((label("compare.years_over", hours=hours), *years))
    if case.prices is not None:
        rows.append((shown.row_head("cost"), *shown.texts("cost", ways)))
    held = list(_held(shown, ways))
    decisive = _decisive(shown, ways, [head for head, *_ in held])
    rows += [(shown.row_head(key), *shown.texts(key, ways)) for key in decisive]
    rows += held
    for stage in case.stages if stages and len(case.stages) > 1 else ():
        for key in CARD:
            head = label("compare.of_stage", stage=Name(stage.name), figure=named(key), unit=shown.unit(key))
            rows.append((head, *shown.texts(key, ways, stage.name)))
    single = choice.repeated.figures.replicates == 1
    first = label("compare.in", length=shown.length) if single else label("compare.mean_of", length=shown.length)
    return laid_out(first, heads, rows)


def _decisive(shown: Shown, ways: Sequence[str], held: Sequence[str]) -> tuple[str, ...]:
    """The figures of what is dissolved that some way has any of, first those in which ways differ: as many as have
    room beside the rows of limits with these heads, which are not told twice.
    """
    crowded = len(ways) > ACROSS or shown.choice.repeated.figures.replicates > 1
    most = FEWEST_DECISIVE if crowded else max(MOST_DECISIVE - len(held), FEWEST_DECISIVE)
    texts = {key: shown.texts(key, ways) for key in DECISIVE if shown.row_head(key) not in held}
    met = [key for key in texts if any(shown.mean(key, way) for way in ways)]
    met = [key for key in met if not all(str(text).startswith("<") for text in texts[key])]
    alike = {key: len(set(texts[key])) == 1 for key in met}
    chosen = sorted(met, key=lambda key: alike[key])[:most]
    return tuple(key for key in met if key in chosen)


def _is_todays(shown: Shown) -> bool:
    """Whether what is taken for today's way can be: named so, or a calendar beside other ways."""
    case = shown.choice.repeated.case
    return bool(case.today) or (len(shown.choice.ways) > 1 and by_calendar(policy_of_today(case, None)))


def _held(shown: Shown, ways: Sequence[str]) -> Iterator[tuple[str, ...]]:
    """A row for each limit that some way breaks, marked where it does."""
    broken = {way: {each.key for each in _broken(shown, way)} for way in ways}
    for limit in (each for each in (*HELD, *get_args(State)) if any(each in keys for keys in broken.values())):
        head, texts = _held_row(shown, limit, ways, [limit in broken[way] for way in ways])
        yield head, *(f"{MARK} {text}" if limit in broken[way] else text
                      for way, text in zip(ways, texts, strict=True))  # fmt: skip


def _held_row(
    shown: Shown, limit: str, ways: Sequence[str], broken: Sequence[bool]
) -> tuple[Label | Term, Sequence[Number | Label]]:
    if limit == "over_limit_h" and shown.choice.repeated.case.run.allowed_over_limit is not None:
        return label("compare.avoidable"), _avoidable(shown, ways)
    if limit in HELD:
        return shown.row_head(HELD[limit]), shown.texts(HELD[limit], ways)
    yes_no = [label("compare.yes") if each else label("compare.no") for each in broken]
    return label("compare.state", limit=Kind(limit)), yes_no


def _avoidable(shown: Shown, ways: Sequence[str]) -> tuple[Number, ...]:
    """Time over the limit without what no wash would have avoided."""
    over = [[shown.mean(key, way) or 0.0 for key in ("over_limit_h", "over_limit_unavoidable_h")] for way in ways]
    avoidable = [{"over_limit_h": all_of_it - part} for all_of_it, part in over]
    return row(KPIS["over_limit_h"], avoidable, shown.system).texts


def _broken(shown: Shown, way: str) -> tuple[Limit, ...]:
    return (*shown.choice.unkept, *shown.choice.broken[way])


def _legend(shown: Shown) -> Sentence:
    """What the table's words and marks mean."""
    case = shown.choice.repeated.case
    broken = list(dict.fromkeys(each for way in shown.choice.ways for each in _broken(shown, way)))
    besides = {(each.key, each.stage): each for each in reversed(broken) if each != NO_TIME}
    others = limits_words(list(reversed(besides.values())), shown.system)
    told = [say("compare.risk")]
    if others and NO_TIME in broken:
        told.append(say("compare.broken_water_or", limits=others))
    elif others:
        told.append(say("compare.broken", limits=others))
    elif broken:
        told.append(say("compare.broken_water"))
    has_tank = case.downstream is not None and case.downstream.unit is not None
    if not has_tank and any(each.key == "unmet_m3" for each in broken):
        told.append(say("compare.no_tank"))
    return paragraph(*told)


def _foot(shown: Shown) -> Iterator[Sentence]:
    """What is the same for every way, and what stands in for today's."""
    choice, case = shown.choice, shown.choice.repeated.case
    if not case.today and len(choice.ways) > 1:
        yield say("compare.no_today", today=shown.today)
    same = [limit_words(case, shown.system)] if case.judged.limit is not None else []
    longest = [f"{stage.name} {duration(stage.longest_run)}" for stage in case.stages if stage.longest_run]
    if longest:
        same.append(say("compare.longest", runs=items(longest)))
    if choice.is_compared and choice.kind != "none":
        same.append(say("compare.as_set"))
    if same:
        yield paragraph(*same)
