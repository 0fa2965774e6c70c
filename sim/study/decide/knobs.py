"""What is tried of a policy: its settings over the ranges of `sim.study.settable`, in values that a person can set.

The present value is tried beside the range. A volume is what a regeneration restores, or less. Where the water is for
drinking, food or not stated, no run gets longer and no wash or rinse shorter than at present. A rinse takes at least
one volume of the vessel's water.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Any, Literal

from hydraulics.salt import capacity_at, dose_for
from sim.case.chemistry.records import Resin
from sim.case.quantities import Quantity, System
from sim.case.record import record
from sim.case.records import Case
from sim.case.stage.longest_run import with_usual_longest_runs
from sim.case.stage.records import Stage, Step
from sim.case.train.records import NO_RULES, Washing
from sim.case.trigger.records import AnyOf, Policy, SingleTrigger, VolumeLearned, VolumeReserve
from sim.case.units import DAY, HOUR, MINUTE
from sim.review.site import Site, site_of
from sim.review.uptake import volume_restored
from sim.study.settable import (
    LONGEST_HOLD,
    End,
    Part,
    least_rinse,
    longest_of,
    salt_range,
    salt_step,
    step_range,
    trigger_ranges,
)
from sim.wash.regeneration import resin_volume, salt_brought

Also = Literal["backwash", "rinse", "hours", "salt"]

ALL_DAYS = 8  # of a calendar, up to which every one is tried at a first look
STEPS_A_SPAN, SPAN = 4, 4.0  # of a first look, from a value to SPAN times it
EDGE = 1e-6  # of a value: as near to the end of its range as this is at the end
HOLDS = (10.0, 30.0, MINUTE, 3 * MINUTE, 6 * MINUTE, LONGEST_HOLD)
NIGHT, APART = 1.0 * HOUR, 2.0 * HOUR  # where a search of hours starts: the first stage, and each one after it

NEXT = (0.004, 0.008, 0.013, 0.02, 0.03)  # shares of a value within which its round neighbours lie


@record
class Knob:
    """One setting of a policy: of the trigger of a stage, or minutes of one of its steps.

    low and high [SI; s, m3, Pa] bound what is tried beside the present value; `end` says what the high one is.
    `begin`: where a search of hours starts. `step` is the position of the step, `rules` those for the hours of a
    wash. `unit`: a display unit of its quantity in SI, in which settable values are round.
    """

    stage: str
    part: Part
    quantity: Quantity
    present: float
    low: float
    high: float
    end: End | None = None
    begin: float = 0.0
    step: int = 0
    rules: Washing = NO_RULES
    unit: float = 1.0

    @property
    def of_a_step(self) -> bool:
        """Whether it changes the wash and not the trigger."""
        return self.part in ("backwash", "rinse", "salt", "make-up")

    @property
    def in_minutes(self) -> bool:
        """Whether it is the time of a step."""
        return self.of_a_step and self.part != "salt"

    @property
    def of_salt(self) -> bool:
        """Whether it says how much salt a regeneration has."""
        return self.part in ("salt", "make-up")

    def key(self, policy: str) -> str:
        """Its dotted key in the case file."""
        if self.of_a_step:
            return f"stage.{self.stage}.step.{self.step}.{'minutes' if self.in_minutes else 'salt'}"
        return f"policy.{policy}.{self.stage}.{self.part}"

    @property
    def spread(self) -> float:
        """The high end over the low end."""
        return self.high / self.low

    def rounded(self, value: float) -> float:
        """The nearest value that a person can set, and that is tried.

        Whole days, times of day by 5 min, holds of HOLDS, half minutes of a step, volumes, pressures and salt in
        round numbers of the display unit.
        """
        if self.part == "every":
            return max(round(value / DAY), 1) * DAY
        if self.part == "at":
            return round(value / (5 * MINUTE)) * (5 * MINUTE) % DAY
        if self.part == "hold":
            return min(HOLDS, key=lambda each: abs(each - value))
        if self.in_minutes:
            return math.ceil(value / (MINUTE / 2) - 1e-9) * (MINUTE / 2)
        return settable(value / self.unit, fine=self.part == "above") * self.unit

    def coarse(self) -> tuple[float, ...]:
        """The values of a first look over the range, in rising order."""
        if self.part == "at":
            values = [hour * 3 * HOUR for hour in range(8)]
        elif self.part == "hold":
            values = list(HOLDS)
        elif self.part == "every" and self.high <= ALL_DAYS * DAY:
            values = [day * DAY for day in range(round(self.low / DAY), round(self.high / DAY) + 1)]
        else:
            steps = max(round(STEPS_A_SPAN * math.log(self.spread, SPAN)), 2)
            values = [self.low * self.spread ** (place / steps) for place in range(steps + 1)]
        return self.within(values)

    def start(self, share: float) -> float:
        """A value at a share of the range, by its logarithm; of hours, where a search of them starts."""
        if self.part == "at":
            wanted = [self.begin, *(hour * HOUR for hour in range(24))]
        else:
            wanted = [self.low * self.spread**share, self.low, self.high]
        return next((found for each in wanted for found in self.within([each])), self.present)

    def between(self, below: float, above: float) -> tuple[float, ...]:
        """A value in the middle between two."""
        if below >= above or self.part == "hold":
            return ()
        return self.within([(below + above) / 2.0 if self.part == "at" else math.sqrt(below * above)])

    def beside(self, value: float) -> tuple[float, ...]:
        """The next values below and above that can be set."""
        if self.part == "hold":
            place = min(range(len(HOLDS)), key=lambda each: abs(HOLDS[each] - value))
            return self.within(HOLDS[max(place - 1, 0) : place + 2])
        if self.part in ("every", "at") or self.in_minutes:
            step = {"every": DAY, "at": HOUR}.get(self.part, MINUTE / 2)
            return self.within([value - step, value + step])
        found = []
        for way in (-1.0, 1.0):
            near = (self.rounded(value * (1.0 + way * share)) for share in NEXT)
            found += [next((each for each in near if (each - value) * way > EDGE * value), value)]
        return self.within(found)

    def within(self, values: Sequence[float]) -> tuple[float, ...]:
        """The values rounded, each once, those out of the range left out."""
        room = 1e-9 * self.high
        known = sorted(each for each in set(map(self.rounded, values)) if self.low - room <= each <= self.high + room)
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


def settable_from(value: float, *, fine: bool = False) -> float:
    """The lowest round number that is not below a value.

    >>> settable_from(101.0), settable_from(100.0)
    (102.0, 100.0)
    """
    tried = (settable(value * (1.0 + share), fine=fine) for share in (0.0, *NEXT))
    return next((each for each in tried if each >= value * (1.0 - 1e-9)), value)


def settable_to(value: float) -> float:
    """The highest round number that is not above a value.

    >>> settable_to(101.0), settable_to(100.0)
    (100.0, 100.0)
    """
    tried = (settable(value * (1.0 - share)) for share in (0.0, *NEXT))
    return next((each for each in tried if each <= value * (1.0 + 1e-9)), value)


def knobs_of(case: Case, policy: Policy, also: frozenset[Also], units: System = "si") -> tuple[Knob, ...]:
    """Everything that is tried of a policy, in the order in which it is; nothing of a stage with several triggers.

    Volumes and pressures are tried in round numbers of these units. A stage without a longest run has the usual one.
    """
    case = with_usual_longest_runs(case)
    salts = [each for stage in case.stages for each in _of_salt(stage, units)] if "salt" in also else []
    site = site_of(_salted(case, [(each, each.high) for each in salts]))  # volumes go as far as the most salt lets
    triggers = [(stage, trigger) for stage, trigger in policy.triggers if not isinstance(trigger, AnyOf)]
    knobs = [each for stage, trigger in triggers for each in _of_trigger(site, stage, trigger, units)]
    if len(case.stages) > 1 or "hours" in also:
        knobs += _hours(case, triggers)
    for stage in case.stages:
        for part in ("backwash", "rinse"):
            if part in also:
                knobs += _of_step(stage, part, keep=case.may_be_drunk)
    return tuple(each for each in (*knobs, *salts) if each.low < each.high)


def policy_for_all(case: Case, policy: Policy) -> Policy:
    """The policy held to the longest runs of the stages, as every other one is.

    A shorter one of its own stays where the water may be drunk, so that no run gets longer than at present.
    """
    if case.may_be_drunk:
        return policy
    triggers = tuple((stage, replace(trigger, longest_run=None)) for stage, trigger in policy.triggers)
    return replace(policy, triggers=triggers)


def _of_trigger(site: Site, name: str, trigger: SingleTrigger, units: System) -> Iterator[Knob]:
    stage = next(each for each in site.case.stages if each.name == name)
    longest, keep = longest_of(site, stage, trigger), site.case.may_be_drunk
    for part, span in trigger_ranges(site, stage, trigger, longest).items():
        if part == "reserve" and isinstance(trigger, VolumeLearned):
            continue  # it holds for the first days alone
        present, unit = float(getattr(trigger, part)), 1.0
        shown, low, high, _, end = span
        if part == "hold":
            low = HOLDS[0]
        elif part != "every":
            fine, unit = part == "above", shown.unit(units).factor
            most = settable_to(high / unit) if end == "restored" else settable(high / unit, fine=fine)
            low, high = settable_from(low / unit, fine=fine) * unit, most * unit
        if keep and part == "reserve":
            low = max(low, present)
        elif keep:
            high, end = min(high, present), "present"
            low = min(low, high)
        yield Knob(
            stage=name, part=part, quantity=span.quantity, present=present, low=low, high=max(low, high), end=end,
            unit=unit,
        )  # fmt: skip


def _hours(case: Case, triggers: Sequence[tuple[str, SingleTrigger]]) -> Iterator[Knob]:
    """The hours of the day: a search of them starts at night, the stages one after another."""
    timed = [(stage, at) for stage, trigger in triggers if (at := getattr(trigger, "at", None)) is not None]
    for place, (stage, at) in enumerate(timed):
        yield Knob(
            stage=stage, part="at", quantity="hours", present=at, low=0.0, high=DAY - MINUTE,
            rules=case.washing, begin=(NIGHT + place * APART) % DAY,
        )  # fmt: skip


def _of_step(stage: Stage, part: Literal["backwash", "rinse"], *, keep: bool) -> Iterator[Knob]:
    """The minutes of the last such step."""
    places = [place for place, step in enumerate(stage.steps) if step.do == part and step.seconds > 0.0]
    if places:
        present = stage.steps[places[-1]].seconds
        span = step_range(stage, part, present)
        yield Knob(
            stage=stage.name, part=part, quantity=span.quantity, present=max(present, span.low),
            low=max(span.low, present) if keep else span.low, high=span.high, step=places[-1],
        )  # fmt: skip


def _of_salt(stage: Stage, units: System) -> Iterator[Knob]:
    """The salt of a regeneration: its mass or, where a tank is made up, the minutes that the water for it runs."""
    number, span = salt_step(stage), salt_range(stage)
    if number is None or span is None:
        return
    step = stage.steps[number]
    if step.do == "make-up":
        half = MINUTE / 2
        low, high = (math.ceil(_seconds(stage, step, each) / half) * half for each in (span.low, span.high))
        yield Knob(
            stage=stage.name, part="make-up", quantity="minutes", present=step.seconds, low=low, high=high,
            end=span.end, step=number,
        )  # fmt: skip
        return
    unit = span.units.unit(units).factor
    yield Knob(
        stage=stage.name, part="salt", quantity=span.quantity, present=step.salt or 0.0,
        low=settable_from(span.low / unit) * unit, high=settable_to(span.high / unit) * unit, end=span.end,
        step=number, unit=unit,
    )  # fmt: skip


def _seconds(stage: Stage, step: Step, salt: float) -> float:
    """How long a make-up runs for the water that dissolves so much salt [g]."""
    assert stage.store is not None  # a make-up fills one
    return salt / (step.flow * stage.store.solubility)


def _salted(case: Case, values: Sequence[tuple[Knob, float]]) -> Case:
    """The case with these values of knobs of salt."""
    changed = {knob.stage: (knob, value) for knob, value in values}
    return replace(case, stages=tuple(_salted_stage(each, *changed[each.name]) if each.name in changed else each
                                      for each in case.stages))  # fmt: skip


def _salted_stage(stage: Stage, knob: Knob, value: float) -> Stage:
    step = stage.steps[knob.step]
    other = replace(step, salt=value) if knob.part == "salt" else replace(step, seconds=value)
    return replace(stage, steps=(*stage.steps[: knob.step], other, *stage.steps[knob.step + 1 :]))


def restored_by(case: Case, knob: Knob, value: float) -> float:
    """The volume that a vessel can treat on what so much salt restores of a spent bed [m3]; inf: nothing loads it."""
    place = next(place for place, stage in enumerate(case.stages) if stage.name == knob.stage)
    return volume_restored(site_of(_salted(case, [(knob, value)])), place) or math.inf


def salt_for(case: Case, knob: Knob, value: float, times: float) -> float:
    """The least salt of a knob that restores so many times what a value of it does; at most the end of its range."""
    stage = next(each for each in case.stages if each.name == knob.stage)
    resin = next(each.uptake for each in stage.layers if isinstance(each.uptake, Resin))
    volume = resin_volume(stage)
    now = capacity_at(salt_brought(_salted_stage(stage, knob, value)) / volume, resin.doses, resin.capacities)
    salt = dose_for(min(times * now, resin.capacities[-1]), resin.doses, resin.capacities) * volume
    if knob.part == "salt":
        found = settable_from(salt / knob.unit) * knob.unit
    else:
        found = knob.rounded(_seconds(stage, stage.steps[knob.step], salt))
    return min(max(found, knob.low), knob.high)


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
        own: dict[str, Any] = {
            knob.part: value
            for knob, value in zip(knobs, values, strict=True)
            if knob.stage == stage and not knob.of_a_step
        }
        changed = replace(trigger, **own)
        if isinstance(changed, VolumeReserve | VolumeLearned) and not changed.reserve < changed.volume:
            return None
        triggers.append((stage, changed))
    return replace(policy, triggers=tuple(triggers))
