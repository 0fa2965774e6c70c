"""What of a policy can be set, and over which range it is tried.

The range of a study is a quarter of the present value to four times it, whole days for a calendar and none beyond the
longest run, and goes on where the best lies at its end. Where the water is for drinking, food or not stated, no run
gets longer and no wash or rinse shorter than at present. A rinse takes at least one volume of the vessel's water.
"""

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, Literal

from sim.case.longest_run import longest_run_of, with_usual_longest_runs
from sim.case.records import Case, Stage
from sim.case.train_records import NO_RULES, Washing
from sim.case.trigger_records import (
    AnyOf,
    Calendar,
    Policy,
    Pressure,
    SingleTrigger,
    Trigger,
    Volume,
    VolumeLearned,
    VolumeReserve,
)
from sim.case.units import DAY, HOUR, MINUTE
from sim.plant.build import water_volumes
from sim.study.kpis import System
from sim.study.present import PA_PER_KPA, UNITS

Part = Literal["every", "volume", "reserve", "above", "hold", "at", "backwash", "rinse"]
Also = Literal["backwash", "rinse", "hours"]

SPAN = 4.0  # times the present value, up and down
STEP_SPAN = 2.0  # the same for the minutes of a step
ALL_DAYS = 8  # of a calendar, up to which every one is tried at a first look
LEAST_CALENDAR_RANGE = 7.0  # days that a calendar is tried up to at least
STEPS_A_SPAN = 4  # of a first look, from a value to SPAN times it
EDGE = 1e-6  # of a value: as near to the end of its range as this is at the end

TRIGGER_PARTS: dict[type[SingleTrigger], tuple[Part, ...]] = {
    Calendar: ("every",),
    Volume: ("volume",),
    VolumeReserve: ("volume", "reserve"),
    VolumeLearned: ("volume",),
    Pressure: ("above", "hold"),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Knob:
    """One setting of a policy: of the trigger of a stage, or minutes of one of its steps.

    present, low and high [SI; s, m3, Pa] bound what is tried at first; where the best lies at an end, the range grows
    towards `least` and `most`, which nothing leaves. `step` is the position of the step, `rules` those for the hours
    of a wash. `unit`: the display unit of a volume or pressure in SI, in which settable values are round.
    """

    stage: str
    part: Part
    present: float
    low: float
    high: float
    least: float = -math.inf
    most: float = math.inf
    step: int = 0
    rules: Washing = NO_RULES
    unit: float = 1.0

    @property
    def of_a_step(self) -> bool:
        """Whether it changes the wash and not the trigger."""
        return self.part in ("backwash", "rinse")

    def key(self, policy: str) -> str:
        """Its dotted key in the case file."""
        if self.of_a_step:
            return f"stage.{self.stage}.step.{self.step}.minutes"
        return f"policy.{policy}.{self.stage}.{self.part}"

    def grown(self, value: float) -> "Knob | None":
        """The knob with a range that goes on beyond its end where the value stands at one; None where it cannot."""
        low, high = self.low, self.high
        if value >= high * (1.0 - EDGE):
            high = min(self.rounded(high * SPAN), self.most)
        elif value <= low * (1.0 + EDGE):
            low = max(self.rounded(low / SPAN), self.least)
        return None if (low, high) == (self.low, self.high) else replace(self, low=low, high=high)

    @property
    def spread(self) -> float:
        """The high end over the low end."""
        return self.high / self.low

    def rounded(self, value: float) -> float:
        """The nearest value that a person can set, and that is tried.

        Whole days, times of day by 5 min, holds by 10 s up to 2 min and by minutes above, half minutes of a step,
        volumes and pressures in round numbers of the display unit.
        """
        if self.part == "every":
            return max(round(value / DAY), 1) * DAY
        if self.part == "at":
            return round(value / (5 * MINUTE)) * (5 * MINUTE) % DAY
        if self.part == "hold":
            step = 10.0 if value <= 2 * MINUTE else MINUTE
            return max(round(value / step), 1) * step
        if self.of_a_step:
            return math.ceil(value / (MINUTE / 2) - 1e-9) * (MINUTE / 2)
        return settable(value / self.unit, fine=self.part == "above") * self.unit

    def coarse(self) -> tuple[float, ...]:
        """The values of a first look over the range, the present one among them, in rising order."""
        if self.part == "at":
            values = [self.present, *(hour * 3 * HOUR for hour in range(8))]
        elif self.part == "every" and self.high <= ALL_DAYS * DAY:
            values = [day * DAY for day in range(round(self.low / DAY), round(self.high / DAY) + 1)]
        else:
            steps = max(round(STEPS_A_SPAN * math.log(self.spread, SPAN)), 2)
            values = [self.present, *(self.low * self.spread ** (place / steps) for place in range(steps + 1))]
        return self.within(values)

    def between(self, below: float, above: float) -> tuple[float, ...]:
        """A value in the middle between two."""
        if below >= above:
            return ()
        return self.within([(below + above) / 2.0 if self.part == "at" else math.sqrt(below * above)])

    def within(self, values: Sequence[float]) -> tuple[float, ...]:
        """The values rounded, each once, those out of the range left out.

        What rounds as the present value does is that value: beside it there would be nothing left to look between.
        """
        room = 1e-9 * self.high
        here = self.rounded(self.present)
        found = {self.present if rounded == here else rounded for rounded in map(self.rounded, values)}
        known = sorted(each for each in found if self.low - room <= each <= self.high + room)
        return tuple(each for each in known if self.part != "at" or self.rules.hour_is_open(each))


def settable(value: float, *, fine: bool = False) -> float:
    """The nearest round number: a step of at most 2.5 % of the value, or of 1 % for a pressure, whose scale is fine.

    >>> settable(230_358.0), settable(509.0), settable(95.1), settable(11.87, fine=True)
    (230000.0, 510.0, 95.0, 11.9)
    """
    if value <= 0.0:
        return value
    power = 10.0 ** math.floor(math.log10(value))
    steps = ((2.0, 50), (5.0, 20), (math.inf, 10)) if not fine else ((2.0, 100), (5.0, 50), (math.inf, 20))
    step = next(share for below, share in steps if value / power < below)
    return float(f"{round(value / power * step) / step * power:.4g}")


def knobs_of(case: Case, policy: Policy, also: frozenset[Also], units: System = "si") -> tuple[Knob, ...]:
    """Everything that is tried of a policy, in the order in which it is; nothing of a stage with several triggers.

    Volumes and pressures are tried in round numbers of these units. A stage without a longest run has the usual one.
    """
    case = with_usual_longest_runs(case)
    keep = case.may_be_drunk
    triggers = [(stage, trigger) for stage, trigger in policy.triggers if not isinstance(trigger, AnyOf)]
    knobs = [each for stage, trigger in triggers for each in _of_trigger(case, stage, trigger, units, keep)]
    if len(case.stages) > 1 or "hours" in also:
        knobs += [each for stage, trigger in triggers for each in _hours(case, stage, trigger)]
    for stage in case.stages:
        for part in ("backwash", "rinse"):
            if part in also:
                knobs += _of_step(stage, part, keep=keep)
    return tuple(each for each in knobs if each.low < each.high)


def _of_trigger(case: Case, stage: str, trigger: SingleTrigger, units: System, keep: bool) -> Iterator[Knob]:
    for part in TRIGGER_PARTS[type(trigger)]:
        present = float(getattr(trigger, part))
        unit = _unit(part, units)
        low, high = (settable(end / unit) * unit for end in (present / SPAN, present * SPAN))
        least, most = 0.0, math.inf
        if part in ("reserve", "hold"):
            least, most = low, high
        if part == "every":
            least = DAY
            most = max(min(case.run.length / 2.0, _longest(case, stage, trigger)) // DAY, 1) * DAY
            present = min(present, most)
            low = min(max(math.floor(low / DAY), 1) * DAY, most)
            high = min(math.ceil(max(high / DAY, LEAST_CALENDAR_RANGE)) * DAY, most)
        if keep:
            low, least = (present, present) if part == "reserve" else (low, least)
            high, most = (high, most) if part == "reserve" else (present, present)
        if present > 0.0:
            yield Knob(stage=stage, part=part, present=present, low=low, high=high, least=least, most=most, unit=unit)


def _longest(case: Case, stage: str, trigger: Trigger) -> float:
    """The longest run [s] that bounds what is tried of a calendar: beyond it nothing changes."""
    found = longest_run_of(next(each for each in case.stages if each.name == stage), trigger)
    return math.inf if found is None else found


def _unit(part: Part, units: System) -> float:
    """The display unit of a volume [m3] or of a pressure [Pa]."""
    if part in ("volume", "reserve"):
        return 1.0 / UNITS[units]["volume"].per_result_unit
    return PA_PER_KPA / UNITS[units]["pressure"].per_result_unit if part == "above" else 1.0


def _hours(case: Case, stage: str, trigger: SingleTrigger) -> Iterator[Knob]:
    at = getattr(trigger, "at", None)
    if at is not None:
        last = DAY - MINUTE
        yield Knob(stage=stage, part="at", present=at, low=0.0, high=last, least=0.0, most=last, rules=case.washing)


def _of_step(stage: Stage, part: Literal["backwash", "rinse"], *, keep: bool) -> Iterator[Knob]:
    """The minutes of the last such step."""
    places = [place for place, step in enumerate(stage.steps) if step.do == part and step.seconds > 0.0]
    if places:
        present = stage.steps[places[-1]].seconds
        low = present if keep else present / STEP_SPAN
        if part == "rinse":
            low = max(low, least_rinse(stage))
        high = max(STEP_SPAN * present, low)
        yield Knob(
            stage=stage.name, part=part, present=max(present, low), low=low, high=high, least=low, most=high,
            step=places[-1],
        )  # fmt: skip


def least_rinse(stage: Stage) -> float:
    """How long its last rinse lasts at least [s], so that all its rinses take one volume of the vessel's water.

    0 for a stage without a rinse.
    """
    rinses = [step for step in stage.steps if step.do == "rinse" and step.flow > 0.0]
    if not rinses:
        return 0.0
    before = sum(step.flow * step.seconds for step in rinses[:-1])
    whole = max(water_volumes(stage)[0] - before, 0.0)
    return math.ceil(whole / rinses[-1].flow / (MINUTE / 2)) * (MINUTE / 2)


def short_rinses(case: Case) -> dict[str, float]:
    """Settings that bring every rinse to its least length: minutes by dotted key; empty where none is shorter."""
    found = {}
    for stage in case.stages:
        places = [place for place, step in enumerate(stage.steps) if step.do == "rinse" and step.flow > 0.0]
        least = least_rinse(stage)
        if places and stage.steps[places[-1]].seconds < least - 1e-6:
            found[f"stage.{stage.name}.step.{places[-1]}.minutes"] = least / MINUTE
    return found


def with_values(policy: Policy, knobs: Sequence[Knob], values: Sequence[float]) -> Policy | None:
    """The policy with these values; None where they contradict each other."""
    triggers = []
    for stage, trigger in policy.triggers:
        own: dict[str, float] = {
            knob.part: value
            for knob, value in zip(knobs, values, strict=True)
            if knob.stage == stage and not knob.of_a_step
        }
        changed = _changed(trigger, own)
        if isinstance(changed, VolumeReserve | VolumeLearned) and not changed.reserve < changed.volume:
            return None
        triggers.append((stage, changed))
    return replace(policy, triggers=tuple(triggers))


def _changed(trigger: Trigger, own: Mapping[str, Any]) -> Trigger:
    return replace(trigger, **own)
