"""What a failure does: every way to start a wash under every fault that the devices of a case can have.

Each fault begins on one stated morning and stays unnoticed for some days; the first reading that leaves its usual
band says when somebody would have known. How often a fault comes nobody knows.
"""

from collections.abc import Iterator, Mapping, Sequence
from contextlib import closing
from dataclasses import asdict, replace
from datetime import date, datetime, time, timedelta
from functools import partial
from typing import Any, NamedTuple

from sim.case.fault.records import Fault
from sim.case.record import record
from sim.case.records import Case
from sim.case.units import DAY
from sim.plant.records import Figure
from sim.study.compare import heading
from sim.study.errors import RequestError, RunFailure, SettingError
from sim.study.faults_possible import OWN, Kind, in_a_backwash, kind_of, possible_faults
from sim.study.faults_read import BROKEN, KEPT, READ_AT, RUNS, WASH_AT, WASHED, Morning, Noticed, noticed, observe
from sim.study.many.dispatch import Dispatch
from sim.study.many.identity import keys_of
from sim.study.many.jobs import Job
from sim.study.many.outcome import Outcome, run_one
from sim.study.many.repeat import Count
from sim.study.many.study_file import StudyFile
from sim.study.many.workers import Crew
from sim.study.moments import moment
from sim.study.single import require_policy

DAYS, BEFORE = 30, 60  # how long nobody looks; how many mornings before tell what is usual
OVER = ("over_limit_h", "hardness_over_h", "iron_over_h", "manganese_over_h", "oxidant_over_h")
SAME_H, SAME_M3 = 0.05, 0.05  # what is less is no harm

Figures = Mapping[str, Figure]
Rank = tuple[float, ...]
NO_HARM: Rank = (0.0,) * 6


class Harm(NamedTuple):
    """How much more than with nothing failing: hours over a limit, demand not met [m3], water to drain [m3]."""

    over_h: float
    unmet_m3: float
    drain_m3: float


@record
class Row:
    """One way under one fault, None: nothing fails.

    `figures` of all the days, `until` those up to the morning on which it is noticed; `more` and `more_until`: less
    what the same way shows in the same days with nothing failing.
    """

    policy: str
    fault: Fault | None
    figures: Figures
    until: Figures
    more: Figures
    more_until: Figures
    noticed: Noticed | None

    @property
    def kind(self) -> Kind | None:
        """How the fault is called."""
        return None if self.fault is None else kind_of(self.fault)

    @property
    def rank(self) -> Rank:
        """How much it harms: hours over a limit until noticed, then over all days; demand not met; water to drain."""
        return tuple(each for pair in zip(self.harm_until, self.harm, strict=True) for each in pair)

    @property
    def harm(self) -> Harm:
        """Over all the days; of a way with nothing failing, what it has."""
        return harm_of(self.figures if self.fault is None else self.more)

    @property
    def harm_until(self) -> Harm:
        """Until it is noticed."""
        return harm_of(self.more_until)


@record
class FaultStudy:
    """All rows, those with nothing failing first. `start` [s]: the morning on which faults begin."""

    case: Case
    seed: int
    start: float
    days: int
    rows: tuple[Row, ...]

    @property
    def policies(self) -> tuple[str, ...]:
        """The ways to start a wash."""
        return tuple(row.policy for row in self.rows if row.fault is None)

    def usual(self, policy: str) -> Row:
        """A way with nothing failing."""
        return next(row for row in self.rows if row.policy == policy and row.fault is None)

    def of(self, policy: str, *, own: bool = False) -> list[Row]:
        """A way under its faults; its `own`: those of what starts a wash."""
        return [row for row in self.rows if row.policy == policy and (fault := row.fault) is not None
                and (not own or fault.what in OWN)]  # fmt: skip

    def breaks_already(self, policy: str) -> bool:
        """Whether filter runs of a way break through, with nothing failing."""
        return bool(self.usual(policy).figures[BROKEN])

    def worst(self, policy: str, *, own: bool = False) -> Row | None:
        """The fault that harms a way most, until noticed first; None where it can have none."""
        return max(self.of(policy, own=own), key=lambda row: row.rank, default=None)

    def order(self) -> list[str]:
        """The most forgiving way first: by its worst own fault until noticed, then over all days, then any fault.

        A way that breaks through with nothing failing stands behind all that do not.
        """
        return sorted(self.policies, key=self.rank)

    def rank(self, policy: str) -> tuple[bool, Rank, Rank]:
        """What the order goes by, the less the better."""
        own, every = (self.worst(policy, own=each) for each in (True, False))
        return self.breaks_already(policy), own.rank if own else NO_HARM, every.rank if every else NO_HARM

    @property
    def harmless(self) -> bool:
        """Whether no fault takes the water over a limit for longer, nor breaks a filter run through."""
        faulty = (row for row in self.rows if row.fault is not None)
        return all(row.harm.over_h <= 0.0 and (row.more[BROKEN] or 0) <= 0 for row in faulty)

    def to_json(self) -> dict[str, Any]:
        """Plain data for a JSON file: SI with the unit in each key, None where a figure does not apply."""
        start = self.case.run.start
        return {
            **heading(self.case, self.case.run.length / DAY, self.seed),
            "from": moment(start, self.start).isoformat(),
            "unnoticed_days": self.days,
            "order": self.order(),
            "rows": [_row_json(row, start) for row in self.rows],
        }


def study_faults(
    case: Case, crew: Crew, *, seed: int = 1, start: float, days: int = DAYS, policies: Sequence[str] = (),
    kept: StudyFile | None = None, progress: Count | None = None,
) -> FaultStudy:  # fmt: skip
    """Every way to start a wash, or those named, under every fault, from `start` [s] on for so many days.

    Faults of the case itself are left out. Rows in `kept` are not run again, and who runs the others changes nothing.
    Raises RequestError for what the case does not have, SettingError for a run that fails.
    """
    for name in policies:
        require_policy(case, name)
    names = tuple(dict.fromkeys(policies)) or tuple(policy.name for policy in case.policies)
    before = min(BEFORE, int(start // DAY) - 1)
    look = partial(observe, start=start, days=days)
    runs = _Runs(case=case, crew=crew, seed=seed, kept=kept, progress=progress or (lambda done, goal: None))
    wholes = runs.all([(name, None) for name in names], partial(look, before=max(before, 0)))
    todo = [(name, fault) for name, whole in zip(names, wholes, strict=True)
            for fault in _begun(case, name, start, whole)]  # fmt: skip
    found = runs.all(todo, partial(look, before=0))
    usual = {name: _mornings(whole) for name, whole in zip(names, wholes, strict=True)}
    rows = [_row(case, name, None, usual[name], usual[name], start, days) for name in names]
    rows += [_row(case, name, fault, usual[name], _mornings(each), start, days)
             for (name, fault), each in zip(todo, found, strict=True)]  # fmt: skip
    return FaultStudy(case=case, seed=seed, start=start, days=days, rows=tuple(rows))


@record
class _Runs:
    """Runs rows, each once, and keeps those that are done."""

    case: Case
    crew: Crew
    seed: int
    kept: StudyFile | None
    progress: Count

    def all(self, todo: Sequence[tuple[str, Fault | None]], look: "partial[Outcome]") -> list[Outcome]:
        """The outcome of every row, in their order."""
        cases = [replace(self.case, faults=() if fault is None else (fault,)) for _, fault in todo]
        names, done = [name for name, _ in todo], dict[int, Outcome]()
        keys = [self._key(case, name, look) for case, name in zip(cases, names, strict=True)] if self.kept else []
        for place, key in enumerate(keys):
            outcome = self.kept.find(key, names[place], place) if self.kept else None
            if outcome is not None:
                done[place] = outcome
        self.progress(len(done), len(todo))

        def job(place: int, policies: tuple[str, ...]) -> Job:
            return Job(case=cases[place], replicate=place, policies=policies)

        missing = [(place, (name,)) for place, name in enumerate(names) if place not in done]
        try:
            with closing(Dispatch(missing, job, self.crew, self.seed, look).answers()) as answers:
                for answer in answers:
                    if self.kept is not None:
                        self.kept.keep([(keys[each.replicate], each) for each in answer.outcomes])
                    done |= {each.replicate: each for each in answer.outcomes}
                    self.progress(len(done), len(todo))
        except RunFailure as failure:
            fault = todo[failure.replicate][1]
            what = "no fault" if fault is None else fault.what.value
            raise SettingError(what, failure.policy, failure.why) from failure
        return [done[place] for place in range(len(todo))]

    def _key(self, case: Case, name: str, look: "partial[Outcome]") -> str:
        key = keys_of(case, self.seed, run_one, uncertain=False)(name, 0)
        return f"{key} read {sorted(look.keywords.items())}"


def _begun(case: Case, policy: str, start: float, whole: Outcome) -> Iterator[Fault]:
    """The faults of a way; the power is cut in the first backwash after `start`, if there is one."""
    at, washed = whole.site[WASH_AT], whole.site[WASHED]
    vessels = [stage for stage in case.stages for _ in range(stage.vessels.count)]
    for fault in possible_faults(case, policy, start):
        if fault.valve is None or at is None or washed is None:
            yield fault
        else:
            yield in_a_backwash(fault, at, vessels[int(washed)])


def _mornings(outcome: Outcome) -> dict[int, Morning]:
    return {int(number): morning for number, morning in outcome.stages.items()}


def _row(
    case: Case, policy: str, fault: Fault | None, usual: Mapping[int, Morning], mornings: Mapping[int, Morning],
    start: float, days: int,
) -> Row:  # fmt: skip
    seen = None if fault is None else noticed(case, usual, mornings, start, fault.start)
    until = days if fault is None or seen is None else int((fault.start - start) // DAY) + seen.mornings
    whole, short = (_between(mornings, number) for number in (days, until))
    return Row(
        policy=policy, fault=fault, figures=whole, until=short, noticed=seen,
        more=_less(whole, _between(usual, days)), more_until=_less(short, _between(usual, until)),
    )  # fmt: skip


def _between(mornings: Mapping[int, Morning], number: int) -> Figures:
    """What was kept, from the first morning to this one."""
    return _less(mornings[number], mornings[0])


def _less(those: Figures, these: Figures) -> Figures:
    found: dict[str, Figure] = {}
    for key in (*KEPT, RUNS, BROKEN):
        that, this = those[key], these[key]
        found[key] = None if that is None or this is None else that - this
    return found


def harm_of(more: Figures) -> Harm:
    """How much a fault harms, by what it has more of."""
    unmet, drain = float(more["unmet_m3"] or 0.0), float(more["drain_m3"] or 0.0)
    return Harm(_counted(over_hours(more), SAME_H), _counted(unmet, SAME_M3), _counted(drain, SAME_M3))


def over_hours(figures: Figures) -> float:
    """Hours over whichever limit is over longest; 0 where the case has none."""
    return max((float(value) for key in OVER if (value := figures[key]) is not None), default=0.0)


def _counted(value: float, same: float) -> float:
    """Rounded to twice what counts as the same, so that no more than a rounding ranks two ways."""
    return max(round(value / (2.0 * same)) * 2.0 * same, 0.0)


def first_day(text: str | None, case: Case, days: int) -> float:
    """The morning [s] of a day as somebody gives it, 2027-08-01 or day 30; None: of one in the middle of the run.

    RequestError for what is no day, or for one after which the run has fewer days.
    """
    midnight = datetime.combine(case.run.start.date(), time())
    into = (case.run.start - midnight).total_seconds()
    last = int((case.run.length + into - READ_AT) // DAY) - days  # the last day from which there are so many
    first = 2 if into > READ_AT else 1  # two mornings have to be read
    if last < first:
        raise RequestError(
            f"--days {days}: the run is too short for it; allowed: up to {max(last + days - first, 0)} days; "
            'try: fewer, or a longer run: length = "90 d" in [run]'
        )
    if text is None:
        day = min(max(int(case.run.length / DAY / 2.0), first), last)
        return day * DAY + READ_AT - into
    allowed = [case.run.start.date() + timedelta(days=each) for each in (first, last)]
    found = _day(text.strip(), case.run.start.date())
    if found is None or not allowed[0] <= found <= allowed[1]:
        raise RequestError(
            f'--from: given "{text}"; allowed: a day from {allowed[0]} to {allowed[1]}, with a day before it and '
            f"{days} after it in the run, or day {first + 1} to day {last + 1}; try: --from {allowed[1]}"
        )
    return (found - case.run.start.date()).days * DAY + READ_AT - into


def _day(text: str, first: date) -> date | None:
    try:
        if text.lower().startswith("day "):
            return first + timedelta(days=int(text[4:]) - 1)
        return date.fromisoformat(text)
    except (ValueError, OverflowError):
        return None


def _row_json(row: Row, start: datetime) -> dict[str, Any]:
    fault = row.fault
    end = None if fault is None or fault.end == float("inf") else moment(start, fault.end).isoformat()
    return {
        "policy": row.policy,
        "fault": None if fault is None else fault.what.value,
        "kind": row.kind,
        "stage": None if fault is None else fault.stage,
        "from": None if fault is None else moment(start, fault.start).isoformat(),
        "until": end,
        "share": None if fault is None else fault.share,
        "by": None if fault is None else fault.by,
        "valve": None if fault is None else fault.valve,
        "figures": row.figures,
        "figures_until_noticed": row.until,
        "more": row.more,
        "more_until_noticed": row.more_until,
        "noticed_day": None if row.noticed is None else row.noticed.mornings,
        "noticed_by": None if row.noticed is None else row.noticed.reading,
        "noticed": None if row.noticed is None else asdict(row.noticed),
    }
