"""Which constants a stage has that a log may tell: their keys, what the case says of them, how far a fit may go; and
a fitted one as a case holds it, in the unit of its key [SI]."""

from collections.abc import Iterator, Mapping
from dataclasses import replace
from statistics import fmean
from typing import Final

from hydraulics.media import DEFAULTS, VALVE_RATE
from sim.case.chemistry.records import Carbon, Resin
from sim.case.record import record
from sim.case.records import Assumption, Case, Solved
from sim.case.stage.records import Stage
from sim.fit.records import Constant, Fit, Fitted
from sim.log.records import Log, What

FARTHEST = 20.0
"""A fit goes so many times up and down from what the case says."""
FARTHEST_BED = 4.0
"""As far with the coefficients of the clean bed, which stand for grains and pores that are known better."""


UNITS: Final[Mapping[str, str]] = {
    "valve": "Pa", "deposit_density": "g/m3", "head_loss_gain": "Pa/m per g/m3", "typical_coefficient": "1/m",
    "filter_coefficient": "1/m", "cleaning_rate": "1/s", "loose_rate": "1/s", "firm_rate": "1/s",
    "solids_per_turbidity": "g/m3 per NTU", "half_length": "m", "combined_half_length": "m",
}  # fmt: skip
"""Units of keys by their last part; "-" of all others."""


@record
class Known:
    """A constant as a case has it: its dotted keys, the value of the first [SI], low and high of what is assumed (the
    value itself where it is given), and the least and the most that a fit may try."""

    key: tuple[str, ...]
    value: float
    low: float
    high: float
    least: float
    most: float


def known_of(case: Case, log: Log, *, own_law: bool) -> Mapping[Constant, Known]:
    """The constants of the only stage of a case that a log could tell, whether this one does or not.

    `own_law`: its law of growth is that of the case as written, which may give the constant of it.
    """
    return dict(_known(case, case.stages[0], log, own_law))


def _known(case: Case, stage: Stage, log: Log, own_law: bool) -> Iterator[tuple[Constant, Known]]:
    base, loss = f"stage.{stage.name}", stage.head_loss
    captures = [n for n, layer in enumerate(stage.layers) if max(layer.filter_coefficients) > 0.0]
    if loss.tap == "vessel":
        usual = DEFAULTS["valve_loss"].value / (VALVE_RATE * stage.vessel.area) ** 2
        yield Constant.VALVE, _of(case, (f"{base}.head_loss.valve",), loss.valve_constant or usual)
    keys = f"{base}.head_loss.viscous", f"{base}.head_loss.inertial"
    yield Constant.CLEAN_BED, _of(case, keys, loss.viscous, farthest=FARTHEST_BED)
    if captures:
        yield Constant.GROWTH, _growth(case, stage, captures, own_law)
        yield Constant.CAPTURE, _capture(case, stage, captures)
        rates = [n for n, step in enumerate(stage.steps) if step.cleaning_rate is not None]
        stated = tuple(f"{base}.step.{n}.cleaning_rate" for n in rates)
        rate = (stage.steps[rates[0]].cleaning_rate if rates else stage.loose_rate) or 0.0
        if rate > 0.0 and any(step.do == "backwash" for step in stage.steps):
            yield Constant.CLEANING, _of(case, stated or (f"{base}.loose_rate", f"{base}.firm_rate"), rate)
        if log.of(What.TURBIDITY_IN) is not None:
            ratio = case.feed.turbidity_ratio or 1.0
            yield Constant.SOLIDS_PER_TURBIDITY, _of(case, ("feed.solids_per_turbidity",), ratio)
    for n, layer in enumerate(stage.layers):
        match layer.uptake:
            case Resin():
                yield Constant.SOFTENER_CAPACITY, _of(case, (f"{base}.layer.{n}.capacity_factor",), 1.0)
            case Carbon():
                combined = ("combined_half_length",) if "combined_chlorine" in dict(case.feed.solutes) else ()
                half = tuple(f"{base}.layer.{n}.{name}" for name in ("half_length", *combined))
                yield Constant.HALF_LENGTH, _of(case, half, layer.uptake.half_length)


def _growth(case: Case, stage: Stage, captures: list[int], own_law: bool) -> Known:
    """The gain of head loss, or the deposit density: not so low that an ultimate deposit given does not fit."""
    linear, base = stage.head_loss.growth == "linear", f"stage.{stage.name}.layer"
    name = "head_loss_gain" if linear else "deposit_density"
    usual = DEFAULTS[name]
    other = (1.0, 1.0) if own_law else (usual.low / usual.value, usual.high / usual.value)
    keys = tuple(f"{base}.{n}.{name}" for n in captures)
    found = _of(case, keys, getattr(stage.layers[captures[0]], name), other)
    given = [
        layer.ultimate_deposit / (layer.porosity - stage.porosity_floor) / layer.deposit_density
        for n, layer in enumerate(stage.layers)
        if n in captures and not linear and _range(case, f"{base}.{n}.ultimate_deposit") is None
    ]
    return replace(found, least=max(found.least, found.value * max(given, default=0.0) * (1.0 + 1e-9)))


def _capture(case: Case, stage: Stage, captures: list[int]) -> Known:
    """The filter coefficient, or the typical one that the case takes."""
    keys, first = [], 0.0
    for n in captures:
        base = f"stage.{stage.name}.layer.{n}"
        assumed = _range(case, f"{base}.typical_coefficient")
        keys.append(f"{base}.typical_coefficient" if assumed else f"{base}.filter_coefficient")
        first = first or (assumed[1] if assumed else fmean(stage.layers[n].filter_coefficients))
    return _of(case, tuple(keys), first)


def _range(case: Case, key: str, *, stated: bool = False) -> tuple[float, float, float] | None:
    """Low, value and high of what a case assumes or was told by a known run; None of what it gives.

    `stated`: also of what it gives with a range, as a fit before this one may have.
    """
    known: tuple[Assumption | Solved, ...] = (*case.assumptions, *case.solved, *(case.stated if stated else ()))
    return next(((each.low, each.value, each.high) for each in known if each.key == key), None)


def _of(
    case: Case, key: tuple[str, ...], value: float, otherwise: tuple[float, float] = (1.0, 1.0),
    farthest: float = FARTHEST,
) -> Known:  # fmt: skip
    """The constant, its range from the case in proportion; `otherwise` that of a law that the case does not use."""
    assumed = _range(case, key[0], stated=True)
    low, high = otherwise
    if assumed is not None and assumed[1] > 0.0:
        low, high = assumed[0] / assumed[1], assumed[2] / assumed[1]
    return Known(
        key=key, value=value, low=low * value, high=high * value,
        least=value * min(max(low, 1e-3), 1.0 / farthest), most=value * max(high, farthest),
    )  # fmt: skip


def stage_of(fit: Fit, case: Case) -> Stage:
    """The stage that was fitted."""
    return next(stage for stage in case.stages if stage.name == fit.stage)


def valve_flow(stage: Stage) -> float:
    """The flow [m3/s] at which the loss of a fitted valve is told: that of its typical loss."""
    return VALVE_RATE * stage.vessel.area


def as_case_has_it(fitted: Fitted, stage: Stage, *, before: bool = False) -> Assumption:
    """Value and range of the first key, or those that the case had `before`; a valve's as its loss [Pa] at
    `valve_flow`."""
    name = fitted.key[0].rpartition(".")[2]
    factor = valve_flow(stage) ** 2 if name == "valve" else 1.0
    told = fitted.before if before else (fitted.low, fitted.value, fitted.high)
    low, value, high = (factor * each for each in told)
    return Assumption(key=fitted.key[0], value=value, low=low, high=high, unit=UNITS.get(name, "-"), source="")
