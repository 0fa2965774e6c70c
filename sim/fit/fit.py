"""From a log to constants: under both laws of growth, with what the log can and cannot tell."""

import math
from collections.abc import Callable, Mapping
from dataclasses import replace

import numpy as np

from sim.case.records import Case
from sim.case.stage.records import Growth
from sim.fit.forward import Forward
from sim.fit.problem import Problem
from sim.fit.profile import Side, alike, profile, spread
from sim.fit.records import Bound, Constant, Course, Evidence, Fit, Fitted, HeldOut, Need, Noise
from sim.log.pieces import Values
from sim.log.records import Log, What

LAWS: tuple[Growth, Growth] = ("linear", "pore-narrowing")
DIFFERENCE = 15.0
"""By which -2 ln L of a law has to be less. Independent errors would need 6 for odds of 20 to 1; a log has others,
and from few runs it is not well known how far."""
ONE_FLOW = 1.2  # the ninth tenth of flows is less than so many times the first: valve and clean bed do not part
OPEN = Side(math.nan, False)
FINE = 1e-3  # in -2 ln L
WORSE = 1.0  # in -2 ln L: the readings bear it
BETTER = 0.1  # and more: what was taken for the best is not
SCANNED = 25
VALVE_WITHIN = 4.0
ALIKE = 0.9  # correlation from which two constants that the log does not bound count as inseparable
RUNS_TO_HOLD_OUT, HELD_SHARE = 4, 0.25
RUNS_TO_DRAW, DRAWS = 20, 400
DEPOSIT = (Constant.GROWTH, Constant.CAPTURE, Constant.CLEANING)
TOLD_BY: Mapping[Constant, tuple[What, Need]] = {
    Constant.VALVE: (What.PRESSURE_DROP, Need.OTHER_FLOWS),
    Constant.CLEAN_BED: (What.PRESSURE_DROP, Need.OTHER_FLOWS),
    Constant.GROWTH: (What.PRESSURE_DROP, Need.LONGER_RUNS),
    Constant.CAPTURE: (What.TURBIDITY_OUT, Need.MORE_READINGS),
    Constant.CLEANING: (What.PRESSURE_DROP, Need.MORE_WASHES),
    Constant.SOFTENER_CAPACITY: (What.HARDNESS_OUT, Need.BREAKTHROUGH),
    Constant.HALF_LENGTH: (What.CHLORINE_OUT, Need.MORE_READINGS),
}
"""The readings that tell a constant, and what settles one that they leave open."""
EXCHANGED: Mapping[tuple[Constant, Need], Constant] = {
    (Constant.SOLIDS_PER_TURBIDITY, Need.SOLIDS_WEIGHED): Constant.GROWTH,
    (Constant.VALVE, Need.OTHER_FLOWS): Constant.CLEAN_BED, (Constant.CLEAN_BED, Need.OTHER_FLOWS): Constant.VALVE,
}  # fmt: skip
"""With what a constant that lacks such a reading can be exchanged."""
Progress = Callable[[int], None]


class _Found:
    """The best under one law, with what readings say around it: their noise from what it leaves."""

    def __init__(self, problem: Problem, x: Values, lacking: Mapping[Constant, Need]) -> None:
        self.problem, self.lacking = problem, lacking
        self.settle(x)

    def settle(self, x: Values) -> None:
        """Take a best."""
        self.x, slopes = x, self.problem.slopes(x)
        freedom = self.problem.settle_noise(x, slopes)
        self.spread = spread(self.problem, x, slopes, freedom)

    @property
    def law(self) -> Growth:
        """The law of growth."""
        return self.problem.forward.case.stages[0].head_loss.growth

    @property
    def left(self) -> Values:
        """Readings less what is predicted [SI]."""
        return self.problem.left(self.problem.predicted(self.x))


def fit_log(log: Log, case: Case, stage: str, *, progress: Progress | None = None) -> Fit:
    """Fit the constants of a stage to a log, under both laws of growth: under the better one where the log decides
    for it, else under the case's. `progress` is called with the runs of the model so far."""
    own = next(each.head_loss.growth for each in case.stages if each.name == stage)
    tell = progress or (lambda runs: None)
    found, evidence = [_find(log, case, stage, own, tell)], None
    if Constant.GROWTH in found[0].problem.free:
        other = next(each for each in LAWS if each != own)
        found.append(_find(log, case, stage, other, tell, found[0].problem.values(found[0].x)))
        evidence = _evidence(*found)
    law = evidence.better if evidence is not None and evidence.difference > DIFFERENCE else None
    taken = next((each for each in found if each.law == law), found[0])
    problem, sides = taken.problem, _sides(taken, tell)
    said = {each: _said(taken, each, sides) for each in problem.forward.known}
    x = _settled(taken, said)
    return Fit(
        stage=stage, log=log, law=law, evidence=evidence,
        constants=tuple(_valued(each, problem.values(x)) for each in said.values()),
        noise=tuple(
            Noise(what=what, sd=float(sd), floor=float(floor), count=int((problem.kind == k).sum()))
            for k, (what, sd, floor) in enumerate(zip(problem.kinds, problem.scale, problem.floor, strict=True))
        ),
        predicted=_courses(problem, x), held_out=_held_out(taken, x, said), bootstrap=_bootstrap(taken, said),
        evaluations=sum(each.problem.forward.evaluations for each in found),
    )  # fmt: skip


def _find(
    log: Log, case: Case, stage: str, law: Growth, tell: Progress, near: Mapping[Constant, float] | None = None
) -> _Found:
    """The best under one law: from several starts, then with the noise that each kind of reading shows."""
    forward = Forward(log, case, stage, law=law)
    lacking = {each: need for each in forward.known if (need := _lacks(each, forward)) is not None}
    within = _within(forward, lacking)
    problem = Problem(forward, [each for each in forward.known if each in within or each not in lacking], within)
    ends = [problem.best(start, tolerance=1e-3) for start in _starts(problem, near or {})]
    tell(forward.evaluations)
    x = problem.best(_scanned(problem, min(ends, key=problem.cost)))
    found = _Found(problem, x, lacking)
    if len(problem.kinds) > 1:  # whose weights have changed
        found.settle(problem.eased(x, (), found.spread.slopes, FINE)[0])
    tell(forward.evaluations)
    return found


def _scanned(problem: Problem, x: Values) -> Values:
    """The best of many capacities of a softener: a front that comes between two readings shows no slope."""
    if Constant.SOFTENER_CAPACITY not in problem.free:
        return x
    n, known = problem.free.index(Constant.SOFTENER_CAPACITY), problem.forward.known[Constant.SOFTENER_CAPACITY]
    tried = [x]
    for number in np.linspace(math.log(0.75 * known.low), math.log(1.3 * known.high), SCANNED):
        tried.append(x.copy())
        tried[-1][n] = number
    return min(tried, key=problem.cost)


def _within(forward: Forward, lacking: Mapping[Constant, Need]) -> dict[Constant, tuple[float, float]]:
    """Constants that the log says nothing of but that matter to others: left free, as far as the case leaves them.

    Of valve and clean bed under one flow only the sum is told: a valve a few times what the case says is then enough.
    """
    found: dict[Constant, tuple[float, float]] = {}
    for each in lacking:
        known = forward.known[each]
        if each is Constant.VALVE:
            found[each] = min(known.low, known.value / VALVE_WITHIN), max(known.high, VALVE_WITHIN * known.value)
        elif each is Constant.CLEAN_BED:
            found[each] = known.least, known.most
        elif each in (Constant.CAPTURE, Constant.CLEANING) and known.low < known.high:
            found[each] = known.low, known.high
    return found


def _starts(problem: Problem, near: Mapping[Constant, float]) -> list[Values]:
    """What the case says or a fit under the other law; and what has to do with deposit at either end of its range."""
    usual = problem.values(problem.start)
    usual |= {each: value for each, value in near.items() if each in usual and each is not Constant.GROWTH}
    moved = {each: problem.forward.known[each] for each in problem.free
             if each is Constant.GROWTH or (each in DEPOSIT and not near)}  # fmt: skip
    low = {each: min(known.low, 0.5 * known.value) for each, known in moved.items()}
    high = {each: max(known.high, 2.0 * known.value) for each, known in moved.items()}
    return [problem.numbers(np.array(list((usual | end).values()))) for end in ({}, low, high)]


def _lacks(constant: Constant, forward: Forward) -> Need | None:
    """The reading without which nothing can be said of a constant; None where the log has it."""
    log = forward.log
    if constant is Constant.SOLIDS_PER_TURBIDITY:
        return Need.SOLIDS_WEIGHED
    what, _ = TOLD_BY[constant]
    if log.of(what) is None:
        return Need(what.value)
    if constant in (Constant.VALVE, Constant.CLEAN_BED) and Constant.VALVE in forward.known and _one_flow(forward):
        return Need.OTHER_FLOWS
    if constant is not Constant.CLEANING:
        return None
    return Need.TEMPERATURE if log.of(What.TEMPERATURE) is None else Need.MORE_WASHES if len(log.washes) < 2 else None


def _one_flow(forward: Forward) -> bool:
    """Whether the flows at which the pressure drop was read differ by no more than an unsteady hand."""
    flows = forward.flows(What.PRESSURE_DROP)
    low, high = np.quantile(flows[flows > 0.0], (0.1, 0.9)) if (flows > 0.0).any() else (1.0, 1.0)
    return bool(high < ONE_FLOW * low)


def _evidence(first: _Found, second: _Found) -> Evidence:
    """Which of two laws fits better, and by how much.

    Errors that are alike within blocks of readings carry a fit some way to the wrong law: the difference counts so
    much less as they vary more, along what parts the laws, than independent ones would.
    """
    behind = 0.0
    for k in range(len(first.problem.kinds)):
        mine, least = first.problem.kind == k, first.problem.floor[k] ** 2
        squares = (max(float(np.mean(each.left[mine] ** 2)), least) for each in (second, first))
        behind += float(mine.sum()) * math.log(next(squares) / next(squares))
    better, other = (first, second) if behind >= 0.0 else (second, first)
    scale, block = better.problem.scale[better.problem.kind], better.problem.block
    apart, left = (other.left - better.left) / scale, better.left / scale
    sums = [float(left[block == one] @ apart[block == one]) ** 2 for one in np.unique(block)]
    alike_by = max(math.fsum(sums) / max(float(apart @ apart), 1e-300), 1.0)
    return Evidence(better=better.law, difference=abs(behind) / alike_by)


def _sides(found: _Found, tell: Progress, again: int = 2) -> dict[Constant, tuple[Side, Side]]:
    """Both ends of the profile of every free constant; all anew where one comes upon something better."""
    problem, sides = found.problem, {}
    problem.lowest = found.x, problem.cost(found.x)
    least = problem.lowest[1]
    for n, constant in enumerate(problem.free):
        if constant in found.lacking:
            continue
        down, up = (profile(problem, found.x, found.spread, n, upward) for upward in (False, True))
        sides[constant] = down, up
        tell(problem.forward.evaluations)
        if problem.lowest[1] < least - BETTER and again > 0:
            found.settle(problem.best(problem.lowest[0]))
            return _sides(found, tell, again - 1)
    return sides


def _said(found: _Found, constant: Constant, sides: Mapping[Constant, tuple[Side, Side]]) -> Fitted:
    """What the log says of a constant; the value is the case's for now."""
    problem = found.problem
    known = problem.forward.known[constant]
    before = known.low, known.value, known.high
    said = Fitted(
        constant=constant, key=known.key, value=known.value, low=known.low, high=known.high, before=before,
        identifiable=False, bound="none",
    )  # fmt: skip
    if constant in found.lacking:
        need = found.lacking[constant]
        return replace(said, needs=need, inseparable_from=EXCHANGED.get((constant, need)))
    n, (down, up) = problem.free.index(constant), sides[constant]
    low, high = (problem.values(np.full(len(problem.free), side.at))[constant] for side in (down, up))
    if down.bounded and up.bounded:
        return replace(said, low=low, high=high, identifiable=True, bound="both")
    bound: Bound = "lower" if down.bounded else "upper" if up.bounded else "none"
    low = low if down.bounded else min(known.low, high)
    high = high if up.bounded else max(known.high, low)
    others = [
        (alike(found.spread, n, m), other)
        for m, other in enumerate(problem.free)
        if m != n and not all(side.bounded for side in sides.get(other, (OPEN, OPEN)))
    ]
    likeness, partner = max(others, default=(0.0, None), key=lambda each: each[0])
    return replace(
        said, low=low, high=high, bound=bound, needs=_need(problem, constant, found.spread.threshold[n]),
        inseparable_from=partner if likeness > ALIKE else None,
    )  # fmt: skip


def _need(problem: Problem, constant: Constant, threshold: float) -> Need:
    """The reading that would settle a constant that its own readings leave open."""
    if math.isinf(threshold):
        return Need.MORE_READINGS
    if constant is Constant.CLEAN_BED and Constant.VALVE not in problem.free:
        return Need.CLEAN_PRESSURE
    return TOLD_BY[constant][1]


def _settled(found: _Found, said: Mapping[Constant, Fitted]) -> Values:
    """The best with every constant that the log leaves open as the case has it, where the readings bear that.

    Of two that can be exchanged only the first is held: the other then follows from the readings.
    """
    held: list[int] = []
    problem, x, slopes = found.problem, found.x, found.spread.slopes
    least = problem.cost(x)
    for n, constant in enumerate(problem.free):
        each = said[constant]
        if each.identifiable or each.inseparable_from in [problem.free[other] for other in held]:
            continue
        values = problem.values(x) | {constant: min(max(each.before[1], each.low), each.high)}
        start = problem.numbers(np.array([values[free] for free in problem.free]))
        moved, steeper = problem.eased(start, [*held, n], slopes, 0.01 * WORSE)
        alone = found.lacking.get(constant) is Need.OTHER_FLOWS
        if problem.cost(moved) < least + (found.spread.threshold[n] if alone else WORSE):
            x, slopes, held = moved, steeper, [*held, n]
    return x


def _valued(said: Fitted, values: Mapping[Constant, float]) -> Fitted:
    """With its value, which the interval holds: where the best has two places that the readings bear, both."""
    value = values.get(said.constant, said.value)
    return replace(said, value=value, low=min(said.low, value), high=max(said.high, value))


def _courses(problem: Problem, x: Values) -> tuple[Course, ...]:
    """Readings beside what the case and the fit say."""
    forward = problem.forward
    columns = {"times": forward.times, "read": forward.read, "before": forward.at(),
               "after": forward.at(problem.values(x))}  # fmt: skip
    return tuple(
        Course(what=what, **{name: tuple(each[what].tolist()) for name, each in columns.items()})
        for what in problem.kinds
    )


def _held_out(found: _Found, x: Values, said: Mapping[Constant, Fitted]) -> tuple[HeldOut, ...]:
    """Fit all but the last runs, and see how that foretells them."""
    problem = found.problem
    runs = np.unique(problem.run)
    if len(runs) < RUNS_TO_HOLD_OUT:
        return ()
    kept_back = runs[-max(1, round(HELD_SHARE * len(runs))) :]
    back = np.isin(problem.run, kept_back)
    held = [n for n, constant in enumerate(problem.free) if not said[constant].identifiable]
    problem.weight = np.where(back, 0.0, 1.0)
    others, _ = problem.eased(x, held, found.spread.slopes * np.sqrt(problem.weight)[:, None], 0.01)
    problem.weight = np.ones(len(back))
    left = problem.left(problem.predicted(others))
    return tuple(
        HeldOut(
            what=what, runs=len(kept_back), readings=int(mine.sum()), rms=float(np.sqrt(np.mean(left[mine] ** 2))),
            expected=float(problem.scale[k]),
        )
        for k, what in enumerate(problem.kinds)
        if (mine := back & (problem.kind == k)).any()
    )


def _bootstrap(found: _Found, said: Mapping[Constant, Fitted]) -> dict[Constant, tuple[float, float]] | None:
    """95 % of the constants from runs drawn anew, each fit one step from the best."""
    problem, runs = found.problem, np.unique(found.problem.run)
    open_ = [n for n, constant in enumerate(problem.free) if said[constant].identifiable]
    if len(runs) < RUNS_TO_DRAW or not open_:
        return None
    left, slopes = problem.residuals(found.x), found.spread.slopes[:, open_]
    pulls = [slopes[problem.run == run].T @ left[problem.run == run] for run in runs]
    parts = [slopes[problem.run == run].T @ slopes[problem.run == run] for run in runs]
    draws = np.random.default_rng(1)
    ends = np.tile(found.x, (DRAWS, 1))
    for row in range(DRAWS):
        drawn = draws.integers(len(runs), size=len(runs))
        information = sum((parts[n] for n in drawn), np.zeros((len(open_), len(open_))))
        pull = sum((pulls[n] for n in drawn), np.zeros(len(open_)))
        ends[row, open_] -= np.linalg.lstsq(information, pull, rcond=None)[0]
    low, high = np.quantile(ends, (0.025, 0.975), axis=0)
    low, high = (np.clip(each, problem.low, problem.high) for each in (low, high))
    lows, highs = problem.values(low), problem.values(high)
    return {problem.free[n]: (lows[problem.free[n]], highs[problem.free[n]]) for n in open_}
