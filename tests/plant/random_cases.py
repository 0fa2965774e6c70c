"""Cases drawn at random, over the whole of what a case file can say but short and small."""

from dataclasses import replace
from datetime import datetime, timedelta

from hypothesis import strategies as st
from hypothesis.strategies import DrawFn, SearchStrategy

from hydraulics.media import sublayer_sizes
from sim.case.records import Case
from sim.case.series.records import Coagulant, Demand, Feed, Profile, Run, Season, Seasonal, Series, Steady
from sim.case.stage.records import HeadLoss, Layer, Mat, Ripening, Sloughing, Stage, Step, Vessel
from sim.case.trigger.records import Calendar, Policy, Pressure, Trigger, Volume, VolumeReserve
from tests.plant.builders import ANTHRACITE, DAY, FILTER, HOUR, MINUTE, make_case

SUBLAYERS = 8
FLOOR = 0.05
POLICY = "drawn"


def numbers(low: float, high: float) -> SearchStrategy[float]:
    """A number within a range, all parts of it alike: hypothesis' own floats keep to its ends."""
    return st.integers(0, 1000).map(lambda i: low + (high - low) * i / 1000)


def none_or(strategy: SearchStrategy) -> SearchStrategy:
    return st.one_of(st.none(), strategy)


@st.composite
def layers(draw: DrawFn) -> Layer:
    """Gravel, equal grains, or grains of many sizes with one filter coefficient or one for each sublayer."""
    porosity, density = draw(numbers(0.38, 0.55)), draw(numbers(20e3, 60e3))
    size, uniformity = draw(numbers(0.3e-3, 1.5e-3)), draw(st.sampled_from((1.0, 1.0, 1.3, 1.7)))
    sizes = (size,) if uniformity == 1.0 else sublayer_sizes(size, uniformity, SUBLAYERS)
    coefficient = draw(st.one_of(st.just(0.0), numbers(0.5, 15.0), numbers(0.5, 30.0)))
    each = (coefficient,) if draw(st.booleans()) else tuple(coefficient * sizes[0] / d for d in sizes)
    return replace(
        ANTHRACITE,
        depth=draw(numbers(0.05, 0.5)),
        size=size,
        uniformity=uniformity,
        sphericity=draw(numbers(0.5, 1.0)),
        porosity=porosity,
        filter_coefficients=each,
        ultimate_deposit=draw(numbers(0.05, 0.9)) * density * (porosity - FLOOR),
        deposit_density=density,
        head_loss_gain=draw(numbers(1.0, 10.0)),
        firm_share=draw(numbers(0.0, 0.4)),
        sublayer_sizes=sizes,
        viscosity_exponent=draw(st.sampled_from((0.0, 0.5, 1.0))),
    )


@st.composite
def head_losses(draw: DrawFn) -> HeadLoss:
    viscous, inertial, law = draw(st.sampled_from(((150.0, 1.75, "ergun"), (180.0, 0.0, "carman-kozeny"))))
    return HeadLoss(
        law=law,
        viscous=viscous,
        inertial=inertial,
        growth=draw(st.sampled_from(("pore-narrowing", "linear"))),
        valve_constant=draw(st.sampled_from((0.0, 1e9))),
        tap=draw(st.sampled_from(("vessel", "bed"))),
    )


@st.composite
def washes(draw: DrawFn, area: float) -> tuple[Step, ...]:
    """One or two backwashes with what may stand before, between and behind them."""
    settle = Step(
        do="settle", seconds=draw(numbers(10.0, 600.0)), flow=0.0, water="raw", water_solids=None, cleaning_rate=None
    )
    rinse = replace(settle, do="rinse", flow=draw(numbers(2.0, 20.0)) / HOUR * area)
    water = draw(st.sampled_from(("raw", "filtered", "clean")))
    backwash = replace(
        settle,
        do="backwash",
        seconds=draw(numbers(2 * MINUTE, 15 * MINUTE)),
        flow=draw(numbers(20.0, 50.0)) / HOUR * area,
        water=water,
        water_solids=draw(numbers(0.0, 10.0)) if water == "filtered" else None,
        cleaning_rate=draw(none_or(numbers(0.0, 1.5))),
    )
    if backwash.cleaning_rate is not None:
        backwash = replace(backwash, cleaning_rate=backwash.cleaning_rate / MINUTE)
    orders = (
        (backwash, rinse),
        (backwash,),
        (backwash, settle, rinse),
        (settle, backwash, settle, backwash, rinse),
        (rinse, backwash, rinse, rinse),
    )
    return draw(st.sampled_from(orders))


@st.composite
def stages(draw: DrawFn, name: str, unfilterable: float) -> Stage:
    bed = tuple(draw(st.lists(layers(), min_size=1, max_size=3)))
    depth = sum(layer.depth for layer in bed)
    vessel = Vessel(diameter=draw(numbers(0.3, 1.0)), height=depth + draw(numbers(0.0, 1.0)), pressure_rating=None)
    graded = any(len(layer.sublayer_sizes) > 1 for layer in bed)
    return replace(
        FILTER,
        name=name,
        limit=draw(none_or(numbers(0.05, 5.0))),
        vessel=vessel,
        layers=bed,
        head_loss=draw(head_losses()),
        ripening=draw(none_or(st.builds(Ripening, share=numbers(0.0, 0.95), volume=numbers(0.5, 10.0)))),
        sloughing=draw(none_or(st.builds(Sloughing, exponent=numbers(0.0, 1.0)))),
        mat=draw(none_or(st.builds(Mat, share=numbers(0.0, 0.6), resistance=numbers(1e9, 1e11)))),
        unfilterable=unfilterable,
        velocity_exponent=draw(st.sampled_from((0.0, 0.5, 1.0, 2.0))),
        tanks=draw(st.integers(1, 6)),
        underdrain_volume=draw(st.sampled_from((0.0, 0.02))),
        cells_per_layer=SUBLAYERS if graded else draw(st.sampled_from((2, 5, 10))),
        porosity_floor=FLOOR,
        loose_rate=draw(numbers(0.1, 1.5)) / MINUTE,
        firm_rate=draw(numbers(0.0, 0.1)) / MINUTE,
        steps=draw(washes(vessel.area)),
    )


def hours_of_day() -> SearchStrategy[float]:
    """A time of day [s], mostly a full hour so that stages meet at it."""
    return st.one_of(st.integers(0, 23).map(lambda hour: hour * HOUR), numbers(0.0, DAY - 1.0))


@st.composite
def triggers(draw: DrawFn, area: float, length: float) -> Trigger:
    latest = draw(st.one_of(st.none(), numbers(DAY, length), st.just(length / 4), numbers(2 * MINUTE, DAY)))
    volume = draw(numbers(2.0, 150.0)) * area
    return draw(
        st.one_of(
            st.builds(Calendar, every=numbers(HOUR, length), at=hours_of_day(), longest_run=st.just(latest)),
            st.builds(Volume, volume=st.just(volume), at=none_or(hours_of_day()), longest_run=st.just(latest)),
            st.builds(
                VolumeReserve,
                volume=st.just(volume),
                reserve=numbers(0.0, 0.99).map(lambda share: share * volume),
                at=hours_of_day(),
                longest_run=st.just(latest),
            ),
            st.builds(
                Pressure, above=numbers(500.0, 30e3), hold=st.one_of(st.just(0.0), numbers(0.0, 2 * HOUR)),
                longest_run=st.just(latest),
            ),
        )
    )  # fmt: skip


@st.composite
def profiles(draw: DrawFn, high: float) -> Profile:
    values = st.sampled_from((*(draw(numbers(0.02, 1.0)) * high for _ in range(3)), 0.0))
    hourly = draw(st.lists(values, min_size=24, max_size=24))
    weekday = draw(st.lists(st.sampled_from((1.0, 1.0, 0.5, 0.0)), min_size=7, max_size=7))
    return Profile(hourly=tuple(hourly), weekday=tuple(weekday))


@st.composite
def seasons(draw: DrawFn, high: float) -> Seasonal:
    mean = draw(numbers(0.1, 0.5)) * high
    return Seasonal(mean=mean, swing=draw(numbers(0.0, 1.0)) * mean, peak_day=draw(st.integers(1, 366)))


def series(high: float) -> SearchStrategy[Series]:
    """Steady, by the hour or by the season, from 0 to `high`; nothing at all now and then."""
    steady = st.builds(Steady, value=numbers(0.02 * high, high))
    return st.one_of(steady, profiles(high), seasons(high), st.just(Steady(value=0.0)))


@st.composite
def demands(draw: DrawFn, high: float) -> Demand:
    """By the hour or steady; nothing at all once in ten."""
    kind = draw(st.integers(0, 9))
    steady = Steady(value=0.0 if kind == 9 else draw(numbers(0.05, 1.0)) * high)
    season = st.builds(Season, swing=numbers(0.0, 1.0), peak_day=st.integers(1, 366))
    return Demand(flow=draw(profiles(high)) if kind < 6 else steady, season=draw(none_or(season)))


def coagulants() -> SearchStrategy[Coagulant | None]:
    """None in a third of the cases, else the same dose at all times or one that follows the solids."""
    steady = st.builds(Coagulant, product=st.just("alum"), adds=numbers(0.1, 20.0), adds_per_solids=st.just(0.0))
    following = st.builds(Coagulant, product=st.just("iron"), adds=st.just(0.0), adds_per_solids=numbers(0.05, 1.0))
    return st.one_of(st.none(), steady, following)


@st.composite
def cases(draw: DrawFn, most_days: float, most_stages: int = 3) -> Case:
    """A train of one to three filters, a week or some, with one policy called POLICY."""
    count = draw(st.integers(1, most_stages))
    shares = sorted((max(draw(numbers(-0.1, 0.3)), 0.0) for _ in range(count)), reverse=True)
    train = tuple(draw(stages(f"filter {k + 1}", share)) for k, share in enumerate(shares))
    length = draw(numbers(5.0, most_days)) * DAY if most_days > 5.0 else most_days * DAY
    area = min(stage.vessel.area for stage in train)
    warm = st.builds(Seasonal, mean=numbers(10.0, 20.0), swing=numbers(0.0, 8.0), peak_day=st.integers(1, 366))
    start = datetime(2027, 1, 1) + timedelta(minutes=draw(st.integers(0, 525_600)))
    temperature = draw(st.one_of(st.builds(Steady, value=numbers(1.0, 30.0)), warm))
    return make_case(
        run=Run(start=start, length=length, allowed_over_limit=None),
        feed=Feed(
            temperature=temperature, solids=draw(series(60.0)), turbidity_ratio=None, coagulant=draw(coagulants())
        ),
        demand=draw(demands(20.0 / HOUR * area)),
        stages=train,
        policies=(Policy(name=POLICY, triggers=tuple((s.name, draw(triggers(area, length))) for s in train)),),
    )
