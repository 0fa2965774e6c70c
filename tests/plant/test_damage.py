"""Media lost, capacity lost, area closed by mudballs: the exact step with what is left, and books that close."""

import math
from collections.abc import Callable

import pytest

from hydraulics.capture import deposit_gain, outlet_share
from sim.case.chemistry.records import Resin
from sim.case.records import Case
from sim.case.stage.records import Mat, Stage
from sim.plant.line import Line
from sim.plant.trace import slices_of, used_slices
from tests.plant.builders import (
    BACKWASH,
    DAY,
    FILTER,
    HOUR,
    M3_H,
    MINUTE,
    SAND,
    feed,
    make_case,
    replace,
    steady,
)
from tests.plant.lines import carried, closed, state
from tests.plant.solute_builders import (
    BRINE,
    CARBON,
    CHLORINE,
    DISPLACEMENT,
    OXIDISER,
    SOFTENER,
    WASH,
    deeper,
    well,
    with_uptake,
)

RATE, AREA = FILTER.reference_rate, FILTER.vessel.area
ULTIMATE, LAMBDA, DEPTH, RAW = 600.0, 10.0, 0.25, 0.5
SHORT = replace(FILTER, layers=(replace(SAND, ultimate_deposit=ULTIMATE),), limit=None)
CASE = make_case(stages=(SHORT,), demand=steady(RATE * AREA), feed=feed(RAW), days=20.0)
THEN, LATER = 20 * HOUR, 40 * HOUR


def gauge(line: Line) -> float:
    return line.at(line.time).reading(0)[1]


def outlet(line: Line) -> float:
    return line.at(line.time).reading(0)[3]


@pytest.mark.parametrize("share", [0.0, 0.1, 0.6])
def test_with_less_media_the_bed_goes_on_as_a_shorter_one(share: float) -> None:
    """Depth z (1 - y) with the deposit D (1 - y) of 20 h above it, then the exact step for 20 h more."""
    line = carried(Line(CASE), THEN)
    held = deposit_gain(DEPTH, LAMBDA, ULTIMATE, load=RAW * RATE * THEN)
    before = gauge(line)
    line.lose_media(0, share)
    assert gauge(line) == pytest.approx((1.0 - share) * before, rel=1e-9)
    assert line.vessel[0].spilt_total == pytest.approx(share * held * AREA, rel=1e-9)
    free = (1.0 - share) * (DEPTH - held / ULTIMATE)
    load = RAW * RATE * (LATER - THEN)
    expected = RAW * outlet_share(LAMBDA * free, LAMBDA * load / ULTIMATE)
    site = closed(CASE, carried(line, LATER))
    assert outlet(line) == pytest.approx(expected, rel=1e-9)
    assert site["solids_to_drain_kg"] == pytest.approx(share * held * AREA / 1000.0, rel=1e-9)
    depths = slices_of(CASE, line.at(LATER))
    assert depths[-1].bottom_m == pytest.approx((1.0 - share) * DEPTH)


@pytest.mark.parametrize("share", [0.1, 0.6])
def test_part_of_the_area_closed_is_a_narrower_filter(share: float) -> None:
    """From the start: as a vessel of (1 - y) the area does, pressure and outlet and all."""
    vessel = replace(SHORT.vessel, diameter=SHORT.vessel.diameter * math.sqrt(1.0 - share))
    narrow = carried(Line(replace(CASE, stages=(replace(SHORT, vessel=vessel),))), LATER)
    line = Line(CASE)
    line.mudball(0, share)
    closed(CASE, carried(line, LATER))
    assert gauge(line) == pytest.approx(gauge(narrow), rel=1e-9)
    assert outlet(line) == pytest.approx(outlet(narrow), rel=1e-9)


def test_mudballs_keep_what_they_hold_until_they_are_broken() -> None:
    """0.3 of the deposit of 20 h is held apart; undone it goes to drain, the rest spreads over the whole area."""
    line = carried(Line(CASE), THEN)
    held = line.at(THEN).held(0)
    line.mudball(0, 0.1)
    line.mudball(0, 0.3)
    assert line.vessel[0].locked == pytest.approx(0.3 * held)
    assert line.at(THEN).held(0) == pytest.approx(held)
    closed(CASE, carried(line, LATER))
    active = math.fsum(line.at(LATER).deposits(0)) * 0.7
    line.mudball(0, 0.15)
    assert line.vessel[0].spilt_total == pytest.approx(0.15 * held)
    closed(CASE, line)
    line.mudball(0, 0.0)
    assert (line.vessel[0].area, line.vessel[0].locked) == (AREA, 0.0)
    assert line.vessel[0].spilt_total == pytest.approx(0.3 * held)
    assert math.fsum(line.at(LATER).deposits(0)) == pytest.approx(active)
    closed(CASE, carried(line, LATER + HOUR))


def test_a_wash_through_less_area_cleans_as_a_faster_one() -> None:
    """Shear by the rate through what is open: 17 m3/h through 0.7 of the area are 17/0.7 through all, and back."""
    firm = replace(BACKWASH, cleaning_rate=None)
    line = Line(replace(CASE, stages=(replace(SHORT, steps=(firm,)),)))
    fast = Line(replace(CASE, stages=(replace(SHORT, steps=(replace(firm, flow=firm.flow / 0.7),)),)))
    cleaning = []
    for each in (line, fast):
        carried(each, THEN).begin(0, 0)
        cleaning.append(each.read("part")[0]["cleaning"])
    line.mudball(0, 0.3)
    assert line.read("part")[0]["cleaning"] == pytest.approx(cleaning[1], rel=1e-12)
    assert abs(cleaning[0] / cleaning[1] - 1.0) > 1e-3
    line.finish(0)
    line.mudball(0, 0.0)
    line.begin(0, 0)
    assert line.read("part")[0]["cleaning"] == cleaning[0]


LOSSES: dict[str, Callable[[Line], None]] = {
    "media": lambda line: line.lose_media(0, 0.2),
    "capacity": lambda line: line.lose_capacity(0, 0.3),
    "mudball": lambda line: line.mudball(0, 0.4),
    "mudball undone": lambda line: (line.mudball(0, 0.4), line.mudball(0, 0.1))[0],
}
KINDS: dict[str, tuple[Stage, Case]] = {}
for _stage, _feed in (
    (replace(SHORT, mat=Mat(share=0.1, resistance=1e9)), feed(RAW)),
    (with_uptake(SOFTENER, fouling=0.1), well(2.0, hardness=300.0, iron=1.0)),
    (OXIDISER, well(2.0, iron=2.0, manganese=0.5, sulphide=0.3)),
    (replace(CARBON, dosing=CHLORINE), well(2.0, ammonia=0.2)),
):
    KINDS[_stage.name] = _stage, make_case(stages=(_stage,), demand=steady(1.2 * M3_H), feed=_feed)


@pytest.mark.parametrize("kind", sorted(KINDS))
@pytest.mark.parametrize("loss", sorted(LOSSES))
def test_books_close_whatever_is_lost_whenever(kind: str, loss: str) -> None:
    """In service, in the middle of every step of a wash and after it: water, solids, solutes to 1e-9."""
    stage, case = KINDS[kind]
    line, lose = carried(Line(case), 30 * HOUR), LOSSES[loss]
    lose(line)
    closed(case, line)
    for number, step in enumerate(stage.steps):
        begins = line.time
        line.begin(0, number)
        if step.do == "regenerant":
            line.regenerate(0, number, step.salt or 0.0, step.permanganate or 0.0)
        closed(case, carried(line, begins + 0.5 * step.seconds))
        lose(line)
        closed(case, line)
        closed(case, carried(line, begins + step.seconds))
        line.finish(0)
    line.serve(0)
    closed(case, carried(line, line.time + 20 * HOUR))
    lose(line)
    closed(case, carried(line, line.time + 20 * HOUR))
    assert line.vessel[0].area <= line.vessel[0].whole_area


CARBON_BED = replace(deeper(CARBON, 0.3), dosing=CHLORINE)
STRONG = with_uptake(CARBON_BED, capacity=2e3)


@pytest.mark.parametrize("loss", ["media", "capacity", "mudball"])
def test_carbon_goes_on_by_the_exact_step_with_what_is_left(loss: str) -> None:
    """3 g/m3 of free chlorine, b = k L / N over what is left of k, depth, N; as full as before."""
    y, flow = 0.25, 1.0 * M3_H
    uptake = STRONG.layers[0].uptake
    coefficient = math.log(2.0) / uptake.half_length * uptake.reference_rate * STRONG.vessel.area / flow  # type: ignore[union-attr]
    case = make_case(stages=(STRONG,), demand=steady(flow), feed=well(0.0))
    line = carried(Line(case), THEN)
    used = deposit_gain(0.3, coefficient, 2e3, load=3.0 * flow * THEN / STRONG.vessel.area)
    free, capacity, load = 0.3 - used / 2e3, 2e3, 3.0 * flow * (LATER - THEN) / STRONG.vessel.area
    match loss:
        case "media":
            line.lose_media(0, y)
            free *= 1.0 - y
        case "capacity":
            line.lose_capacity(0, y)
            capacity *= 1.0 - y
        case _:
            line.mudball(0, y)
            coefficient *= 1.0 - y
            load /= 1.0 - y
    carried(line, LATER)
    told = line.at(LATER).sent_on(0)
    assert told is not None
    assert 1e-3 < told[3] < 2.9
    assert told[3] == pytest.approx(3.0 * outlet_share(coefficient * free, coefficient * load / capacity), rel=1e-9)
    assert all(-1e-9 <= each.share <= 1.0 + 1e-9 for each in used_slices(case, line.at(LATER)))


LOST: dict[str, Callable[[Line, float], None]] = {
    "media": lambda line, share: line.lose_media(0, share),
    "capacity": lambda line, share: line.lose_capacity(0, share),
    "mudball": lambda line, share: line.mudball(0, share),
}


@pytest.mark.parametrize("loss", sorted(LOST))
def test_a_softener_of_which_a_part_is_gone_is_restored_as_one_built_so(loss: str) -> None:
    """By its size the same salt is a higher dose; with fewer sites it is the same dose for as many less.

    The water above a lower or narrower bed takes another share of the brine along, so some 2 % are apart there.
    """
    left, whole = 0.75, replace(SOFTENER, steps=(WASH, BRINE, DISPLACEMENT))
    uptake = whole.layers[0].uptake
    assert isinstance(uptake, Resin)
    built = {
        "media": deeper(whole, left * whole.layers[0].depth),
        "capacity": with_uptake(whole, capacities=tuple(left * each for each in uptake.capacities)),
        "mudball": replace(whole, vessel=replace(whole.vessel, diameter=whole.vessel.diameter * math.sqrt(left))),
    }
    back = []
    for stage in (whole, built[loss]):
        case = make_case(stages=(stage,), demand=steady(1.0 * M3_H), feed=well(0.0, hardness=300.0))
        line = Line(case)
        if stage is whole:
            LOST[loss](line, 1.0 - left)
        carried(line, 60 * HOUR).begin(0, 1)  # all that is left is spent
        done = line.regenerate(0, 1, 4_000.0, 0.0)
        row = line.read("uptake")[0]
        back.append((done.free_after - done.free_before) * row["capacity"] * row["depth"] * line.vessel[0].area)
        closed(case, carried(line, 61 * HOUR))
    assert back[0] == pytest.approx(back[1], rel=1e-9 if loss == "capacity" else 0.02)


@pytest.mark.parametrize("kind", sorted(KINDS))
def test_compiled_and_plain_agree_to_the_bit(kind: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """All losses in turn, through a wash; the plain line stops on its way."""
    case = KINDS[kind][1]

    def story(line: Line, *stops: float) -> Line:
        def on(until: float) -> None:
            for stop in (*[stop for stop in stops if line.time < stop < until], until):
                assert line.advance_to(until, stop) is None

        for loss in sorted(LOSSES):
            on(line.time + 20 * HOUR)
            LOSSES[loss](line)
        line.begin(0, 0)
        on(line.time + MINUTE)
        line.lose_media(0, 0.1)
        on(line.time + MINUTE)
        line.finish(0)
        line.serve(0)
        on(line.time + DAY)
        return line

    fast = story(Line(case))
    monkeypatch.setenv("FILTERRUN_PLAIN", "1")
    assert state(story(Line(case), 5 * HOUR, 33 * HOUR, 82 * HOUR)) == state(fast)
