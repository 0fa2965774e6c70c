"""What stands under each figure, and what is said in its place to somebody who does not see it."""

from collections.abc import Iterable, Sequence

import pandas as pd

from plots.course import extract, hatch_is_seen
from plots.inputs import Bed, Compared, Course, Pictures, Rinsed, RunBars, Span, Spread, WeekPicture
from plots.runs import brief, crowded
from plots.section import capacity_shows
from plots.style import day
from plots.week import rounds_of, shown_rounds, shown_signals
from plots.words import Words, typeset

HOURS_A_DAY = 24.0


def number(value: float) -> str:
    """Three significant figures, without an exponent where none is needed."""
    return f"{float(f'{value:.3g}'):,.10g}"


def listed(texts: Iterable[str]) -> str:
    """Texts one after the other."""
    return "; ".join(texts)


def compared_alt(policies: Sequence[str], figures: Iterable[Compared], words: Words) -> str:
    """Every number of the bars."""

    def numbers(compared: Compared) -> str:
        told = zip(policies, compared.texts, strict=True)
        return f"{compared.measure.label}: " + ", ".join(f"{policy} {text}" for policy, text in told)

    return words.text("compared.alt", numbers=listed(numbers(compared) for compared in figures))


def spread_alt(pictures: Pictures, words: Words) -> str:
    """Every mean with its interval, and the least and the most of the runs."""

    def numbers(spread: Spread) -> str:
        told = []
        for policy, text, values in zip(pictures.policies, spread.texts, spread.values, strict=True):
            known = [value for value in values if value == value]
            ends = (number(min(known)), number(max(known))) if known else ("-", "-")
            told.append(words.text("spread.alt_policy", policy=policy, mean=text, least=ends[0], most=ends[1]))
        return f"{spread.measure.label}: " + ", ".join(told)

    return words.text("spread.alt", numbers=listed(numbers(spread) for spread in pictures.spread))


def course_caption(course: Course, words: Words) -> str:
    """What to look for in the course of a stage."""
    shown = words.text("course.whole") if course.whole else extract(course, words)
    sentences = [words.text("course.caption", stage=course.stage, policy=course.policy, shown=shown)]
    if course.table["solids"].isna().any():
        sentences[0] += words.text("course.caption_breaks")
    sentences[0] += "."
    if course.limit is not None:
        sentences.append(_over_words(course, words))
    return " ".join(sentences)


def _over_words(course: Course, words: Words) -> str:
    """The hours over the limit in what is shown and in the whole run, and whether they can be seen."""
    here, whole = course.over_h
    if not whole:
        return words.text("course.caption_under")
    if not here:
        return words.text("course.caption_over_elsewhere", whole=number(whole))
    seen = words.text("course.hatched" if hatch_is_seen(course) else "course.unseen")
    also = "" if course.whole else words.text("course.caption_over_whole", whole=number(whole))
    return words.text("course.caption_over", here=number(here), seen=seen, whole=also)


def course_alt(course: Course, words: Words) -> str:
    """The span, the number of washes, and the highest values against their lines."""
    table = course.table
    lines = [
        _highest(table["pressure"], course.pressure.label, course.set_point, "course.set_point", words),
        _highest(table["solids"], course.solids.label, course.limit, "course.limit", words),
    ]
    return words.text(
        "course.alt", stage=course.stage, policy=course.policy, start=day(table["time"].iloc[0], words),
        end=day(table["time"].iloc[-1], words), washes=len(course.washes), highest=listed(lines),
        over="" if course.limit is None else _over_words(course, words),
    ).rstrip()  # fmt: skip


def _highest(values: pd.Series, label: str, line: float | None, name: str, words: Words) -> str:
    top = number(float(values.max())) if values.notna().any() else words.text("compared.absent")
    told = words.text("course.highest", label=label, top=top)
    return told if line is None else f"{told}, {words.text(name)} {number(line)}"


def left_out(pictures: Pictures, words: Words) -> str:
    """Who has no place in a figure of several policies, to be added to its caption."""
    if not pictures.left_out:
        return ""
    return " " + words.text("report.left_out", names=", ".join(f"“{name}”" for name in pictures.left_out))


def runs_caption(bars: RunBars, words: Words) -> str:
    """How to read the bars of the filter runs."""
    if crowded(bars):
        return words.text("runs.caption_months", stage=bars.stage)
    sentences = [words.text("runs.caption", stage=bars.stage)]
    if bars.table["over"].notna().any():
        over = bool((bars.table["over"] > 0.0).any())
        sentences.append(_runs_over(bars, words) if over else words.text("runs.caption_none"))
    return " ".join(sentences)


def _runs_over(bars: RunBars, words: Words) -> str:
    """What is black, and what is too little of it to be seen."""
    few = bars.table["over"][brief(bars)]
    an_hour = HOURS_A_DAY if bars.length.unit == "d" else 1.0
    told = "" if few.empty else words.text("runs.caption_brief", count=f"{len(few)} run" + "s" * (len(few) > 1),
                                           hours=f"{number(float(few.max()) * an_hour)} h")  # fmt: skip
    return words.text("runs.caption_over", brief=told)


def runs_alt(bars: RunBars, words: Words) -> str:
    """For each policy how many runs, how long they are, and what ended them."""
    told = []
    for policy in bars.policies:
        table = bars.table[bars.table["policy"] == policy]
        causes = table["cause"].value_counts(sort=False)
        told.append(
            words.text(
                "runs.alt_policy", policy=policy, count=len(table), shortest=number(float(table["length"].min())),
                longest=number(float(table["length"].max())), unit=bars.length.unit,
                causes=", ".join(f"{cause} {count}" for cause, count in causes.items()),
            )
        )  # fmt: skip
    return words.text("runs.alt", stage=bars.stage, policies=listed(told))


def bed_caption(bed: Bed, words: Words) -> str:
    """What to see in the section and the curves."""
    ended: dict[str, list[str]] = {}
    for policy, end in bed.ends.items():
        ended.setdefault(day(end, words), []).append(f"“{policy}”")
    ends = listed(f"{time} with {', '.join(names)}" for time, names in ended.items())
    told = words.text("bed.caption", stage=bed.stage, policy=bed.shown, ends=ends)
    near = "bed.caption_near" if capacity_shows(bed) else "bed.caption_far"
    return told + words.text(near, holds=number(bed.holds), unit=typeset(bed.deposit.unit))


def bed_alt(bed: Bed, words: Words) -> str:
    """For each policy when its run ended, and the deposit at the top and at the bottom of the bed."""
    told = []
    for policy, end in bed.ends.items():
        deposit = bed.slices.loc[bed.slices["policy"] == policy, "deposit"]
        told.append(
            words.text(
                "bed.alt_policy", policy=policy, end=day(end, words), top=number(float(deposit.iloc[0])),
                bottom=number(float(deposit.iloc[-1])), unit=bed.deposit.unit,
            )
        )  # fmt: skip
    layers = ", ".join(bed.layers["medium"])
    return words.text("bed.alt", stage=bed.stage, policy=bed.shown, layers=layers, policies=listed(told))


def rinsed_alt(rinsed: Rinsed, words: Words) -> str:
    """Every jar, and what each vessel holds."""
    jars = [
        words.text("rinsed.jar", minutes=number(minutes), text=text)
        for minutes, text in rinsed.jars[["minutes", "text"]].itertuples(index=False)
    ]
    vessels = [f"{each.name}: {each.water_text}, {each.bed_text}" for each in rinsed.sections]
    return words.text("rinsed.alt", label=rinsed.solids.label, jars=", ".join(jars), vessels=listed(vessels))


def week_caption(week: WeekPicture, words: Words) -> str:
    """What to look for in a week, and what of it is not enlarged or not drawn."""
    rounds, shown = rounds_of(week.washes), shown_rounds(week)
    lane = "week.caption" if week.level is not None or week.raw else "week.caption_plain"
    sentences = [words.text(lane if rounds else "week.caption_no_wash")]
    if len(shown) < len(rounds):
        sentences.append(words.text("week.caption_some", shown=len(shown), all=len(rounds)))
    if len(shown_signals(week)) < len(week.signals):
        sentences.append(words.text("week.caption_signals", shown=len(shown_signals(week)), all=len(week.signals)))
    if week.raw:
        sentences.append(words.text("week.caption_raw"))
    return " ".join(sentences)


def week_alt(week: WeekPicture, words: Words) -> str:
    """How many washes, whose, and the minutes of what happened to the unit."""
    counts = week.washes.table.loc[week.washes.table["step"] == "backwash", "vessel"].value_counts(sort=False)
    washed = ", ".join(f"{vessel} {count}" for vessel, count in counts.items()) or words.text("week.none")
    happened = [
        words.text("week.alt_minutes", what=words.text(f"week.{name}"), minutes=number(minutes_of(spans)))
        for name, spans in (("held", week.held), ("raw", week.raw), ("starved", week.starved))
        if spans
    ]
    return words.text("week.alt", number=week.number, policy=week.policy, start=day(week.start, words),
                      washed=washed, happened=listed(happened) or words.text("week.quiet"))  # fmt: skip


def minutes_of(spans: Sequence[Span]) -> float:
    """Minutes of all spans."""
    return sum((span.end - span.start).total_seconds() for span in spans) / 60.0
