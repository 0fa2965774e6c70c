"""Lesson: one softener on unlike days, restored by a calendar of one, two and three nights, and by volume."""

import math
from collections.abc import Iterator
from typing import Final

from plots.wall_inputs import BarsWall
from plots.words import Sentence, amount, in_days, label, say, term
from sim.case.records import Case
from sim.case.trigger.records import VolumeReserve
from sim.case.units import DAY
from sim.lessons.lesson import Display, Guess, Lesson, Ran, Row, Shown, Studied, Way, by_compare, first, least
from sim.study.single import triggers_of

POLICIES: Final = ("every night", "every second night", "every third night", "volume with reserve")
SHARES: Final = (0.95, 0.9, 0.85, 0.8, 0.75, 0.7, 0.65, 0.6)  # of the reserve of its volume
KEPT: Final = 1  # the longest calendar of these that is to suit every day


def figures(ran: Ran) -> Row:
    """Regenerations, their salt, the share of the bed that was still free at them, and the hours over the limit."""
    return {
        "policy": ran.way.name,
        "regenerations": ran.count("regenerations"),
        "salt_kg": ran.number("salt_kg"),
        "capacity_lost_fraction": ran.number("capacity_lost_fraction"),
        "hardness_over_h": ran.number("hardness_over_h"),
        "drain_m3": ran.number("drain_m3"),
    }


def cheapest(studied: Studied) -> int:
    """The place of the least salt among those that are over the hardness limit least."""
    over = min(row["hardness_over_h"] for row in studied.rows)
    return least([row["salt_kg"] if row["hardness_over_h"] == over else math.inf for row in studied.rows])


def sentences(studied: Studied, display: Display) -> Iterator[Sentence]:
    """What the calendars throw away, which of them is over the limit, and what the volume takes."""
    free = display.amounts([row["capacity_lost_fraction"] for row in studied.rows], "share")
    salt = display.amounts([row["salt_kg"] for row in studied.rows], "mass")
    over = display.amounts([row["hardness_over_h"] for row in studied.rows], "hours")
    names = [term("lesson_way", row["policy"]) for row in studied.rows]
    yield say("salt_lesson.thrown", way=names[0], free=free[0], salt=salt[0], other=names[KEPT],
              other_free=free[KEPT], other_salt=salt[KEPT])  # fmt: skip
    yield say("salt_lesson.longer", way=names[2], salt=salt[2], over=over[2])
    yield say("salt_lesson.metered", regenerations=studied.rows[3]["regenerations"], salt=salt[3], over=over[3])


def tries(lesson: Lesson, case: Case) -> list[Way]:
    """Less and less of the reserve."""
    key, reserve = f"policy.{POLICIES[-1]}.softener.reserve", _reserve(case)
    left = [f"{share * reserve:.6g} m3" for share in SHARES]
    return [Way(name=each, policy=POLICIES[-1], settings={key: each}) for each in left]


def _reserve(case: Case) -> float:
    trigger = triggers_of(case, POLICIES[-1])["softener"]
    assert isinstance(trigger, VolumeReserve)
    return trigger.reserve


def tried(studied: Studied, display: Display) -> Iterator[Sentence]:
    """The least reserve that is over the limit no longer than the case's own, then the next one, which is."""
    own, reserve = studied.rows[-1], _reserve(studied.case)
    longer = first([row["hardness_over_h"] > own["hardness_over_h"] for row in studied.tries])
    last = len(SHARES) if longer is None else longer
    volumes = display.amounts([reserve, *(share * reserve for share in SHARES)], "volume")
    if last:
        row = studied.tries[last - 1]
        (saved,) = display.amounts([own["salt_kg"] - row["salt_kg"]], "mass")
        (over,) = display.amounts([row["hardness_over_h"]], "hours")
        yield say("salt_lesson.saved", reserve=volumes[last], own=volumes[0], saved=saved, over=over)
    if longer is not None:
        (over,) = display.amounts([studied.tries[longer]["hardness_over_h"]], "hours")
        yield say("salt_lesson.too_little", reserve=volumes[longer + 1], over=over)


def picture(studied: Studied, display: Display) -> BarsWall:
    """Salt, what of the capacity was thrown away, and the hours over the limit."""
    salt = display.amounts([row["salt_kg"] for row in studied.rows], "mass")
    names = [term("lesson_way", each) for each in POLICIES]
    length = in_days(round(studied.case.run.length / DAY))
    return BarsWall(
        title=label("salt_lesson.wall", plant=studied.plant, length=length, salt=salt[KEPT], way=names[KEPT],
                    metered=salt[3]),
        bars=(
            studied.bars(label("salt_lesson.salt_of", length=length), "salt_kg", display, names),
            studied.bars(label("salt_lesson.free"), "capacity_lost_fraction", display, names),
            studied.bars(label("salt_lesson.over_in", length=length), "hardness_over_h", display, names),
        ),
    )


def situation(case: Case, display: Display) -> tuple[Sentence, Sentence]:
    """The days, and what every regeneration brings."""
    (stage,) = case.stages
    (salt,) = (step.salt for step in stage.steps if step.salt is not None)
    (text,) = display.texts([salt / 1e3], "mass")
    return say("salt_lesson.days"), say("salt_lesson.brings", salt=amount(text, display.unit("mass")))


LESSON: Final = Lesson(
    name="salt",
    files=("salt.toml",),
    situation=situation,
    question=lambda: say("salt_lesson.question"),
    guess=Guess(
        asks=lambda: say("salt_lesson.asks"),
        options=lambda lesson, case, display: [term("lesson_way", each.name) for each in lesson.ways],
        right=cheapest,
    ),
    now=lambda: say("salt_lesson.now"),
    tries=tries,
    tried=tried,
    where="start",
    again="compare {case}",
    ways=tuple(Way(name=each, policy=each) for each in POLICIES),
    figures=figures,
    drawn=lambda ran: None,
    columns=(
        Shown(head=lambda unit: label("salt_lesson.way"), holds="words", key="policy",
              text=lambda way, display: term("lesson_way", way)),
        Shown(head=lambda unit: label("salt_lesson.regenerations"), key="regenerations"),
        Shown(head=lambda unit: label("salt_lesson.salt", unit=unit), key="salt_kg", quantity="mass"),
        Shown(head=lambda unit: label("salt_lesson.lost", unit=unit), key="capacity_lost_fraction",
              quantity="share"),
        Shown(head=lambda unit: label("salt_lesson.over", unit=unit), key="hardness_over_h", quantity="hours"),
        Shown(head=lambda unit: label("lesson.drain", unit=unit), key="drain_m3", quantity="volume"),
    ),
    sentences=sentences,
    depends=lambda: say("salt_lesson.depends"),
    picture=picture,
    own=by_compare,
)  # fmt: skip
