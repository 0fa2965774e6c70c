"""The frozen records of what fails: SI, moments in seconds from the start of the run, as in `sim.case.records`."""

from collections.abc import Mapping
from enum import StrEnum
from typing import Literal, get_args

from sim.case.record import record

Valve = Literal["frozen", "home"]
"""Where the valves of a wash stay when the power goes: as they stand, or back where they are in service."""


class What(StrEnum):
    """What can fail."""

    METER_STUCK = "meter stuck"
    METER_WRONG = "meter reads wrong"
    SWITCH_OPEN = "switch stuck open"
    SWITCH_CLOSED = "switch stuck closed"
    SWITCH_CHATTERS = "switch chatters"
    SWITCH_DRIFTS = "switch drifts"
    TAP_PLUGGED = "tap plugged"
    POWER_CUT = "power cut"
    CLOCK_WRONG = "clock wrong"
    SUPPLY_WEAK = "wash supply weak"
    DRAIN_RESTRICTED = "drain restricted"
    VALVE_PASSING = "valve passing"
    SALT_OUT = "salt out"
    BRINE_NOT_DRAWN = "brine not drawn"
    DOSING_WRONG = "dosing wrong"
    RAW_PAST = "raw water past the bed"
    MEDIA_LOST = "media lost"
    CAPACITY_LOST = "capacity lost"
    MUDBALLED = "bed mudballed"


WHOLE_SITE = frozenset({What.POWER_CUT, What.SUPPLY_WEAK, What.DRAIN_RESTRICTED})
"""What fails for all stages at once."""

STAYS = frozenset({What.MEDIA_LOST, What.CAPACITY_LOST})
"""What nothing within a run puts right."""

Number = Literal["share", "by", "valve"]
NUMBERS: tuple[str, ...] = get_args(Number)

NUMBER_OF: Mapping[What, Number] = {
    What.METER_WRONG: "share",
    What.SWITCH_CHATTERS: "by",
    What.SWITCH_DRIFTS: "by",
    What.TAP_PLUGGED: "share",
    What.POWER_CUT: "valve",
    What.CLOCK_WRONG: "by",
    What.SUPPLY_WEAK: "share",
    What.DRAIN_RESTRICTED: "share",
    What.VALVE_PASSING: "share",
    What.DOSING_WRONG: "share",
    What.RAW_PAST: "share",
    What.MEDIA_LOST: "share",
    What.CAPACITY_LOST: "share",
    What.MUDBALLED: "share",
}
"""What says how badly it fails; the others need nothing."""


@record
class Fault:
    """Something that fails at `start` [s] and is put right at `end` [s]; inf: not within the run.

    `stage` is None for what fails at the whole site. `share` [-]: of the true volume that a meter shows, of the
    pressure drop that reaches a switch, of the flow that a wash reaches, of the dose; of the flow, what goes past
    a bed or out by a valve; of media, capacity or area, what is lost. `by`: how far a switch that chatters
    strays up and down [Pa], how much more one that drifts reads [Pa a day], how far a clock is ahead [s].
    """

    what: What
    stage: str | None
    start: float
    end: float
    share: float | None = None
    by: float | None = None
    valve: Valve | None = None
