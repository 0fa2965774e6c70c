"""Fits made by hand, for what is written and told of them."""

from dataclasses import replace
from datetime import datetime

from sim.case.records import Case
from sim.case.stage.records import Growth
from sim.fit.constants import known_of
from sim.fit.records import Constant, Course, Fit, Fitted, HeldOut, Need, Noise
from sim.log.records import Log, Series, Washed, What

DAY = 86_400.0
FACTORS = (0.9, 1.2345, 1.5)
"""Low, value and high of every constant that a made fit tells, times that of the case."""


def made_log(file: str = "log.csv") -> Log:
    """Ten days of readings by hand: pressure and turbidity once a day, a wash every other day."""
    times = tuple(DAY * (day + 0.4) for day in range(10))
    pressure = tuple(9e3 + 4e3 * (day % 2) for day in range(10))
    return Log(
        file=file, start=datetime(2027, 3, 1), length=10 * DAY,
        series=(
            Series(what=What.FLOW, times=times, values=(1e-3,) * 10, resolution=1e-5),
            Series(what=What.PRESSURE_DROP, times=times, values=pressure, resolution=100.0),
            Series(what=What.TURBIDITY_IN, times=times, values=(3.0,) * 10, resolution=0.1),
        ),
        washes=tuple(
            Washed(start=2 * DAY * n, end=2 * DAY * n + 900.0, drained=None, found="marked") for n in range(1, 5)
        ),
    )  # fmt: skip


def made_fit(
    case: Case, *, stage: str | None = None, law: Growth | None = None, told: set[Constant] | None = None
) -> Fit:
    """A fit of the first stage, its constants `told` (all that a log can tell, if not said) as FACTORS say."""
    log = made_log()
    told = set(Constant) - {Constant.SOLIDS_PER_TURBIDITY} if told is None else told
    found = next(each for each in case.stages if stage in (None, each.name))
    tried = found if law is None else replace(found, head_loss=replace(found.head_loss, growth=law))
    known = known_of(replace(case, stages=(tried,)), log, own_law=law in (None, found.head_loss.growth))
    low, value, high = FACTORS
    constants = tuple(
        Fitted(
            constant=constant, key=each.key, value=value * each.value, low=low * each.value, high=high * each.value,
            before=(each.low, each.value, each.high), identifiable=True, bound="both",
        )
        if constant in told
        else Fitted(
            constant=constant, key=each.key, value=each.value, low=each.low, high=each.high,
            before=(each.low, each.value, each.high), identifiable=False,
            bound="lower" if constant is Constant.SOFTENER_CAPACITY else "none",
            needs=Need.OTHER_FLOWS if constant is Constant.VALVE else Need.TURBIDITY_OUT,
            inseparable_from=Constant.CLEAN_BED if constant is Constant.VALVE else None,
        )
        for constant, each in known.items()
    )  # fmt: skip
    series = log.of(What.PRESSURE_DROP)
    assert series is not None
    return Fit(
        stage=found.name, log=log, law=law, evidence=None, constants=constants,
        noise=(Noise(what=What.PRESSURE_DROP, sd=300.0, floor=29.0, count=10),),
        predicted=(
            Course(
                what=What.PRESSURE_DROP, times=series.times, read=series.values,
                before=tuple(1.4 * each for each in series.values),
                after=tuple(each + (-1) ** n * 250.0 for n, each in enumerate(series.values)),
            ),
        ),
        held_out=(HeldOut(what=What.PRESSURE_DROP, runs=2, readings=4, rms=410.0, expected=320.0),),
        bootstrap=None, evaluations=240,
    )  # fmt: skip
