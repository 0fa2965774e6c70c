"""What stands around the filters of a train: from tables to records."""

from collections.abc import Sequence
from datetime import datetime
from typing import TypeVar

from sim.case.schema import CaseFile
from sim.case.stage.schema import StageTable
from sim.case.train.records import (
    NO_RULES,
    ONE_VESSEL,
    Abort,
    ByHand,
    Cartridge,
    Downstream,
    HoldUnit,
    Lines,
    Pump,
    RepeatWash,
    StartSpike,
    Switch,
    Tank,
    Unit,
    ValveSpike,
    Vessels,
    Washing,
)
from sim.case.train.schema import (
    AbortTable,
    ByHandTable,
    CartridgeTable,
    DownstreamTable,
    PumpTable,
    StartSpikeTable,
    SwitchTable,
    TankTable,
    ValveSpikeTable,
    VesselsTable,
)
from sim.case.units import MINUTE, TURBIDITY
from sim.case.values import Amount, Share

Planned = TypeVar("Planned", AbortTable, ByHandTable)

USUAL_SAMPLE = 5.0
"""s: over which a pressure switch averages where the case does not say; a setting, not a constant of the model."""


def solids_of(limit: Amount | None, turbidity_ratio: float | None) -> float | None:
    """A limit as solids [g/m3]; one of turbidity by the ratio of the two."""
    if limit is None or limit.kind is not TURBIDITY:
        return None if limit is None else limit.value
    assert turbidity_ratio is not None, "the checks see to it"
    return limit.value * turbidity_ratio


def level_of(told: Share | float, volume: float) -> float:
    """A level of a tank [m3]."""
    return told.value * volume if isinstance(told, Share) else told


def first_level_of(tank: TankTable) -> float:
    """What the tank holds at the start of the run [m3]: all that it may, where the case does not say."""
    return level_of(tank.stop_above if tank.level is None else tank.level, tank.volume)


def downstream_of(table: DownstreamTable | None, turbidity_ratio: float | None) -> Downstream | None:
    if table is None:
        return None
    return Downstream(
        membrane=table.membrane,
        unit=_unit(table),
        feed_limit=solids_of(table.feed_limit, turbidity_ratio),
        cartridge=None if table.cartridge is None else _cartridge(table.cartridge),
    )


def _unit(table: DownstreamTable) -> Unit | None:
    if table.feed_flow is None or table.recovery is None or table.tank is None:
        return None
    tank = table.tank
    return Unit(
        feed_flow=table.feed_flow,
        recovery=table.recovery,
        tank=Tank(
            volume=tank.volume,
            start_below=level_of(tank.start_below, tank.volume),
            stop_above=level_of(tank.stop_above, tank.volume),
            level=first_level_of(tank),
        ),
    )


def _cartridge(table: CartridgeTable) -> Cartridge:
    capacity = (table.area or 0.0) * (table.per_area or 0.0) if table.capacity is None else table.capacity
    return Cartridge(capacity=capacity, share=table.share)


def pump_of(table: PumpTable | None) -> Pump | None:
    if table is None:
        return None
    return Pump(
        flows=tuple(table.flow),
        pressures=tuple(table.pressure),
        delivery=table.delivery,
        other_loss=table.other_loss or 0.0,
    )


def vessels_of(table: VesselsTable | None) -> Vessels:
    if table is None:
        return ONE_VESSEL
    return Vessels(
        count=table.count,
        arrangement=table.arrangement or "parallel",
        inhibit_while_sister_washes=table.inhibit_while_sister_washes is not False,
    )


def wash_length(stage: StageTable) -> float:
    """How long the steps of a wash take together [s]."""
    return sum(step.minutes for step in stage.step) * MINUTE


def hold_of(stage: StageTable) -> HoldUnit | None:
    table = stage.hold_unit
    if table is None:
        return None
    end = wash_length(stage) if table.to_minute is None else table.to_minute * MINUTE
    return HoldUnit(start=table.from_minute * MINUTE, end=end)


def switch_of(table: SwitchTable | None) -> Switch | None:
    if table is None:
        return None
    return Switch(
        sample=USUAL_SAMPLE if table.sample is None else table.sample,
        error=table.error or 0.0,
        reset_difference=table.reset_difference or 0.0,
    )


def start_spike_of(table: StartSpikeTable | None) -> StartSpike | None:
    return None if table is None else StartSpike(height=table.height, length=table.length)


def valve_spike_of(table: ValveSpikeTable | None) -> ValveSpike | None:
    return None if table is None else ValveSpike(height=table.height, length=table.length, a_day=table.a_day)


def washing_of(file: CaseFile) -> Washing:
    """The rules of the site; what happens at a moment comes in the order of time."""
    table = file.washing
    if table is None:
        return NO_RULES
    repeat, lines = table.repeat_wash, table.lines
    return Washing(
        allowed_hours=tuple(table.allowed_hours or ()),
        locked_hours=tuple(table.locked_hours or ()),
        least_interval=table.least_interval or 0.0,
        most_a_day=table.most_a_day,
        together=table.together,
        lines=NO_RULES.lines if lines is None else Lines(supply=lines.supply, raw=lines.raw, drain=lines.drain),
        repeat_wash=None if repeat is None else RepeatWash(clean_within=repeat.clean_within, most=repeat.most),
        aborts=tuple(
            Abort(stage=each.stage, at=seconds_of(each.at, file), after=each.after) for each in _in_time(table.abort)
        ),
        after_abort=table.after_abort or "return",
        by_hand=tuple(ByHand(stage=each.stage, at=seconds_of(each.at, file)) for each in _in_time(table.by_hand)),
    )


def seconds_of(moment: datetime, file: CaseFile) -> float:
    """A moment as seconds from the start of the run."""
    return (moment - file.run.start).total_seconds()


def _in_time(planned: Sequence[Planned] | None) -> list[Planned]:
    return sorted(planned or (), key=lambda each: each.at)
