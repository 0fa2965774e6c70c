"""What [downstream], [pump] and the stages say together about the train as a whole; see `checks`."""

from collections.abc import Iterator
from itertools import pairwise

from sim.case.line_numbers import Path
from sim.case.mistakes import Finding, Findings
from sim.case.schema import CaseFile
from sim.case.series.series import turbidity_can_be_read
from sim.case.spelling import quoted, shown
from sim.case.stage.schema import StageTable
from sim.case.train.schema import END, START, CartridgeTable, TankTable
from sim.case.train.train import first_level_of, hold_steps, level_of
from sim.case.trigger.schema import AnyOfTable, PressureTable
from sim.case.units import TURBIDITY

UNIT_KEYS = {"feed_flow": '"4 m3/h"', "recovery": "0.75"}
"""Keys of a unit beside its tank, and how each is written."""

ORDER = "points from no flow to the largest, with the pressure that the pump gives at each"

KILO = 1e3

LEAST_RUN = 30.0  # s: shorter ones say that a tank or a level is not meant so, and take a run for ever

TANK = 'tank = { volume = "10 m3", start_below = 0.4, stop_above = 0.9 }'


def has_unit(case: CaseFile) -> bool:
    """Whether the case tells of a unit downstream that runs and stands."""
    return case.downstream is not None and case.downstream.tank is not None


def membrane_belongs_to_a_membrane(case: CaseFile) -> Findings:
    unit = case.downstream
    if unit is not None and unit.membrane is not None and case.use != "membrane":
        yield Finding(
            ("downstream", "membrane"),
            f"a membrane {'without use' if case.use is None else f'with use = {shown(case.use)}'}",
            'membrane with use = "membrane" only',
            'leaving it out, or use = "membrane" above all tables',
        )


def unit_is_whole(case: CaseFile) -> Findings:
    """A unit has a feed flow, a recovery and a tank, or none of them is told."""
    unit = case.downstream
    if unit is None:
        return
    told = [key for key in ("feed_flow", "recovery", "tank") if getattr(unit, key) is not None]
    missing = [key for key in ("feed_flow", "recovery", "tank") if key not in told]
    for key in missing if told else ():
        yield Finding(
            ("downstream", key),
            f"nothing beside {' and '.join(told)}",
            "feed_flow, recovery and tank together, or none of them",
            f"{key} = {UNIT_KEYS[key]}" if key in UNIT_KEYS else TANK,
        )


def tank_levels_rise(case: CaseFile) -> Findings:
    """0 <= start_below < stop_above <= volume, and the first level lies in the tank."""
    tank = None if case.downstream is None else case.downstream.tank
    if tank is None:
        return
    place = ("downstream", "tank")
    low, high = level_of(tank.start_below, tank.volume), level_of(tank.stop_above, tank.volume)
    if low >= high:
        yield Finding(
            (*place, "start_below"),
            f"{low:g} m3, with stop_above at {high:g} m3",
            "a level below that at which the unit stops",
            "a lower start_below or a higher stop_above",
        )
    yield from _within_the_tank(tank, "stop_above", high, place)
    if tank.level is not None:
        yield from _within_the_tank(tank, "level", first_level_of(tank), place)


def unit_runs_for_a_while(case: CaseFile) -> Findings:
    """From the level at which it starts to the one at which it stops a unit runs for LEAST_RUN at least."""
    unit = case.downstream
    if unit is None or unit.tank is None or unit.feed_flow is None or unit.recovery is None:
        return
    product = unit.feed_flow * unit.recovery
    room = level_of(unit.tank.stop_above, unit.tank.volume) - level_of(unit.tank.start_below, unit.tank.volume)
    if 0.0 < room < product * LEAST_RUN:
        yield Finding(
            ("downstream", "tank", "stop_above"),
            f"{room:.3g} m3 above start_below, filled in {room / product:.2g} s",
            f"{product * LEAST_RUN:.3g} m3 or more, what the unit makes in {LEAST_RUN:g} s",
            "a larger tank, or levels further apart",
        )


def _within_the_tank(tank: TankTable, key: str, level: float, place: Path) -> Findings:
    if level > tank.volume:
        allowed = f"up to the volume of the tank, {tank.volume:g} m3"
        yield Finding((*place, key), f"{level:g} m3", allowed, "a lower level, or a larger tank")


def cartridge_is_told_once(case: CaseFile) -> Findings:
    """What a cartridge holds: a mass, or an area and the mass for each of it."""
    cartridge = None if case.downstream is None else case.downstream.cartridge
    if cartridge is None:
        return
    place = ("downstream", "cartridge")
    by_area = [key for key in ("area", "per_area") if getattr(cartridge, key) is not None]
    if cartridge.capacity is not None and by_area:
        yield Finding(
            (*place, by_area[0]),
            f"{' and '.join(by_area)} beside capacity",
            "capacity, or area and per_area",
            "leaving one way out",
        )
    elif cartridge.capacity is None and len(by_area) < 2:
        yield _half_told(cartridge, place)


def _half_told(cartridge: CartridgeTable, place: Path) -> Finding:
    key, way = "capacity", 'capacity = "0.8 kg"'
    if cartridge.area is not None:
        key, way = "per_area", 'per_area = "150 g/m2"'
    if cartridge.per_area is not None:
        key, way = "area", 'area = "6 m2"'
    return Finding((*place, key), "nothing", "what the cartridge holds: capacity, or area and per_area", way)


def feed_limit_can_be_read(case: CaseFile) -> Findings:
    limit = None if case.downstream is None else case.downstream.feed_limit
    if limit is not None and limit.kind is TURBIDITY and not turbidity_can_be_read(case.feed):
        yield Finding(
            ("downstream", "feed_limit"),
            "a limit of turbidity, with no feed.solids_per_turbidity",
            "a limit in mg/L, or in NTU with the ratio of solids to turbidity",
            'solids_per_turbidity = "1.2 mg/L per NTU" under [feed], or what the site has measured',
        )


def pump_has_a_curve(case: CaseFile) -> Findings:
    """As many pressures as flows; flows rise from 0, pressures fall, and some flow reaches the delivery pressure."""
    pump = case.pump
    if pump is None:
        return
    if len(pump.flow) != len(pump.pressure):
        yield Finding(
            ("pump", "pressure"),
            f"{len(pump.pressure)} pressures for {len(pump.flow)} flows",
            "a pressure for every flow",
            "lists of the same length",
        )
        return
    if pump.flow[0] != 0.0:
        yield Finding(
            ("pump", "flow", 0),
            "a first point with flow",
            "a curve that starts at no flow",
            '"0 m3/h" first, with the pressure against a closed valve',
        )
    for number, ((flow, pressure), (more, less)) in enumerate(
        pairwise(zip(pump.flow, pump.pressure, strict=True)), 1
    ):
        if more <= flow:
            yield Finding(("pump", "flow", number), "a flow not above the one before", "flows that rise", ORDER)
        if less > pressure:
            given = "a pressure above the one before"
            yield Finding(("pump", "pressure", number), given, "pressures that fall or stay", ORDER)
    if pump.delivery >= pump.pressure[0]:
        yield Finding(
            ("pump", "delivery"),
            f"{pump.delivery / KILO:g} kPa, with {pump.pressure[0] / KILO:g} kPa from the pump at no flow",
            "less than the pump gives at no flow",
            "a lower delivery, or the curve of the pump that is there",
        )


def hold_lies_in_the_wash(stage: StageTable, place: Path, _case: CaseFile) -> Findings:
    """A hold names steps of the wash, and its first one comes no later than its last."""
    hold = stage.hold_unit
    if hold is None:
        return
    names, steps = {"from": getattr(hold, "from"), "until": hold.until}, hold_steps(stage)
    for (key, name), at in zip(names.items(), steps, strict=True):
        if at < 0:
            others = quoted(dict.fromkeys(step.do for step in stage.step if step.minutes))
            yield Finding((*place, "hold_unit", key), f"{shown(name)}, which this wash has not",
                          f'a step of the wash: {others}; or {shown(START if key == "from" else END)}',
                          "one of these")  # fmt: skip
    if steps[0] > steps[1] >= 0:
        yield Finding((*place, "hold_unit", "until"), f"{shown(hold.until)}, which ends before",
                      f"{shown(names['from'])} or a later step", "a later until")  # fmt: skip


def unit_is_there(stage: StageTable, place: Path, case: CaseFile) -> Findings:
    """What acts on the unit downstream, or comes from it, needs one."""
    for key in ("hold_unit", "start_spike", "only_while"):
        if getattr(stage, key) is not None and not has_unit(case):
            yield Finding(
                (*place, key),
                f"{key} without a unit downstream",
                "a unit that runs and stands, with feed_flow, recovery and tank under [downstream]",
                f"leaving it out, or {TANK} and the rest under [downstream]",
            )


def wash_path_can_be(stage: StageTable, place: Path, _case: CaseFile) -> Findings:
    """Water from the stages before is what they make of the raw water."""
    if stage.wash_path == "header":
        return
    if place == ("stage", 0):
        yield Finding(
            (*place, "wash_path"),
            '"through earlier stages" for the first stage',
            'wash_path = "header": there are no earlier stages',
            "leaving it out",
        )
    for number, step in enumerate(stage.step):
        if step.do == "backwash" and step.water in ("filtered", "clean"):
            yield Finding(
                (*place, "step", number, "water"),
                f'{shown(step.water)} with wash_path = "through earlier stages"',
                "raw water, which the earlier stages then filter",
                'leaving it out, or wash_path = "header"',
            )


def sisters_are_there(stage: StageTable, place: Path, _case: CaseFile) -> Findings:
    """Keys of several vessels mean something only where there are several, in service at once."""
    vessels = stage.vessels
    if vessels is None:
        return
    keys = ("arrangement", "inhibit_while_sister_washes") if vessels.count == 1 else ()
    for key in keys:
        if getattr(vessels, key) is not None:
            yield Finding(
                (*place, "vessels", key),
                f"{key} with one vessel",
                "a count of 2 or more",
                "leaving it out, or a larger count",
            )
    if vessels.count > 2 and vessels.arrangement == "alternating":
        yield Finding(
            (*place, "vessels", "count"),
            f'{vessels.count} with arrangement = "alternating"',
            "2 vessels, which take turns",
            'count = 2, or arrangement = "duty standby"',
        )
    if (
        vessels.count > 1
        and vessels.arrangement in ("duty standby", "alternating")
        and vessels.inhibit_while_sister_washes is not None
    ):
        yield Finding(
            (*place, "vessels", "inhibit_while_sister_washes"),
            f'inhibit_while_sister_washes with arrangement = "{vessels.arrangement}"',
            "parallel vessels, whose flow rises while a sister washes",
            "leaving it out",
        )


def switch_can_reset(stage: StageTable, place: Path, case: CaseFile) -> Findings:
    """The switch resets above no pressure drop at all, at every set point that a policy has."""
    reset = None if stage.switch is None else stage.switch.reset_difference
    if not reset:
        return
    sets = [trigger.above for trigger in _triggers_of(case, stage.name) if isinstance(trigger, PressureTable)]
    if sets and reset >= min(sets):
        yield Finding(
            (*place, "switch", "reset_difference"),
            f"{reset / KILO:g} kPa, with a set point of {min(sets) / KILO:g} kPa",
            "less than every set point of the stage's policies, or the switch never resets",
            "a smaller reset_difference",
        )


def _triggers_of(case: CaseFile, stage: str) -> Iterator[object]:
    """Every single trigger of a stage, over all policies."""
    for triggers in case.policy.values():
        trigger = triggers.get(stage)
        yield from trigger.any_of if isinstance(trigger, AnyOfTable) else (trigger,)


OF_CASE = (
    membrane_belongs_to_a_membrane,
    unit_is_whole,
    tank_levels_rise,
    unit_runs_for_a_while,
    cartridge_is_told_once,
    feed_limit_can_be_read,
    pump_has_a_curve,
)
OF_STAGE = (hold_lies_in_the_wash, unit_is_there, wash_path_can_be, sisters_are_there, switch_can_reset)
