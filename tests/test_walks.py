"""Walks every kind of trigger, event, medium, step and quantity through everything that takes one.

Where mypy sees a union it refuses a kind that is left out. What goes by keys and words of a file is walked here.
"""

import ast
import json
import math
from collections.abc import Iterator
from dataclasses import fields, replace
from itertools import product
from pathlib import Path
from typing import Any, get_args

import pytest

from hydraulics.media import CATALOGUE
from plots.week import FACES
from plots.words import Name, label, term
from sim.case.chemistry.records import IN_FEED, SOLUTES, Carbon, Limits, Solute, Uptake
from sim.case.load import read_case
from sim.case.quantities import QUANTITIES, Quantity, System
from sim.case.stage.records import Step
from sim.case.train.records import Arrangement, HoursOfDay
from sim.case.trigger.records import (
    AnyOf,
    Contact,
    Policy,
    Signal,
    SingleTrigger,
    by_calendar,
    devices,
    hours,
    singles,
)
from sim.plant.allowed import lines_of
from sim.plant.plans import ContactPlan, plan_of
from sim.plant.records import Cause, Event, LogEntry, RunResult, Why
from sim.plant.simulate import simulate
from sim.plant.stage_clock import StageClock
from sim.plant.triggers import NO_WASH, causes_of
from sim.review.findings import Finding
from sim.review.review import review
from sim.review.site import site_of
from sim.study.compare import compare
from sim.study.decide.knobs import knobs_of, with_values
from sim.study.decide.limits import OVER_DISSOLVED
from sim.study.decide.trials import Candidate
from sim.study.decide.whatif import device_of, what_ifs
from sim.study.doubts import of_policy
from sim.study.explain import explain
from sim.study.frames import as_csv, log_table, run_table
from sim.study.settable import trigger_ranges
from sim.study.single import SingleRun, triggers_of
from sim.study.vessel_past import role
from sim.study.vessels import vessels, vessels_of
from sim.tell.decision.given import given_table
from sim.tell.kpis import KPIS
from sim.tell.listing import assumed_listing, solute_listing
from sim.tell.present import UNITS, column, measured
from sim.tell.review.finding_words import figure_words, what_words
from sim.tell.run.dissolved import Counted, followed
from sim.tell.run.log_words import event_words, log_listing
from sim.tell.run.moment_words import paragraphs
from sim.tell.run.run_words import causes
from sim.tell.run.samples import beds, run_bars
from sim.tell.run.week_view import wash_steps
from sim.tell.sentences import described
from sim.tell.trigger.settings_sheet import trigger_words
from sim.tell.trigger.settings_tables import steps_listing
from sim.tell.workbook import events_table, runs_table
from sim.web import meter, start
from sim.web.shelf import Held
from sim.write.anew import set_anew

ROOT = Path(__file__).parents[1]
SYSTEMS: tuple[System, ...] = get_args(System)
DAY, HOUR = 86_400.0, 3600.0

PLANT = """title = "A dye house tries every way"
use = "process"
[run]
start = 2027-03-01T00:00:00
length = "13 d"
[feed]
temperature = "11 degC"
suspended_solids = "7 mg/L"
[demand]
flow = "6 m3/h"
[drain]
air_gap = true
[prices]
currency = "tokens"
[[stage]]
name = "bed"
limit = "0.9 mg/L"
longest_run = "4 d"
vessel = {{ diameter = "0.9 m", height = "1.9 m" }}
[[stage.layer]]
medium = "{medium}"
depth = "0.7 m"
{steps}"""
STEPS = """[[stage.step]]
do = "backwash"
minutes = 9
flow = "19 m3/h"
[[stage.step]]
do = "settle"
minutes = 2
[[stage.step]]
do = "rinse"
minutes = 7
flow = "6 m3/h"
"""
TRIGGERS = {
    "calendar": 'start_on = "calendar", every = "2 d", at = 22:40:00',
    "volume": 'start_on = "volume", volume = "270 m3"',
    "volume, at an hour": 'start_on = "volume", volume = "230 m3", at = 04:20:00',
    "reserve": 'start_on = "volume with reserve", volume = "310 m3", reserve = "40 m3", at = 04:20:00',
    "learned": 'start_on = "volume with learned reserve", volume = "330 m3", reserve = "160 m3", quantile = 0.8, '
               'days = 3, by = "trailing", at = 04:20:00',
    "pressure": 'start_on = "pressure drop", above = "15 kPa", hold = "3 min"',
    "weekdays": 'start_on = "calendar", on = ["Tue", "Fri"], at = [22:40:00, "4:40 am"]',
    "interval": 'start_on = "calendar", every = "30 h"',
    "monitor": 'start_on = "signal", of = "turbidity", above = "0.02 mg/L", hold = "5 min", at = 04:20:00',
    "contact": 'start_on = "signal", of = "contact", contact = { hours = ["22:40-23:30"] }, hold = "10 min"',
}  # fmt: skip
"""One of each kind, as a file gives it."""

def rare_beside(table: str) -> str:
    """What stands beside it where any one starts a wash, and never comes first."""
    if "calendar" in table:
        return 'start_on = "volume", volume = "900 m3"'
    return 'start_on = "calendar", every = "9 d", at = 22:40:00'


def text_of(*, medium: str = "sand") -> str:
    """The plant with a policy for every kind, alone and beside another."""
    alone = [f'[policy."{name}"]\nbed = {{ {table} }}\n' for name, table in TRIGGERS.items()]
    both = [
        f'[policy."{name}, or another"]\nbed = {{ any_of = [{{ {table} }}, {{ {rare_beside(table)} }}] }}\n'
        for name, table in TRIGGERS.items()
    ]
    return PLANT.format(medium=medium, steps=STEPS) + "".join(alone + both)


TREATED_TEXT = """title = "A bottle washer treats a well"
use = "process"
[run]
start = 2027-03-01T00:00:00
length = "7 d"
[feed]
temperature = "11 degC"
suspended_solids = "1 mg/L"
hardness = "160 mg/L"
iron = "1.1 mg/L"
manganese = "0.3 mg/L"
sulphide = "0.1 mg/L"
ammonia = "0.05 mg/L"
free_chlorine = "0.02 mg/L"
combined_chlorine = "0.03 mg/L"
[demand]
flow = "1.2 m3/h"
[drain]
air_gap = true
[[stage]]
name = "oxidising"
limits = { iron = "0.01 mg/L", manganese = "0.005 mg/L" }
oxidant = { product = "chlorine", dose = "0.6 mg/L" }
longest_run = "4 d"
vessel = { diameter = "0.4 m", height = "1.9 m" }
[[stage.layer]]
medium = "oxidising media"
depth = "0.5 m"
[[stage.step]]
do = "backwash"
minutes = 9
flow = "4 m3/h"
[[stage.step]]
do = "regenerant"
minutes = 20
flow = "0.3 m3/h"
permanganate = "150 g"
[[stage.step]]
do = "displacement"
minutes = 20
flow = "0.6 m3/h"
[[stage.step]]
do = "rinse"
minutes = 9
flow = "1.2 m3/h"
[[stage]]
name = "carbon"
limits = { chlorine = "0.005 mg/L" }
longest_run = "4 d"
vessel = { diameter = "0.4 m", height = "1.9 m" }
[[stage.layer]]
medium = "carbon"
depth = "0.5 m"
capacity = "2 kg/m3"
[[stage.step]]
do = "backwash"
minutes = 9
flow = "4 m3/h"
[[stage.step]]
do = "rinse"
minutes = 9
flow = "1.2 m3/h"
[[stage]]
name = "softener"
limits = { hardness = "8 mg/L" }
longest_run = "4 d"
store = { salt = "21 kg" }
vessel = { diameter = "0.4 m", height = "1.9 m" }
vessels = { count = 2, arrangement = "alternating" }
[[stage.layer]]
medium = "resin"
depth = "0.8 m"
[[stage.step]]
do = "backwash"
minutes = 9
flow = "1.2 m3/h"
[[stage.step]]
do = "settle"
minutes = 2
[[stage.step]]
do = "regenerant"
minutes = 30
flow = "0.1 m3/h"
[[stage.step]]
do = "displacement"
minutes = 40
flow = "0.2 m3/h"
[[stage.step]]
do = "rinse"
minutes = 12
flow = "1.2 m3/h"
[[stage.step]]
do = "make-up"
minutes = 15
flow = "0.2 m3/h"
[policy."in turn"]
oxidising = { start_on = "calendar", every = "3 d", at = 21:00:00 }
carbon = { start_on = "calendar", every = "3 d", at = 23:00:00 }
softener = { start_on = "volume", volume = "52 m3" }
"""
"""Every step of a wash, everything dissolved, all that takes it up, and a limit of each that has one."""
TREATED = read_case(TREATED_TEXT, Path("treated.toml"), {})


TEXT = text_of()
CASE = read_case(TEXT, Path("every.toml"), {})
HELD = Held(TEXT, "every.toml")
POLICIES = [policy.name for policy in CASE.policies]


@pytest.fixture(scope="module")
def runs() -> dict[str, RunResult]:
    """A run of every policy."""
    return {name: simulate(CASE, name) for name in POLICIES}


@pytest.fixture(scope="module")
def treated() -> RunResult:
    """The run of what is dissolved."""
    return simulate(TREATED, "in turn")


def policy_of(name: str) -> Policy:
    return next(policy for policy in CASE.policies if policy.name == name)


def kind_of(name: str) -> SingleTrigger:
    """The kind that a policy is about."""
    return singles(triggers_of(CASE, name)["bed"])[0]


# Triggers


def test_every_kind_of_trigger_is_walked() -> None:
    kinds = {kind_of(name) for name in POLICIES}
    assert {type(each) for each in kinds} == set(get_args(SingleTrigger))
    assert {type(triggers_of(CASE, name)["bed"]) for name in POLICIES} == {*get_args(SingleTrigger), AnyOf}


@pytest.mark.parametrize("name", POLICIES)
def test_a_trigger_runs_and_the_cause_is_its_own(name: str, runs: dict[str, RunResult]) -> None:
    kind = kind_of(name)
    caused = {run.cause for run in runs[name].runs if run.cause is not None}
    assert caused & set(causes_of(kind))
    assert caused <= {*causes_of(kind), Cause.LONGEST_RUN}
    plan = plan_of(kind, NO_WASH, 0.0, StageClock(CASE.stages[0], CASE.run), [])
    if isinstance(plan, ContactPlan):
        plan.look(0.0, -math.inf, -math.inf, is_next=True)
    assert min(plan.hour, plan.volume, plan.pressure) < float("inf") or plan.monitor is not None


@pytest.mark.parametrize("name", POLICIES)
def test_a_trigger_is_explained(name: str, runs: dict[str, RunResult]) -> None:
    trigger = triggers_of(CASE, name)["bed"]
    washed = [run.end_s for run in runs[name].runs if run.cause in causes_of(kind_of(name))]
    told = explain(CASE, name, washed[0] + 5 * HOUR)
    (vessel,) = told.vessels
    assert len(vessel.waits_for) == len(singles(trigger)) + 1  # and the longest run
    assert len({wait.kind for wait in vessel.waits_for}) == len(vessel.waits_for)
    assert vessel.why is not None
    assert vessel.why.kind == vessel.waits_for[0].kind
    for system in SYSTEMS:
        words = " ".join(sentence for each in paragraphs(told, system) for sentence in each.sentences)
        assert "Its log names the reason." not in words
        assert words.count("It waits for ") == len(singles(trigger)) + 1
    assert json.loads(json.dumps(told.to_json()))["vessels"][0]["waits_for"]


OTHERS = {
    "by": "weekday", "on": (2,), "also_at": (HOUR,),
    "contact": Contact(hours=(HoursOfDay(start=HOUR, end=2 * HOUR),)),
}  # fmt: skip
"""Another value of what is no number."""


def changed(trigger: SingleTrigger) -> Iterator[SingleTrigger]:
    """A trigger with each of its settings moved."""
    for field in fields(trigger):
        value = getattr(trigger, field.name)
        other, empty = OTHERS.get(field.name), value in ((), False) or isinstance(value, str)
        if field.name == "days":
            yield replace(trigger, days=value + 1)  # type: ignore[call-arg]
        elif other is not None and value:
            yield replace(trigger, **{field.name: other})
        elif not empty and (value is not None or field.name in ("at", "longest_run")):
            yield replace(trigger, **{field.name: DAY / 8 if value is None else value * 0.75})


@pytest.mark.parametrize(("name", "system"), [*product(POLICIES, SYSTEMS)])
def test_the_settings_sheet_says_every_setting(name: str, system: System) -> None:
    kind, (stage,) = kind_of(name), CASE.stages
    words = trigger_words(stage, kind, system)
    assert words in trigger_words(stage, AnyOf(triggers=(kind,)), system)
    for moved in changed(kind):
        assert trigger_words(stage, moved, system) != words, moved


@pytest.mark.parametrize(("name", "system"), [*product(POLICIES, SYSTEMS)])
def test_a_trigger_has_sliders_and_what_is_searched_is_among_them(name: str, system: System) -> None:
    found = {
        slider.key.rpartition(".")[2]
        for slider in start.sliders(HELD, system)
        if slider.key.startswith(f"policy.{name}.bed.")
    }
    site = site_of(CASE)
    assert found >= trigger_ranges(site, CASE.stages[0], kind_of(name), 4.0 * DAY).keys()


@pytest.mark.parametrize("name", TRIGGERS)
def test_a_trigger_is_searched(name: str) -> None:
    policy, kind = policy_of(name), kind_of(name)
    knobs = [knob for knob in knobs_of(CASE, policy, frozenset({"hours"})) if not knob.of_a_step]
    assert knobs or isinstance(kind, Signal)
    assert {"at"} & {knob.part for knob in knobs} == ({"at"} if hours(kind) else set())
    for knob in knobs:
        value = next(each for each in knob.coarse() if each != knob.present)
        moved = with_values(policy, [knob], [value])
        assert moved is None or moved != policy


@pytest.mark.parametrize("name", POLICIES)
def test_a_trigger_has_a_device_or_the_calendar_alone(name: str) -> None:
    policy, (clock, meters, switch, signals) = policy_of(name), devices(triggers_of(CASE, name)["bed"])
    device = device_of(policy)
    assert by_calendar(policy) == (device is None and not signals)
    assert {*meters, clock, switch, *signals} - {None} == set(singles(triggers_of(CASE, name)["bed"]))
    if device is None:
        return
    told = what_ifs(CASE, Candidate(name=name, policy=policy), device)
    _, dead = told[-1]
    run = simulate(replace(CASE, policies=(dead.policy,)), name)
    by_itself = Cause.CALENDAR if clock == kind_of(name) else Cause.LONGEST_RUN
    assert {by_itself} <= {each.cause for each in run.runs} <= {Cause.LONGEST_RUN, Cause.CALENDAR, None}
    names = {slider.key for slider in meter.sliders(HELD, "si")}
    assert f"prices.{device}.price" in names


def test_every_trigger_is_reviewed_and_doubted() -> None:
    told = {finding.facts.get("way") for finding in review(CASE)}
    for name in POLICIES:
        assert name in told or name.startswith(("contact", "monitor"))  # of which a review knows nothing
        assert isinstance(tuple(of_policy(CASE, policy_of(name))), tuple)


def test_every_trigger_is_set_anew() -> None:
    changes = set_anew(TEXT, Path("every.toml"), Path("every.toml")).changes
    for name in POLICIES:
        is_set = any(each.startswith(f"{name}, bed: ") for each in changes)
        assert is_set or name in ("weekdays", "contact", "monitor"), name


def test_every_trigger_and_cause_comes_into_tables(runs: dict[str, RunResult]) -> None:
    results = tuple(runs.values())
    comparison = replace(compare(replace(CASE, policies=CASE.policies[:1])), case=CASE, results=results)
    for system in SYSTEMS:
        assert set(runs_table(comparison, system)["what starts a wash"]) == set(POLICIES)
    csv = as_csv(run_table(results, CASE.run.start))
    for each in results:
        single = SingleRun(case=CASE, result=each)
        assert json.loads(json.dumps(single.to_json()))["policy"] == each.policy
        for cause in {run.cause for run in each.runs if run.cause is not None}:
            assert cause.value in csv
            assert cause.value in causes(single, "si").rows[0][3]
    (vessel,) = vessels(CASE)
    assert set(run_bars(CASE, results, vessel).causes) >= {cause.value for cause in Cause}


# Events

DATA: dict[Event, dict[str, Any]] = {
    Event.BOOKED: {},
    Event.PUT_OFF: {},
    Event.WAITS_FOR_TURN: {},
    Event.WAITS_FOR_LINE: {"line": "drain"},
    Event.WAITED: {"minutes": 12.5},
    Event.WASH_STARTS: {"volume_m3": 31.5},
    Event.BLOCKED: {},
    Event.SET_OFF_EARLY: {},
    Event.MISSED: {"times": 3},
    Event.SHORT_OF_WATER: {"step": "backwash"},
    Event.STORE_EMPTY: {},
    Event.REGENERATED: {"free_before": 0.25, "free_after": 0.75},
    Event.STEP_ENDS: {"step": "settle", "volume_m3": 0.0, "solids_kg": 0.0},
    Event.BROKEN_OFF: {"step": "rinse", "volume_m3": 1.5, "solids_kg": 0.25},
    Event.WASHES_AGAIN: {},
    Event.CUT_SHORT: {},
    Event.STANDS_BY: {},
    Event.BACK: {},
    Event.UNIT_HELD: {},
    Event.UNIT_RELEASED: {},
    Event.UNIT_STARVED: {},
    Event.FAULT_BEGINS: {"fault": "power cut"},
    Event.FAULT_ENDS: {"fault": "meter stuck"},
    Event.RUN_ENDS: {},
}
"""What an entry of each event holds beside time, name and reason."""
LOG = tuple(
    LogEntry(HOUR * place, "bed", event, list(Why)[place % len(Why)], **data)
    for place, (event, data) in enumerate(DATA.items())
)


def test_every_event_is_walked_and_made_by_the_plant() -> None:
    assert set(DATA) == set(Event)
    made = set()
    for path in (ROOT / "sim" / "plant").glob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name) and node.value.id == "Event":
                made.add(node.attr)
    assert made == set(Event.__members__)


def test_a_regeneration_and_an_empty_store_come_into_the_log(treated: RunResult) -> None:
    assert {Event.REGENERATED, Event.STORE_EMPTY} <= {entry.event for entry in treated.log}


@pytest.mark.parametrize("entry", LOG, ids=lambda entry: entry.event.name)
def test_an_event_is_told_with_its_data(entry: LogEntry) -> None:
    words, why = event_words(entry)
    for text in (entry.what, words, why):
        assert text
        assert not set("{}") & set(text)
        assert "None" not in text
    for value in (entry.line, entry.step, entry.minutes, entry.times):
        assert value is None or str(value) in entry.what
    assert role(entry.event) in ("waits", "begins", "step", "over", "aside")


def test_every_event_comes_into_tables_and_files(runs: dict[str, RunResult]) -> None:
    result = replace(runs["calendar"], log=LOG)
    single = SingleRun(case=CASE, result=result)
    told = [entry.what for entry in LOG]
    assert list(log_table(result, CASE.run.start)["what"]) == told
    assert [entry["what"] for entry in single.to_json()["log"]] == told
    assert [entry["why"] for entry in json.loads(json.dumps(single.to_json()))["log"]] == [each.why for each in LOG]
    comparison = replace(compare(replace(CASE, policies=CASE.policies[:1])), results=(result,))
    for system in SYSTEMS:
        assert [row[2:4] for row in log_listing(single, system).rows] == [event_words(each) for each in LOG]
        assert list(events_table(comparison, system)["what happened"]) == [event_words(each)[0] for each in LOG]


def test_nobody_reads_the_log_by_its_words() -> None:
    """No module compares `.what` of anything but a fault, or holds the words of an event.

    Nor does what deals with a plant's own log, where `what` is the kind of a reading.
    """
    of_readings = [ROOT / "sim" / room for room in ("log", "fit", "tell/fit", "tell/log")]
    for path in (ROOT / "sim").rglob("*.py"):
        if any(path.is_relative_to(room) for room in of_readings):
            continue
        tree = ast.parse(path.read_text(encoding="utf-8"))
        for node in ast.walk(tree):
            sides = [node.left, *node.comparators] if isinstance(node, ast.Compare) else []
            asked = [node.func.value] if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute) else []
            read = [each for each in (*sides, *asked) if isinstance(each, ast.Attribute) and each.attr == "what"]
            faults = [each for each in read if isinstance(each.value, ast.Name) and each.value.id == "fault"]
            assert read == faults, f"{path}, line {node.lineno}"


# Media, steps, quantities


@pytest.mark.parametrize("medium", CATALOGUE)
def test_a_medium_runs_and_is_reviewed_told_and_drawn(medium: str) -> None:
    case = read_case(text_of(medium=medium), Path("medium.toml"), {})
    result = simulate(replace(case, policies=case.policies[:1]), case.policies[0].name)
    assert result.site["washes"]
    assert any(medium in what_words(finding) for finding in review(case))
    for system in SYSTEMS:
        assert any(medium in row[0] for row in assumed_listing(case, system).rows)
        drawn = beds(replace(case, policies=case.policies[:1]), [result], system)[0]
        assert list(drawn.layers["medium"]) == [medium]


STEP_KINDS: tuple[Any, ...] = get_args(Step.__annotations__["do"])


@pytest.mark.parametrize("do", STEP_KINDS)
def test_a_step_runs_and_is_told_and_drawn(do: Any, treated: RunResult) -> None:
    assert do in {span.step for span in wash_steps(TREATED, treated)}
    assert do in {row[1].partition(",")[0] for row in steps_listing(TREATED, [treated], "si").rows}
    assert do in FACES
    assert set(lines_of(do, "header")) <= {"supply", "raw", "drain"}
    ended = next(entry for entry in treated.log if entry.event is Event.STEP_ENDS and entry.step == do)
    told = {each.name: each.sentences for each in paragraphs(explain(TREATED, "in turn", ended.time_s - 30.0), "si")}
    assert f"in its wash: {do} until" in told[Name(ended.who)][0]


# What is dissolved, what takes it up, limits on it

SOLUTES_OF: dict[Counted, tuple[Solute, ...]] = {
    "hardness": ("hardness",), "iron": ("iron",), "manganese": ("manganese",),
    "oxidant": ("free_chlorine", "combined_chlorine", "permanganate"),
}  # fmt: skip


@pytest.mark.parametrize("solute", SOLUTES)
def test_a_solute_is_followed_and_told(solute: Solute, treated: RunResult) -> None:
    assert treated.solutes["site"][solute]["in"] > 0.0
    for system in SYSTEMS:
        name = term("solute", solute)
        assert any(row[1] == name for row in solute_listing(SingleRun(case=TREATED, result=treated), system).rows)
        if solute in IN_FEED:
            assert label("given.dissolved", solute=name) in {row[0] for row in given_table(TREATED, system).rows}


@pytest.mark.parametrize("kind", get_args(Uptake))
def test_an_uptake_takes_up_and_is_told_and_drawn(kind: type, treated: RunResult) -> None:
    (stage,) = (stage for stage in TREATED.stages if isinstance(stage.layers[0].uptake, kind))
    books, medium = treated.solutes[stage.name], stage.layers[0].medium
    taken = {each.counted for each in followed(TREATED, replace(stage, limits=Limits()))}
    solutes: list[Solute] = [name for each in taken for name in SOLUTES_OF[each]]
    assert solutes
    for name in solutes:
        assert books[name]["held"] + books[name]["converted"] > 0.05 * books[name]["in"]
    assert not stage.only_solids
    (vessel, *_), later = vessels_of(stage), 50.0 * HOUR
    (now,) = (each for each in explain(TREATED, "in turn", later).vessels if each.name == vessel.name)
    assert (now.capacity_left is None) == (kind is Carbon)
    for system in SYSTEMS:
        assert any(medium in row[0] and "half_length" in row[0] for row in assumed_listing(TREATED, system).rows)
        drawn = beds(TREATED, [treated], system)[TREATED.stages.index(stage)]
        assert drawn.used is not None
        assert 0.0 < drawn.used["used"].max() <= 100.0 + 1e-9


@pytest.mark.parametrize("name", [field.name for field in fields(Limits)])
def test_a_limit_is_counted_and_told_and_can_bound_a_search(name: str, treated: RunResult) -> None:
    (stage,) = (stage for stage in TREATED.stages if getattr(stage.limits, name) is not None)
    bound = next(key for key, of in OVER_DISSOLVED.items() if of == name)
    over = treated.stages[stage.name][bound]
    without = replace(stage, limits=replace(stage.limits, **{name: None}))
    stages = tuple(without if each is stage else each for each in TREATED.stages)
    assert over
    assert simulate(replace(TREATED, stages=stages), "in turn").stages[stage.name][bound] is None
    assert bound in KPIS
    assert term("limit", bound)
    limited = {each.counted for each in followed(TREATED, stage) if each.limit is not None}
    assert limited - {each.counted for each in followed(TREATED, without) if each.limit is not None}
    for system in SYSTEMS:
        given = dict(given_table(TREATED, system).rows)[label("given.limits", stage=Name(stage.name))]
        assert term("limited", name) in given


@pytest.mark.parametrize("arrangement", get_args(Arrangement))
def test_an_arrangement_runs_and_is_told(arrangement: Arrangement) -> None:
    *others, stage = TREATED.stages
    case = replace(TREATED, stages=(*others, replace(stage, vessels=replace(stage.vessels, arrangement=arrangement))))
    looks = [explain(case, "in turn", hours * HOUR) for hours in (20.0, 49.0, 70.0)]
    for told in looks:
        serving = [each.doing.phase == "service" for each in told.vessels if each.name.startswith(stage.name)]
        assert sum(serving) == (2 if arrangement == "parallel" else 1)
        standby = any("standby" in text for each in paragraphs(told, "si") for text in each.sentences)
        assert standby == (arrangement != "parallel")
    told_of = {each for each in described(case) if each.startswith(f"stage {stage.name}")}
    assert len(told_of | {each for each in described(TREATED) if each.startswith(f"stage {stage.name}")}) == (
        1 if arrangement == "alternating" else 2
    )
    assert label("given.stage", stage=Name(stage.name)) in dict(given_table(case, "si").rows)


@pytest.mark.parametrize(("measure", "system"), [*product(get_args(Quantity), SYSTEMS)])
def test_a_quantity_of_a_finding_has_units_and_words(measure: Quantity, system: System) -> None:
    assert measure in QUANTITIES
    number, _ = measured(1.25, measure, system)
    assert float(number.replace(",", "")) > 0.0
    found = Finding(name="set_point", level="fine", stage=None, facts={}, measure=measure, value=1.25)
    assert number in str(figure_words(found, CASE, system))


@pytest.mark.parametrize(("quantity", "system"), [*product(get_args(Quantity), SYSTEMS)])
def test_a_quantity_of_a_result_has_units_and_words(quantity: Quantity, system: System) -> None:
    assert UNITS[system][quantity].per_result_unit > 0.0
    assert column([1.25, None], quantity, system)[1] == "-"
