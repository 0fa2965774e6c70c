"""What fails in a run, each fault a process: it begins, is told, changes a device or the line, and ends.

At one instant what ends comes before what begins, both before all else there; whoever waits upon a device then waits
anew.
"""

import math
from collections.abc import Sequence

from sim.case.fault.records import Fault, What
from sim.case.records import Case
from sim.plant.clock import Order
from sim.plant.environment import LeapingEnvironment, Process
from sim.plant.line import Line
from sim.plant.meter import METERS, SWITCHES, Devices
from sim.plant.power import Power
from sim.plant.recorder import Recorder
from sim.plant.records import SHORT_OF_WATER, Event, Why
from sim.plant.stage_clock import StageClock
from sim.plant.stores import Stores
from sim.wash.flow import is_supplied

BEGINS, WAKES = 300, 600  # places within the instant: what ends, from 0, what begins, who waits anew
HOUR = 3600.0



class Failing:
    """The faults of a case, and what of the plant they change."""

    def __init__(
        self,
        env: LeapingEnvironment,
        line: Line,
        recorder: Recorder,
        case: Case,
        clocks: Sequence[StageClock],
        stores: Sequence[Stores],
    ) -> None:
        self._env, self._line, self._recorder, self._case = env, line, recorder, case
        self._clocks, self._stores = clocks, stores
        self.devices = [Devices(line.vessels_of(k), env.event()) for k in range(len(case.stages))]
        self.power = Power(case.faults, case.run.length)
        self.any = bool(case.faults)
        self._shares = {What.SUPPLY_WEAK: 1.0, What.DRAIN_RESTRICTED: 1.0}
        self._stand: list[int] = []  # vessels whose step the cut holds
        for number, fault in enumerate(case.faults):
            env.process(self._live(number, fault))

    def short(self, flow: float, asked: float) -> Why:
        """Why a step of a wash reaches a flow below the one that it asks for [m3/s]."""
        supply, drain = self._shares.values()
        return Why.DRAIN if drain < supply and flow >= SHORT_OF_WATER * drain * asked else Why.SUPPLY

    def flowed(self, k: int, number: int, since: float, now: float) -> float:
        """How long the water of a step has flowed [s]: not in a cut, unless it outlives that."""
        return now - since if self._outlives(k, number) else self.power.ran(since, now)

    def _outlives(self, k: int, number: int) -> bool:
        """Whether the water of a step flows on in a power cut."""
        stage, supply = self._case.stages[k], self._case.supply
        return supply is not None and supply.outlives_power_cut and is_supplied(stage, stage.steps[number])

    def wake(self, k: int) -> None:
        """Have all that waits upon the devices of stage k wait anew."""
        devices = self.devices[k]
        self._env.trigger(devices.changed, Order.FAULT, WAKES + k)
        devices.changed = self._env.event()

    def _live(self, number: int, fault: Fault) -> Process[None]:
        env = self._env
        yield env.at(fault.start, Order.FAULT, BEGINS + number)
        self._tell(fault, Event.FAULT_BEGINS)
        self._turn(number, fault, on=True)
        if fault.what is What.SWITCH_DRIFTS:
            hours = 1
            while fault.start + hours * HOUR < min(fault.end, self._case.run.length):
                yield env.at(fault.start + hours * HOUR, Order.FAULT, BEGINS + number)
                self._devices_of(fault).drift(number)
                self._wake_all(fault)
                hours += 1
        if fault.end < math.inf:
            yield env.at(fault.end, Order.FAULT, number)
            self._tell(fault, Event.FAULT_ENDS)
            self._turn(number, fault, on=False)

    def _tell(self, fault: Fault, event: Event) -> None:
        self._recorder.tell(self._env.now, fault.stage or "site", event, Why.FAULT, fault=fault.what.value)

    def _turn(self, number: int, fault: Fault, *, on: bool) -> None:
        """Have the plant be as with this fault, or as without it."""
        what, line, now = fault.what, self._line, self._env.now
        if what in self._shares:
            self._shares[what] = (fault.share or 0.0) if on else 1.0
            line.set_wash_share(*self._shares.values())
            if on:
                self._tell_short()
        elif what is What.POWER_CUT:
            self._cut(on=on)
        elif what in METERS or what in SWITCHES:
            devices = self._devices_of(fault)
            if on:
                devices.fail(number, fault)
            else:
                devices.mend(number)
            for i, meter in devices.meters.items():
                if what in METERS:
                    meter.change(devices.counted, line.of_vessel("treated", i), line.of_vessel("served_total", i))
                else:
                    line.hold_anew(i)
        elif what is What.CLOCK_WRONG:
            self._clocks[self._place(fault)].add(now, (fault.by or 0.0) * (1.0 if on else -1.0))
        elif what is What.SALT_OUT:
            self._stores[self._place(fault)].run_out(now, out=on)
        elif what is What.BRINE_NOT_DRAWN:
            self._stores[self._place(fault)].draws = not on
        else:
            self._change_line(what, self._place(fault), fault.share or 0.0, on=on)
        if what in METERS or what in SWITCHES or what in (What.CLOCK_WRONG, What.POWER_CUT):
            self._wake_all(fault)

    def _change_line(self, what: What, k: int, share: float, *, on: bool) -> None:
        """What fails of stage k itself; media and capacity stay lost."""
        line, vessels = self._line, self._line.vessels_of(k)
        match what:
            case What.DOSING_WRONG:
                line.set_dose(k, share if on else 1.0)
            case What.VALVE_PASSING:
                line.set_passing(k, share if on else 0.0)
            case What.RAW_PAST:
                line.set_past(k, share if on else 0.0)
            case What.MUDBALLED:
                for i in vessels:
                    line.mudball(i, share if on else 0.0)
            case What.MEDIA_LOST if on:
                for i in vessels:
                    line.lose_media(i, share)
            case What.CAPACITY_LOST if on:
                for i in vessels:
                    line.lose_capacity(i, share)

    def _cut(self, *, on: bool) -> None:
        """The power goes, or comes back: clocks that need it stop, steps stand unless their water runs on."""
        now = self._env.now
        self._line.set_power(not on)
        for clock in self._clocks:
            if not clock.keeps_time:
                (clock.stop if on else clock.go)(now)
        if on:
            steps = self._line.under_way.items()
            self._stand = [i for i, n in steps if not self._outlives(self._line.places[i][0], n)]
        for i in self._stand:
            if on or i in self._line.under_way:
                self._line.hold_step(i, flows=not on)

    def _tell_short(self) -> None:
        """Steps under way that now reach less than they ask for."""
        for i, number in self._line.under_way.items():
            step = self._case.stages[self._line.places[i][0]].steps[number]
            flow = self._line.of_vessel("wash_flow", i)
            if step.do != "make-up" and flow < SHORT_OF_WATER * step.flow:
                why = self.short(flow, step.flow)
                self._recorder.note(self._env.now, i, Event.SHORT_OF_WATER, why, step=step.do)

    def _place(self, fault: Fault) -> int:
        return next(k for k, stage in enumerate(self._case.stages) if stage.name == fault.stage)

    def _devices_of(self, fault: Fault) -> Devices:
        return self.devices[self._place(fault)]

    def _wake_all(self, fault: Fault) -> None:
        for k, stage in enumerate(self._case.stages):
            if fault.stage in (None, stage.name):
                self.wake(k)
