"""The site's rules for washing as functions without state: when one may start, what it occupies, what goes wrong.

Times are seconds from the start of the run; `midnight` is any midnight on the run's clock. Times within a microsecond
of a full one count as that one: clocks add up with rounding.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import replace
from typing import Literal, assert_never

from sim.case.stage.records import Do
from sim.case.train.records import Abort, RepeatWash, Washing
from sim.plant.clock import DAY
from sim.plant.records import Why

DIGITS = 6  # of a second that count

Line = Literal["supply", "raw", "drain"]


def next_allowed(washing: Washing, wish: float, starts: Sequence[float], midnight: float) -> float:
    """The earliest time at or after `wish` at which the rules let a wash start; inf if the hours never do.

    `starts` are those of all washes of the site so far, in order of time. A wash may start once `least_interval` has
    passed since the last of them, on a day (midnight to midnight) with fewer than `most_a_day`, and at the start of
    an allowed span or within it, not at its end; at the end of a locked span, not at its start or within it.
    """
    time = max(wish, starts[-1] + washing.least_interval) if starts else wish
    while True:
        day = day_of(time, midnight)
        if washing.most_a_day is not None and _count(starts, day, midnight) >= washing.most_a_day:
            time = midnight + (day + 1) * DAY
            continue
        opens = _next_open(washing, time, midnight)
        if opens == math.inf or day_of(opens, midnight) == day:
            return opens
        time = opens


def rule_against(washing: Washing, wish: float, starts: Sequence[float], midnight: float) -> Why:
    """The rule that puts off a wash wished for now; of several the one that by itself does so the longest."""
    alone = {
        Why.HOURS: replace(washing, least_interval=0.0, most_a_day=None),
        Why.INTERVAL: Washing(least_interval=washing.least_interval),
        Why.A_DAY: Washing(most_a_day=washing.most_a_day),
    }
    return max(alone, key=lambda why: next_allowed(alone[why], wish, starts, midnight))


def day_of(time: float, midnight: float) -> int:
    """Number of the day in which a time lies, 0 from `midnight` on."""
    return math.floor(round(time - midnight, DIGITS) / DAY)


def lines_of(do: Do, wash_path: str) -> tuple[Line, ...]:
    """The shared lines that a step of a wash occupies.

    A backwash from a header takes the wash supply, one through the earlier stages and any rinse the raw line; what
    flows goes to the drain, a regenerant from its own tank. Nothing flows through a bed that settles or whose tank is
    made up.
    """
    match do:
        case "backwash":
            return "supply" if wash_path == "header" else "raw", "drain"
        case "settle" | "make-up":
            return ()
        case "regenerant":
            return ("drain",)
        case "displacement" | "rinse":
            return "raw", "drain"
        case _:
            assert_never(do)


def washes_again(rule: RepeatWash | None, above_clean: float, repeats: int) -> bool:
    """Whether a wash is repeated after `repeats` of it, the pressure drop left so far [Pa] above the clean bed's."""
    return rule is not None and above_clean > rule.clean_within and repeats < rule.most


def broken_off_at(aborts: Iterable[Abort], stage: str, start: float, before: float) -> float:
    """When a wash of a stage that starts at `start` is broken off; inf if it is not.

    `before` is the start of the stage's wash before, -inf if there was none. Of several moments since then the one
    that leaves the wash the shortest counts.
    """
    met = [each.after for each in aborts if each.stage == stage and before < each.at <= start]
    return start + min(met, default=math.inf)


def _count(starts: Sequence[float], day: int, midnight: float) -> int:
    return sum(day_of(start, midnight) == day for start in starts)


def _second_of(time: float, midnight: float) -> float:
    """The time of day [s after midnight], from 0 up to a whole day."""
    return round(time - midnight, DIGITS) % DAY


def _next_open(washing: Washing, time: float, midnight: float) -> float:
    """The first time from `time` on that the hours allow: itself, or where a span opens."""
    second = _second_of(time, midnight)
    if washing.hour_is_open(second):
        return time
    edges = [span.start for span in washing.allowed_hours] + [span.end % DAY for span in washing.locked_hours]
    day = day_of(time, midnight)
    waits = [midnight + edge + (day + (edge <= second)) * DAY for edge in edges if washing.hour_is_open(edge)]
    return max(min(waits), time) if waits else math.inf
