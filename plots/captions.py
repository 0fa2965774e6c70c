"""What stands under each figure, and what is said in its place to somebody who does not see it."""

import math
from collections.abc import Iterable, Iterator, Sequence

import pandas as pd

from plots.course import hatch_is_seen
from plots.inputs import Bed, Compared, Course, Measure, Pictures, Rinsed, RunBars, Span, WeekPicture
from plots.runs import brief, crowded
from plots.section import capacity_shows
from plots.style import day
from plots.week import rounds_of, shown_dissolved, shown_rounds, shown_signals
from plots.words import (
    Amount,
    Kind,
    Name,
    Number,
    Sentence,
    amount,
    in_quotes,
    items,
    localised,
    paragraph,
    say,
    span,
    term,
    typeset,
)

HOURS_A_DAY = 24.0


def number(value: float) -> Number:
    """Three significant figures, without an exponent where none is needed."""
    return localised(f"{float(f'{value:.3g}'):.10g}")


def _amount(value: float, measure: Measure) -> Amount:
    return amount(number(value), typeset(measure.unit))


def compared_alt(policies: Sequence[str], figures: Iterable[Compared]) -> Sentence:
    """Every number of the bars."""
    return paragraph(say("compared.alt"), *(
        say("compared.alt_figure", figure=each.measure.term,
            numbers=items([f"{in_quotes(policy)} {text}" for policy, text in zip(policies, each.texts, strict=True)]))
        for each in figures
    ))  # fmt: skip


def spread_alt(pictures: Pictures) -> Sentence:
    """Every mean with its interval, and the least and the most of the runs."""

    def said() -> Iterator[Sentence]:
        for spread in pictures.spread:
            for policy, text, values in zip(pictures.policies, spread.texts, spread.values, strict=True):
                known = [value for value in values if value == value]
                least, most = (number(min(known)), number(max(known))) if known else (Number("-"), Number("-"))
                yield say("spread.alt_way", figure=spread.measure.term, way=Name(policy), mean=Number(text),
                          least=least, most=most)  # fmt: skip

    return paragraph(say("spread.alt"), *said())


def course_caption(courses: Sequence[Course]) -> Sentence:
    """What to look for in the course of some vessels under one policy."""
    return paragraph(*_course_words(courses))


def _course_words(courses: Sequence[Course]) -> Iterator[Sentence]:
    first, stages = courses[0], items([each.stage for each in courses])
    way, times, (shown, whole) = Name(first.policy), first.table["time"], first.days
    if first.whole:
        yield say("course.caption", count=len(courses), stages=stages, way=way)
    else:
        yield say(
            "course.caption_extract", count=len(courses), stages=stages, way=way, start=day(times.iloc[0]),
            end=day(times.iloc[-1]), shown=localised(f"{shown:.3g}"), whole=localised(f"{whole:.4g}"),
        )  # fmt: skip
    if any(each.table["solids"].isna().any() for each in courses):
        yield say("course.breaks")
    yield from _over_words(courses)


def _over_words(courses: Sequence[Course]) -> Iterator[Sentence]:
    """The hours over the limit in what is shown and in the whole run, and whether they can be seen."""
    limited = [each for each in courses if each.limit is not None]
    over = [each for each in limited if each.over_h[1]]
    if not over:
        if limited:
            yield say("course.never_over")
        return
    if courses[0].whole:
        yield say("course.over", hours=items([f"{each.stage} {number(each.over_h[0])}" for each in over]))
    else:
        yield say("course.over_extract", hours=items(
            [f"{each.stage} {number(each.over_h[0])} / {number(each.over_h[1])}" for each in over]
        ))  # fmt: skip
    unseen = [each.stage for each in over if each.over_h[0] and not hatch_is_seen(each)]
    if unseen:
        yield say("course.unseen", stages=items(unseen))


def course_alt(courses: Sequence[Course]) -> Sentence:
    """For each vessel the span, the number of washes, and the highest values against their lines."""

    def said() -> Iterator[Sentence]:
        for course in courses:
            times = course.table["time"]
            start, end = day(times.iloc[0]), day(times.iloc[-1])
            yield say("course.alt", stage=Name(course.stage), way=Name(course.policy), start=start, end=end)
            yield say("course.washes", washes=len(course.washes))
            yield say("course.highest", figure=course.pressure.term, top=_highest(course.table["pressure"]))
            if course.set_point is not None:
                yield say("course.set_point", value=number(course.set_point))
            yield say("course.highest", figure=course.solids.term, top=_highest(course.table["solids"]))
            if course.limit is not None:
                yield say("course.limit", value=number(course.limit))
        yield from _over_words(courses)

    return paragraph(*said())


def _highest(values: pd.Series) -> Number:
    return number(float(values.max())) if values.notna().any() else Number("-")


def left_out(pictures: Pictures) -> Iterator[Sentence]:
    """Who has no place in a figure of several policies, to be added to its caption."""
    if pictures.left_out:
        yield say("report.left_out", names=items([in_quotes(name) for name in pictures.left_out]))


def runs_caption(bars: RunBars) -> Sentence:
    """How to read the bars of the filter runs."""
    stage = Name(bars.stage)
    if crowded(bars):
        return say("runs.months", stage=stage)
    return paragraph(say("runs.caption", stage=stage), *_runs_over(bars))


def _runs_over(bars: RunBars) -> Iterator[Sentence]:
    """What is black, and what is too little of it to be seen."""
    over = bars.table["over"]
    if over.notna().any() and not (over > 0.0).any():
        yield say("runs.none_over")
    elif over.notna().any():
        yield say("runs.over")
        few = over[brief(bars)]
        if not few.empty:
            an_hour = HOURS_A_DAY if bars.length.unit == "d" else 1.0
            most = amount(number(float(few.max()) * an_hour), "h")
            yield say("runs.brief", count=len(few), most=most)


def runs_alt(bars: RunBars) -> Sentence:
    """For each policy how many runs, how long they are, and what ended them."""

    def said() -> Iterator[Sentence]:
        for policy in bars.policies:
            table = bars.table[bars.table["policy"] == policy]
            causes = [f"{cause} ({count})" for cause, count in table["cause"].value_counts(sort=False).items()]
            shortest, longest = (number(float(each)) for each in (table["length"].min(), table["length"].max()))
            lengths = span(shortest, longest, bars.length.unit)
            yield say("runs.alt_way", way=Name(policy), count=len(table), lengths=lengths, causes=items(causes))

    return paragraph(say("runs.alt", stage=Name(bars.stage)), *said())


def bed_caption(beds: Sequence[Bed]) -> Sentence:
    """What to see in the sections and the curves."""
    return paragraph(*_bed_words(beds))


def _bed_words(beds: Sequence[Bed]) -> Iterator[Sentence]:
    yield say("bed.caption", count=len(beds), stages=items([each.stage for each in beds]))
    if len(beds) == 1:  # of several the dates are said in their place alone, and stand in the tables
        ends = [f"{day(end)} ({in_quotes(policy)})" for policy, end in beds[0].ends.items()]
        yield say("bed.end", ends=items(ends))
    if any(capacity_shows(bed) for bed in beds):
        yield say("bed.near")
    if far := [bed for bed in beds if not capacity_shows(bed)]:
        holds = [f"{bed.stage} {_amount(bed.holds, bed.deposit)}" for bed in far]
        yield say("bed.far", holds=items(holds))
    if any(bed.used is not None for bed in beds):
        yield say("bed.used")


def bed_alt(beds: Sequence[Bed]) -> Sentence:
    """For each policy when its run ended, and the deposit at the top and at the bottom of the bed."""

    def said() -> Iterator[Sentence]:
        for bed in beds:
            layers = items(list(bed.layers["medium"]))
            yield say("bed.alt", stage=Name(bed.stage), way=Name(bed.shown), layers=layers)
            yield from _bed_ways(bed)

    return paragraph(*said())


def _bed_ways(bed: Bed) -> Iterator[Sentence]:
    for policy, end in bed.ends.items():
        deposit = bed.slices.loc[bed.slices["policy"] == policy, "deposit"]
        yield say("bed.alt_way", way=Name(policy), end=day(end), top=_amount(float(deposit.iloc[0]), bed.deposit),
                  bottom=_amount(float(deposit.iloc[-1]), bed.deposit))  # fmt: skip
        if bed.used is not None:
            used = bed.used[bed.used["policy"] == policy]
            deep = used["bottom"] - used["top"]
            yield say("bed.alt_used", used=amount(number(float((used["used"] * deep).sum() / deep.sum())), "%"))


def rinsed_alt(rinsed: Rinsed) -> Sentence:
    """Every jar, and what each vessel holds."""
    return paragraph(
        say("rinsed.alt", figure=rinsed.solids.term),
        *(
            say("rinsed.dry", minutes=number(minutes)) if math.isnan(solids)
            else say("rinsed.jar", minutes=number(minutes), reading=Number(str(text)))
            for minutes, solids, text in rinsed.jars[["minutes", "solids", "text"]].itertuples(index=False)
        ),
        *(
            say("rinsed.vessel", when=each.when, water=each.water_holds, bed=each.bed_holds)
            for each in rinsed.sections
        ),
    )  # fmt: skip


def week_caption(week: WeekPicture) -> Sentence:
    """What to look for in a week, and what of it is not enlarged or not drawn."""
    return paragraph(*_week_words(week))


def _week_words(week: WeekPicture) -> Iterator[Sentence]:
    rounds, shown = rounds_of(week.washes), shown_rounds(week)
    if not rounds:
        yield say("week.no_wash")
    else:
        yield say("week.caption") if week.level is not None or week.raw else say("week.plain")
    if len(shown) < len(rounds):
        yield say("week.some_rounds", shown=len(shown), all=len(rounds))
    if len(shown_signals(week)) < len(week.signals):
        yield say("week.some_signals", shown=len(shown_signals(week)), all=len(week.signals))
    if shown_dissolved(week):
        yield say("week.dissolved")
    if len(shown_dissolved(week)) < len(week.dissolved):
        yield say("week.some_dissolved", shown=len(shown_dissolved(week)), all=len(week.dissolved))
    if week.raw:
        yield say("week.raw")


def week_why(why: str) -> Sentence:
    """Why this week is shown and not another."""
    return say("week.why", why=Kind(why))


def week_alt(week: WeekPicture) -> Sentence:
    """How many washes, whose, and the minutes of what happened to the unit."""
    counts = week.washes.table.loc[week.washes.table["step"] == "backwash", "vessel"].value_counts(sort=False)
    washed = [f"{vessel} {count}" for vessel, count in counts.items()]
    happened = [
        say("week.minutes", what=term("lane", name), minutes=number(minutes_of(spans)))
        for name, spans in (("held", week.held), ("raw", week.raw), ("starved", week.starved))
        if spans
    ]
    return paragraph(
        say("week.alt", number=week.number, way=Name(week.policy), start=day(week.start)),
        say("week.washed", washes=items(washed)) if washed else say("week.not_washed"),
        *(happened or [say("week.quiet")]),
        *(
            say("week.highest_dissolved", what=each.measure.term, top=_highest(each.table["dissolved"]),
                unit=Name(typeset(each.measure.unit)), regenerations=len(each.regenerated) + len(each.unrestored))
            for each in shown_dissolved(week)
        ),
    )  # fmt: skip


def minutes_of(spans: Sequence[Span]) -> float:
    """Minutes of all spans."""
    return sum((span.end - span.start).total_seconds() for span in spans) / 60.0
