"""A moment of a run in plain words: a paragraph for the unit and its tank, one for every vessel."""

from collections.abc import Iterator, Sequence
from typing import Literal, NamedTuple, assert_never

from plots.words import (
    Amount,
    Items,
    Kind,
    Label,
    Moment,
    Name,
    Sentence,
    amount,
    count,
    dated,
    hour,
    items,
    label,
    number,
    paragraph,
    say,
    term,
)
from sim.case.fault.records import Fault, What
from sim.case.quantities import Quantity, System
from sim.plant.records import Cause
from sim.plant.trace import SentOn
from sim.study.changed import Changed
from sim.study.explain import Explained, VesselNow, Wait
from sim.study.moments import moment
from sim.study.vessel_past import Busy, Due
from sim.study.vessels import vessels
from sim.tell.present import UNITS, column, duration
from sim.tell.run.dissolved import followed

When = Literal["now", "before"]
"""Whether a wash that is due still waits, or has waited before it started."""
Unheld = Literal["runs", "idle"]
"""What the unit would do if no wash held it."""
Stands = Literal["stands", "flows"]
"""Whether the water of a step stands in a power cut."""
Reserve = Literal["kept", "learned"]


class Paragraph(NamedTuple):
    """Somebody's name and what is said of it."""

    name: Label | Name
    sentences: tuple[Sentence, ...]


class _Tell:
    """Figures and times as text, in the units of one system."""

    def __init__(self, told: Explained, system: System) -> None:
        self._start, self._system = told.case.run.start, system

    def at(self, seconds: float) -> Moment:
        """A local date and time."""
        return dated(moment(self._start, seconds))

    def busy(self, each: Busy) -> Label:
        """Who washed, and from when to when, the date only once."""
        start = moment(self._start, each.start_s)
        if each.end_s is None:
            return label("explain.busy_since", who=Name(each.who), start=dated(start))
        end = moment(self._start, each.end_s)
        until = hour(end.time()) if end.date() == start.date() else dated(end)
        return label("explain.busy", who=Name(each.who), start=dated(start), end=until)

    def amount(self, value: float | None, quantity: Quantity) -> Amount:
        """A figure with its unit."""
        return amount(column([value], quantity, self._system)[0], UNITS[self._system][quantity].symbol)


def paragraphs(told: Explained, system: System) -> tuple[Paragraph, ...]:
    """All that is said of the moment, the unit first."""
    tell = _Tell(told, system)
    return (
        Paragraph(label("explain.unit") if _has_unit(told) else label("explain.service"), tuple(_train(told, tell))),
        *(Paragraph(Name(each.name), tuple(_vessel(told, each, tell))) for each in told.vessels),
    )


def title(told: Explained) -> Label:
    """The moment, and the day of the run that it lies on."""
    start = told.case.run.start
    time = moment(start, told.time_s)
    day = (time.date() - start.date()).days + 1
    return label("explain.title", moment=dated(time), day=day, way=Name(told.result.policy))


def _has_unit(told: Explained) -> bool:
    return told.case.downstream is not None and told.case.downstream.unit is not None


# The unit and its tank


def _train(told: Explained, tell: _Tell) -> Iterator[Sentence]:
    train, site = told.train, [each for each in told.failed if each.stage is None]
    if told.power_back_s is not None:
        yield say("explain.power_cut", back=tell.at(told.power_back_s))
    if failed := _failed([fault for fault in site if fault.what is not What.POWER_CUT]):
        yield say("explain.failed_site", faults=failed)
    yield from _changed(told.changed, tell)
    flow = tell.amount(train.service_m3_h, "flow")
    below = told.case.downstream
    if below is None or below.unit is None:
        yield say("explain.service", flow=flow) if train.service_m3_h > 0.0 else say("explain.no_service")
    else:
        tank = below.unit.tank
        start, stop = (tell.amount(mark, "volume") for mark in (tank.start_below, tank.stop_above))
        if told.power_back_s is None:
            yield from _unit(told, flow, start, stop)
        level, volume = (tell.amount(each, "volume") for each in (train.level_m3, tank.volume))
        yield say("explain.tank", level=level, volume=volume, start=start, stop=stop)
    if train.round_stages:
        yield say("explain.round", stages=items(train.round_stages))


def _changed(changed: Changed | None, tell: _Tell) -> Iterator[Sentence]:
    """What has come of the faults that hold, as far as it differs."""
    if changed is None:
        return
    now, then, since = changed.now, changed.then, tell.at(changed.since_s)
    if now["washes"] != then["washes"]:
        washes, without = (count(int(each["washes"] or 0)) for each in (now, then))
        yield say("explain.changed_washes", since=since, now=washes, then=without)
    drain, without_drain = (tell.amount(each["drain_m3"], "volume") for each in (now, then))
    if drain != without_drain:
        yield say("explain.changed_drain", since=since, now=drain, then=without_drain)
    over, without_over = (tell.amount(each["over_limit_h"], "hours") for each in (now, then))
    if over != without_over:
        yield say("explain.changed_over", since=since, now=over, then=without_over)


def _unit(told: Explained, flow: Amount, start: Amount, stop: Amount) -> Iterator[Sentence]:
    train, washing = told.train, items(told.washing) if told.washing else None
    if train.held:
        yield say("explain.held", washing=washing) if washing else say("explain.held_for_a_wash")
        unheld: Unheld = "runs" if train.running else "idle"
        yield say("explain.without_wash", kind=Kind(unheld))
    elif train.starved:
        yield say("explain.starved", washing=washing) if washing else say("explain.starved_in_a_wash")
    elif train.running:
        yield say("explain.unit_runs", flow=flow, stop=stop)
    else:
        yield say("explain.unit_idle", start=start)


def _failed(faults: Sequence[Fault]) -> Items | None:
    """What has failed, None where nothing has."""
    return items([term("fault", each.what.value) for each in faults]) if faults else None


# A vessel


def _vessel(told: Explained, each: VesselNow, tell: _Tell) -> Iterator[Sentence]:
    yield paragraph(*_doing(told, each, tell))
    own = next(vessel.stage.name for vessel in vessels(told.case) if vessel.name == each.name)
    if failed := _failed([fault for fault in told.failed if fault.stage == own]):
        yield say("explain.failed", faults=failed)
    yield paragraph(*_last(told, each, tell))
    if each.past.waiting is not None:
        yield paragraph(*_queued(each.past.waiting, tell, "now"))
    elif each.waits_for:
        waits = [_waits_for(wait, tell) for wait in each.waits_for]
        yield paragraph(*waits, say("explain.whichever")) if len(waits) > 1 else waits[0]
        clock = each.latest_s
        yield say("explain.no_clock") if clock is None else say("explain.by_clock", hour=tell.at(clock))
    if each.next_s is None or each.next_cause is None:
        yield say("explain.no_next")
    else:
        yield say("explain.next", start=tell.at(each.next_s), cause=term("cause", each.next_cause.value))


def _doing(told: Explained, each: VesselNow, tell: _Tell) -> Iterator[Sentence]:
    doing, since = each.doing, tell.at(each.past.since_s)
    if told.power_back_s is not None and each.name in told.washing:
        if each.until_s is None:
            yield say("explain.cut_home", back=tell.at(told.power_back_s))
        else:
            how: Stands = "flows" if each.wash_flow_m3_s > 0.0 else "stands"
            step, back = term("step", doing.phase), tell.at(told.power_back_s)
            yield say("explain.cut_frozen", how=Kind(how), step=step, back=back)
    elif each.past.line is not None and each.until_s is None and each.name in told.washing:
        yield say("explain.out_for_line", line=term("line", each.past.line))
    elif each.until_s is not None:
        step, end = term("step", doing.phase), tell.at(each.until_s)
        again = each.past.again
        yield (say("explain.in_repeated_wash", step=step, end=end) if again
               else say("explain.in_wash", step=step, end=end))  # fmt: skip
    elif each.name in told.washing:
        yield say("explain.out_for_wash")
    elif doing.phase == "standby":
        yield say("explain.standby", since=since)
    elif doing.flow_m3_h <= 0.0:
        yield say("explain.no_flow", since=since)
    else:
        yield say(
            "explain.in_service", since=since, flow=tell.amount(doing.flow_m3_h, "flow"),
            pressure=tell.amount(doing.signal_kpa, "pressure"), treated=tell.amount(each.treated_m3, "volume"),
        )  # fmt: skip
        if doing.spike_kpa > 0.0:
            yield say("explain.spike", spike=tell.amount(doing.spike_kpa, "pressure"))
        if amounts := _sent(told, each.sent, tell):
            yield say("explain.sends_on", amounts=items(amounts))
        if each.capacity_left is not None:
            yield say("explain.capacity_left", left=_percent(each.capacity_left))


def _sent(told: Explained, sent: SentOn, tell: _Tell) -> list[Label]:
    """What a stage sends on of what is dissolved, each against its limit; nothing where it sends nothing on."""
    stage = next(stage for stage in told.case.stages if stage.name == sent.stage)
    found: list[Label] = []
    for each in followed(told.case, stage):
        if each.of(sent) == each.of(sent):
            what, value = term("sent_on", each.counted), tell.amount(each.of(sent), each.quantity)
            limit = None if each.limit is None else tell.amount(each.limit, each.quantity)
            found.append(label("explain.sent", what=what, amount=value) if limit is None
                         else label("explain.sent_limited", what=what, amount=value, limit=limit))  # fmt: skip
    return found


def _percent(share: float) -> Amount:
    return amount(number(100.0 * share), "%")


def _last(told: Explained, each: VesselNow, tell: _Tell) -> Iterator[Sentence]:
    """When the last wash started, why, and whom it waited for."""
    last, start = each.past.last, each.past.start_s
    if last is None or start is None:
        yield say("explain.no_wash_yet")
        return
    at = tell.at(start)
    yield say("explain.last_wash", start=at) if each.until_s is None else say("explain.this_wash", start=at)
    yield _because(each, tell)
    if last.due_s < start:
        yield from _queued(last, tell, "before")
    yield from _restored(told, each, tell)
    if each.past.broken:
        yield say("explain.broken_off")
    if each.past.again:
        yield say("explain.repeated", count=each.past.again)


def _restored(told: Explained, each: VesselNow, tell: _Tell) -> Iterator[Sentence]:
    """What of its capacity was left as the last wash started, what the stage sent on then, what came of it."""
    if each.past.run is not None and each.past.run.capacity_left is not None:
        yield say("explain.capacity_was_left", left=_percent(each.past.run.capacity_left))
    if each.sent_before is not None and (amounts := _sent(told, each.sent_before, tell)):
        yield say("explain.sent_on_before", amounts=items(amounts))
    if each.past.store_empty:
        yield say("explain.store_empty")
    if each.past.regenerated is not None:
        before, after = (_percent(share) for share in each.past.regenerated)
        yield say("explain.regenerated", before=before, after=after)


def _because(each: VesselNow, tell: _Tell) -> Sentence:
    """Trigger and set point against figure."""
    why, run, last = each.why, each.past.run, each.past.last
    cause = None if last is None else last.cause
    if cause is Cause.HAND:
        return say("explain.by_hand")
    if why is None or last is None or cause is None:
        return say("explain.by_unknown")
    treated = tell.amount(run.volume_m3 if run is not None else why.treated_m3, "volume")
    every, due = duration(why.every_s or 0.0), tell.at(last.due_s)
    match cause:
        case Cause.CALENDAR:
            return say("explain.by_calendar", every=every, due=due)
        case Cause.LONGEST_RUN:
            return say("explain.by_longest_run", every=every, due=due)
        case Cause.VOLUME | Cause.RESERVE_SPENT:
            return say("explain.by_meter", treated=treated, volume=tell.amount(why.volume_m3, "volume"))
        case Cause.RESERVE_HOUR:
            kind: Reserve = "learned" if why.kind == "volume with learned reserve" else "kept"
            volume, reserve = (tell.amount(each, "volume") for each in (why.volume_m3, why.reserve_m3))
            return say("explain.by_reserve", kind=Kind(kind), treated=treated, volume=volume, reserve=reserve)
        case Cause.PRESSURE:
            return _by_pressure(why, tell)
        case Cause.SIGNAL:
            what = term("monitored", why.of or "contact")
            return say("explain.by_signal", what=what, hold=duration(why.hold_s or 0.0))
        case _:
            assert_never(cause)


def _by_pressure(why: Wait, tell: _Tell) -> Sentence:
    signal, above = (why.signal_kpa or 0.0) - (why.spike_kpa or 0.0), why.above_kpa or 0.0
    pressure, point = tell.amount(signal, "pressure"), tell.amount(above, "pressure")
    if signal < above:
        return say("explain.by_spike", pressure=pressure, point=point)
    return say("explain.by_pressure", pressure=pressure, point=point, hold=duration(why.hold_s or 0.0))


def _queued(due: Due, tell: _Tell, when: When) -> Iterator[Sentence]:
    """What a wash that is or was due waited for, and who washed meanwhile."""
    since, kind = tell.at(due.due_s), Kind(when)
    if when == "before":
        yield say("explain.was_due", due=since)
    elif due.cause is None:
        yield say("explain.due", due=since)
    else:
        yield say("explain.due_by", due=since, cause=term("cause", due.cause.value))
    if due.put_off:
        yield say("explain.put_off", when=kind)
    if due.power_off:
        yield say("explain.put_off_power", when=kind)
    if due.queued_s is None:
        return
    others = items([tell.busy(each) for each in due.behind]) if due.behind else None
    lines = items([term("line", each) for each in due.lines]) if due.lines else None
    if lines is None:
        yield (say("explain.queued_behind", when=kind, others=others) if others
               else say("explain.queued", when=kind))  # fmt: skip
    else:
        yield (say("explain.line_behind", when=kind, lines=lines, others=others) if others
               else say("explain.line", when=kind, lines=lines))  # fmt: skip


def _waits_for(wait: Wait, tell: _Tell) -> Sentence:
    at, every = tell.at(wait.at_s or 0.0), duration(wait.every_s or 0.0)
    volume, treated = tell.amount(wait.volume_m3, "volume"), tell.amount(wait.treated_m3, "volume")
    match wait.kind:
        case "calendar":
            return say("explain.waits_for_hour", hour=at)
        case "longest run":
            return say("explain.waits_for_longest_run", hour=at, every=every)
        case "volume" if wait.at_s is not None:
            return say("explain.waits_for_booked", hour=at, volume=volume)
        case "volume":
            return say("explain.waits_for_volume", volume=volume, treated=treated)
        case "volume with reserve":
            if wait.at_s is not None:
                return say("explain.waits_for_booked_reserve", hour=at, volume=volume, treated=treated)
            left = (wait.volume_m3 or 0.0) - (wait.reserve_m3 or 0.0)
            return say("explain.waits_for_reserve", volume=tell.amount(left, "volume"), treated=treated)
        case "volume with learned reserve":
            reserve = tell.amount(wait.reserve_m3, "volume")
            return say("explain.waits_for_learned", hour=at, volume=volume, treated=treated, reserve=reserve)
        case "signal" if wait.of == "contact" or wait.at_s is not None:
            return say("explain.waits_for_closing", hour=at) if wait.at_s is not None else say("explain.never_closes")
        case "signal":
            return say("explain.waits_for_signal", what=term("monitored", wait.of or "contact"),
                       point=tell.amount(wait.above, "solids"), hold=duration(wait.hold_s or 0.0))  # fmt: skip
        case "pressure drop":
            return say(
                "explain.waits_for_pressure", point=tell.amount(wait.above_kpa, "pressure"),
                hold=duration(wait.hold_s or 0.0), pressure=tell.amount(wait.signal_kpa, "pressure"),
            )  # fmt: skip
        case _:
            assert_never(wait.kind)
