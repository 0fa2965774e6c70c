"""A pressure switch as it is built: it reads means over a sample time, with errors, and resets below its set point.

Readings are taken at whole multiples of the sample time, by the clock of the run. Within a piece the signal follows a
parabola through its beginning, middle and end. The error of a reading depends on its number alone, so that cutting a
run anywhere changes nothing.
"""

import math

from hydraulics.compiled import law, routine
from hydraulics.powers import cube
from sim.plant.layout import Rows

NEAR = 5.0  # standard errors from a mark at which errors no longer matter
ROUNDING = 1e-9  # of a mark: what comes from below as near as this does not count as there
READINGS = 100_003  # errors drawn for a stage: a prime, so that days and weeks meet others each time


@law
def integral(low: float, high: float, span: float, first: float, middle: float, last: float) -> float:
    """Integral of the signal from `low` to `high` seconds [Pa s], its parabola given over a span [s]."""
    if span <= 0.0:
        return 0.0
    linear = -3.0 * first + 4.0 * middle - last
    quadratic = 2.0 * (first - 2.0 * middle + last)
    x, y = low / span, high / span
    return span * (first * (y - x) + linear * (y * y - x * x) / 2.0 + quadratic * (cube(y) - cube(x)) / 3.0)


@law
def surely_off(target: float, p: Rows) -> float:
    """The signal [Pa] below which no reading can switch on, be it only a bound of the signal."""
    below: float = target * (1.0 - ROUNDING) - NEAR * p.error
    return below


@routine
def run_switch(
    t: float,
    end: float,
    i: int,
    signals: Rows,
    spike: float,
    target: float,
    keep: bool,
    stage: Rows,
    vessel: Rows,
    noise: Rows,
) -> float:
    """When the switch of vessel i trips within [t, end], inf if it does not.

    `signals`: first, middle and last of a span that begins at t [Pa], a `spike` beside them. A `target` of inf [Pa]:
    nobody waits for it, or a sister washes; it does not trip then. With `keep` the state of the switch is brought to
    `end`, before which it must not trip.
    """
    s, p = vessel[i], stage[vessel[i].stage]
    if target == math.inf:
        if keep:
            s.switched, s.crossed, s.above_since, s.summed = 0, 0, math.nan, 0.0
        return math.inf
    first, middle, last = signals.first + spike, signals.middle + spike, signals.last + spike
    on, since, summed, span = s.switched == 1, s.above_since, s.summed, signals.span
    number = math.floor(t / p.sample) + 1.0
    before, most = 0.0, max(first, middle, last, s.summed / p.sample)
    if not on and most < surely_off(target, p):
        number = max(math.floor(end / p.sample), number)  # only what is seen of the last sample counts
        if number * p.sample <= end:
            before, summed = max(number * p.sample - t, 0.0), 0.0
    else:
        while number * p.sample <= end:
            time = number * p.sample
            if on and since + s.hold < time:
                break
            here = max(time - t, 0.0)
            mean = (summed + integral(before, here, span, first, middle, last)) / p.sample
            reading = mean + p.error * noise[p.first_error + int(number) % READINGS].error
            if not on and reading >= target:
                on, since = True, time
            elif on and reading < target - p.reset:
                on, since = False, math.nan
            before, summed, number = here, 0.0, number + 1.0
    due = since + s.hold if on else math.inf
    if keep:
        summed += integral(before, end - t, span, first, middle, last)
        if s.switched == 1 and not on:
            s.missed += s.crossed
            s.crossed = 0
        s.switched, s.above_since, s.summed = on, since, summed
        if on and max(signals.first, signals.last) >= target:
            s.crossed = 1
    return max(due, t) if due <= end else math.inf
