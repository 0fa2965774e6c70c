"""Lesson: a meter that stops counting, under longest runs of 4, 6 and 9 days and without one."""

from collections.abc import Iterator
from typing import Final

from plots.wall_inputs import BarsWall
from plots.words import Amount, Label, Sentence, in_days, items, label, say
from sim.case.load import load_case
from sim.case.records import Case
from sim.case.units import DAY
from sim.lessons.lesson import FOLDER, Display, Guess, Lesson, Ran, Row, Shown, Studied, Way, of_each

KEY: Final = "stage.sand.longest_run"
FILE: Final = "stuck_meter.toml"
LONGEST: Final = ("4 d", "6 d", "9 d")
TRIED: Final = "5 d"
DAYS_A_YEAR: Final = 365


def figures(ran: Ran) -> Row:
    """Of the filter runs that end after the meter has stuck: washes, the longest, the share that broke through.

    `longest_run_d` is None without one; `by_meter_d` is the mean filter run until then.
    """
    stuck, longest = stuck_at(ran.case), ran.case.stages[0].longest_run
    before = [run for run in ran.result.runs if run.end_s <= stuck]
    after = [run for run in ran.result.runs if run.end_s > stuck]
    return {
        "longest_run_d": None if longest is None else longest / DAY,
        "by_meter_d": of_each(sum(run.end_s - run.start_s for run in before), len(before)) / DAY,
        "washes_after": sum(run.cause is not None for run in after),
        "longest_d": max(run.end_s - run.start_s for run in after) / DAY,
        "breakthrough_risk": sum(run.broke_through for run in after) / len(after),
        "over_limit_h": ran.number("over_limit_h"),
        "drain_m3": ran.number("drain_m3"),
    }


def stuck_at(case: Case) -> float:
    """When the meter stops counting [s]."""
    (fault,) = case.faults
    return fault.start


def length(case: Case) -> Amount:
    """Of the time with a stuck meter."""
    return in_days(round((case.run.length - stuck_at(case)) / DAY))


def named(longest_run_d: float | None) -> Label | Amount:
    """A longest run."""
    return label("stuck_lesson.none") if longest_run_d is None else in_days(longest_run_d)


def longest_kept(studied: Studied) -> int | None:
    """The place of the longest of them that is never over the limit."""
    kept = [place for place, row in enumerate(studied.rows) if not row["over_limit_h"]]
    return kept[-1] if kept else None


def sentences(studied: Studied, display: Display) -> Iterator[Sentence]:
    """The meter's own washes, those of each longest run, the hours over the limit, and what comes without one."""
    limited = [row for row in studied.rows if row["longest_run_d"] is not None]
    (usual,) = display.amounts([studied.rows[0]["by_meter_d"]], "days")
    washes = [label("stuck_lesson.washes_with", washes=row["washes_after"], longest=in_days(row["longest_run_d"]))
              for row in limited]  # fmt: skip
    yield say("stuck_lesson.washes", usual=usual, length=length(studied.case), washes=items(washes))
    over = display.amounts([row["over_limit_h"] for row in studied.rows], "hours")
    hours = [label("stuck_lesson.over_with", over=text, longest=in_days(row["longest_run_d"]))
             for text, row in zip(over, studied.rows, strict=True) if row in limited]  # fmt: skip
    yield say("stuck_lesson.over", over=items(hours))
    for text, row in zip(over, studied.rows, strict=True):
        if row["longest_run_d"] is None and row["washes_after"] == 0:
            yield say("stuck_lesson.never", over=text)


def tried(studied: Studied, display: Display) -> Iterator[Sentence]:
    """Whether 5 days keep the limit, and what they cost while the meter counts."""
    (row,), unlimited = studied.tries, studied.rows[-1]
    (over,) = display.amounts([row["over_limit_h"]], "hours")
    more = round(DAYS_A_YEAR / row["by_meter_d"] - DAYS_A_YEAR / unlimited["by_meter_d"])
    yield say("stuck_lesson.tried", longest=in_days(row["longest_run_d"]), over=over)
    yield say("stuck_lesson.more", count=more)


def picture(studied: Studied, display: Display) -> BarsWall:
    """Washes, the longest filter run and the hours over the limit, once the meter is stuck."""
    names = [named(row["longest_run_d"]) for row in studied.rows]
    over = display.amounts([row["over_limit_h"] for row in studied.rows], "hours")
    return BarsWall(
        title=label("stuck_lesson.wall", plant=studied.plant, length=length(studied.case), least=over[0],
                    most=over[-1], shortest=in_days(studied.rows[0]["longest_run_d"])),
        bars=(
            studied.bars(label("stuck_lesson.longest_in"), "longest_d", display, names),
            studied.bars(label("stuck_lesson.over_in", length=length(studied.case)), "over_limit_h", display, names),
        ),
    )


LESSON: Final = Lesson(
    name="stuck-meter",
    files=(FILE,),
    situation=lambda case, display: (say("stuck_lesson.meter"), say("stuck_lesson.stuck", length=length(case))),
    question=lambda: say("stuck_lesson.question"),
    guess=Guess(
        asks=lambda: say("stuck_lesson.asks", length=length(load_case(FOLDER / FILE))),
        options=lambda lesson, case, display: [*(in_days(int(each.split()[0])) for each in LONGEST), named(None)],
        right=longest_kept,
        or_none=True,
    ),
    now=lambda: say("stuck_lesson.now"),
    tries=lambda lesson, case: [Way(name=TRIED, settings={KEY: TRIED})],
    tried=tried,
    where="plant",
    again=f"sweep {{case}} --vary '{KEY}={','.join(LONGEST)}' --show over_limit_h --show breakthrough_risk",
    ways=(*(Way(name=each, settings={KEY: each}) for each in LONGEST), Way(name="none")),
    figures=figures,
    drawn=lambda ran: None,
    columns=(
        Shown(head=lambda unit: label("stuck_lesson.longest_run"), key="longest_run_d",
              text=lambda days, display: named(days)),
        Shown(head=lambda unit: label("stuck_lesson.washes_after"), key="washes_after"),
        Shown(head=lambda unit: label("stuck_lesson.longest", unit=unit), key="longest_d", quantity="days"),
        Shown(head=lambda unit: label("stuck_lesson.broke_through", unit=unit), key="breakthrough_risk",
              quantity="share"),
        Shown(head=lambda unit: label("lesson.over", unit=unit), key="over_limit_h", quantity="hours"),
        Shown(head=lambda unit: label("lesson.drain", unit=unit), key="drain_m3", quantity="volume"),
    ),
    sentences=sentences,
    depends=lambda: say("stuck_lesson.depends"),
    picture=picture,
    own=lambda case: say("stuck_lesson.own"),
)  # fmt: skip
