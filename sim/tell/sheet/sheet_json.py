"""The settings sheet as plain data, SI, with the unit in each key; and what it is known by."""

from dataclasses import asdict
from hashlib import sha256
from typing import Any

from sim.case.stage.longest_run import longest_run_of
from sim.case.stage.records import Stage
from sim.case.trigger.records import SingleTrigger, Trigger, singles
from sim.case.units import HOUR, MINUTE
from sim.plant.records import Cause
from sim.study.sheet_runs import SheetRuns, started
from sim.study.single import triggers_of
from sim.study.version import PROGRAM, VERSION

UNIT = {"every": "s", "at": "s", "also_at": "s", "volume": "m3", "reserve": "m3", "hold": "s", "longest_run": "s"}
BAND_UNIT = {"clean": "pa", "before": "pa", "between": "s", "drained": "m3", "metered": "m3"}


def sheet_hash(runs: SheetRuns) -> str:
    """What one sheet is known by: of case, way to start a wash, seed and program. A digit changed makes another."""
    whole = "\n".join((runs.case.source_hash, runs.policy, str(runs.seed), PROGRAM, VERSION))
    return sha256(whole.encode("utf-8")).hexdigest()[:12]


def sheet_json(runs: SheetRuns) -> dict[str, Any]:
    """Settings, how far they were tried, when washes start, usual readings."""
    case, triggers = runs.case, triggers_of(runs.case, runs.policy)
    return {
        "program": PROGRAM,
        "version": VERSION,
        "case": case.title,
        "case_hash": case.source_hash,
        "sheet": sheet_hash(runs),
        "policy": runs.policy,
        "seed": runs.seed,
        "stages": [_stage(runs, stage, triggers[stage.name]) for stage in case.stages],
        "tried": [asdict(each) for each in runs.tried],
        "bands": [
            {"reading": each.reading, "stage": each.stage, "low": each.low, "high": each.high,
             "least": each.least, "most": each.most, "unit": BAND_UNIT[each.reading]}
            for each in runs.bands
        ],
        "water_m3_h": [each * HOUR for each in runs.water],
    }  # fmt: skip


def _stage(runs: SheetRuns, stage: Stage, trigger: Trigger) -> dict[str, Any]:
    reached = runs.result.wash_flows[stage.name]
    longest, (start, end) = longest_run_of(stage, trigger), stage.hold_span
    return {
        "stage": stage.name,
        "vessels": stage.vessels.count,
        "steps": [
            {
                "do": step.do,
                "minutes": step.seconds / MINUTE,
                "flow_m3_h": step.flow * HOUR,
                "reached_m3_h": None if least is None else least * HOUR,
                "volume_m3": step.flow * step.seconds,
                "salt_g": step.salt,
            }
            for step, least in zip(stage.steps, reached, strict=True)
        ],
        "starts": [_trigger(each) for each in singles(trigger)],
        "longest_run_s": longest,
        "held_min": None if start == end else [start / MINUTE, end / MINUTE],
        "washes": {each.value: number for each in Cause if (number := started(runs.result, stage.name, (each,)))},
        "hours": [asdict(arc) for arc in runs.arcs[stage.name]],
    }


def _trigger(trigger: SingleTrigger) -> dict[str, Any]:
    return {"start_on": type(trigger).__name__} | {
        f"{key}_{UNIT[key]}" if key in UNIT else key: value for key, value in asdict(trigger).items()
    }
