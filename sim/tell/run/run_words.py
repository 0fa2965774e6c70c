"""The first screen of one run: what it took, in sentences, and what started its washes."""

from collections import Counter
from collections.abc import Iterator

from plots.words import Amount, Name, amount, count, in_days, label, paragraph, say
from sim.case.quantities import System
from sim.study.doubts import doubts
from sim.study.single import SingleRun
from sim.tell.comparison.doubt_words import chemistry_words, first_words, grave_words, telling_words
from sim.tell.comparison.remarks import earlier_stage
from sim.tell.kpis import KPIS
from sim.tell.listing import Column, Listing
from sim.tell.present import ABSENT, UNITS, column, row
from sim.tell.sentences import cause_words, fault_words


def answer(single: SingleRun, system: System) -> Iterator[str]:
    """What the washes took, and what they let through."""
    case, result = single.case, single.result

    def of(key: str) -> Amount:
        found = row(KPIS[key], [result.site], system)
        return amount(found.texts[0], found.unit)

    found = doubts(case, [result])
    yield from (*first_words(found), *grave_words(found, system))
    yield say(
        "run.took", way=Name(result.policy), count=int(result.site["washes"] or 0), length=in_days(result.days),
        drain=of("drain_m3"), downtime=of("downtime_h"),
    )  # fmt: skip
    judged = Name(case.judged.name)
    if result.site["over_limit_h"]:
        over, unavoidable = of("over_limit_h"), of("over_limit_unavoidable_h")
        kept = say("run.over", stage=judged, over=over, unavoidable=unavoidable)
        yield paragraph(kept, say("run.broken", share=of("breakthrough_risk")))
    elif result.site["over_limit_h"] is not None:
        yield say("run.never_over", stage=judged)
    yield say("run.met", unmet=of("unmet_m3"), peak=of("peak_dp_kpa"))
    yield from (*earlier_stage(case, [result], system), *telling_words(found, system))
    yield from (*chemistry_words(found), *fault_words(case))


def causes(single: SingleRun, system: System) -> Listing:
    """By stage how many washes there were, how long the mean run was, and what started how many of them."""
    stages = single.case.stages
    hours = column([single.result.stages[stage.name]["mean_run_h"] for stage in stages], "hours", system)
    lines = []
    for stage, mean in zip(stages, hours, strict=True):
        counts = Counter(
            cause_words(run) for run in single.result.runs if run.stage == stage.name and run.cause is not None
        )
        told = ", ".join(f"{cause} {count(washes)}" for cause, washes in counts.most_common())
        lines.append((stage.name, count(counts.total()), mean, told or ABSENT))
    heads = (
        Column(label("column.stage"), "words"), Column(label("run.washes"), "numbers"),
        Column(label("run.mean_run", unit=UNITS[system]["hours"].symbol), "numbers"),
        Column(label("run.causes"), "long words"),
    )  # fmt: skip
    return Listing(columns=heads, rows=tuple(lines))
