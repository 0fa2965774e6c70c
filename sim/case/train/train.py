"""What stands around the filters of a train: from tables to records."""

from collections.abc import Sequence
from datetime import datetime
from typing import TypeVar

from sim.case.schema import CaseFile
from sim.case.stage.schema import StageTable
from sim.case.table import record_of
from sim.case.train.records import (
    NO_RULES,
    Abort,
    ByHand,
    Cartridge,
    Downstream,
    HoldUnit,
    Lines,
    Pump,
    RepeatWash,
    Tank,
    Unit,
    Washing,
)
from sim.case.train.schema import (
    END,
    START,
    AbortTable,
    ByHandTable,
    CartridgeTable,
    DownstreamTable,
    PumpTable,
    TankTable,
)
from sim.case.trigger.records import OnlyWhile
from sim.case.units import MINUTE, TURBIDITY
from sim.case.values import Amount, Share

Planned = TypeVar("Planned", AbortTable, ByHandTable)


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
    return record_of(
        Downstream,
        table,
        unit=None if table.tank is None else record_of(Unit, table, tank=_tank(table.tank)),
        feed_limit=solids_of(table.feed_limit, turbidity_ratio),
        cartridge=None if table.cartridge is None else _cartridge(table.cartridge),
    )


def _tank(table: TankTable) -> Tank:
    return Tank(
        volume=table.volume,
        start_below=level_of(table.start_below, table.volume),
        stop_above=level_of(table.stop_above, table.volume),
        level=first_level_of(table),
    )


def _cartridge(table: CartridgeTable) -> Cartridge:
    capacity = (table.area or 0.0) * (table.per_area or 0.0) if table.capacity is None else table.capacity
    return Cartridge(capacity=capacity, share=table.share)


def pump_of(table: PumpTable | None) -> Pump | None:
    if table is None:
        return None
    return record_of(Pump, table, flows=tuple(table.flow), pressures=tuple(table.pressure))


def wash_length(stage: StageTable) -> float:
    """How long the steps of a wash take together [s]."""
    return sum(step.minutes for step in stage.step) * MINUTE


def hold_of(stage: StageTable) -> HoldUnit | None:
    table = stage.hold_unit
    if table is None:
        return None
    begins, ends = hold_steps(stage)
    return HoldUnit(start=begins, end=None if table.until == END else ends, plus=table.plus or 0.0)


def hold_steps(stage: StageTable) -> tuple[int, int]:
    """The first step of a hold of the unit and its last one, by their places among those that take time: the first
    and the last step of the name given; -1 for one that the wash does not have."""
    steps, hold = [step.do for step in stage.step if step.minutes], stage.hold_unit
    first, last = getattr(hold, "from", START), END if hold is None else hold.until
    begins = 0 if first == START else steps.index(first) if first in steps else -1
    ends = len(steps) - 1 - (0 if last == END or last not in steps else steps[::-1].index(last))
    return begins, -1 if last not in (END, *steps) else ends


def only_while_of(stage: StageTable, tank: TankTable | None) -> OnlyWhile | None:
    """What must hold for a wash to start, the level of the tank as a volume."""
    table = stage.only_while
    if table is None:
        return None
    above = None if table.tank_above is None or tank is None else level_of(table.tank_above, tank.volume)
    return OnlyWhile(unit_idle=table.unit_idle, tank_above=above)


def washing_of(file: CaseFile) -> Washing:
    """The rules of the site; what happens at a moment comes in the order of time."""
    table = file.washing
    if table is None:
        return NO_RULES
    return record_of(
        Washing,
        table,
        lines=record_of(Lines, table.lines) or NO_RULES.lines,
        repeat_wash=record_of(RepeatWash, table.repeat_wash),
        aborts=tuple(record_of(Abort, each, at=seconds_of(each.at, file)) for each in _in_time(table.abort)),
        by_hand=tuple(record_of(ByHand, each, at=seconds_of(each.at, file)) for each in _in_time(table.by_hand)),
        closed_days=tuple(table.closed_days or ()),
    )


def seconds_of(moment: datetime, file: CaseFile) -> float:
    """A moment as seconds from the start of the run."""
    return (moment - file.run.start).total_seconds()


def _in_time(planned: Sequence[Planned] | None) -> list[Planned]:
    return sorted(planned or (), key=lambda each: each.at)
