"""How often a diagnosis is right: 12 faults x 20 logs, and 100 healthy ones, in which an alarm is false.

    python -m tests.fit.bench_diagnose --seed 7 --out rows.jsonl [--healthy 100 --logs 20]

Logs are of `diagnosed`: 40 days by the hour, a plant whose constants are off by 3 to 5 %, errors of gauges, faults of
a random size that begin on a random day. Rows that the file has are not run again; it ends with what they come to.
"""

import argparse
import json
import math
import time
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

import numpy as np

from sim.case.fault.records import WHOLE_SITE, Fault
from sim.case.fault.records import What as Failed
from sim.case.load import load_case
from sim.case.units import DAY, HOUR
from sim.fit.diagnose import diagnose
from tests.fit.diagnosed import FILE, log_of, plant_of

ANY = ("volume", "pressure drop", "calendar")
SET_POINT = 20_000.0  # Pa, of the case
FAULTS: Mapping[str, tuple[Failed, tuple[str, ...], str | None, tuple[float, float]]] = {
    "meter low": (Failed.METER_WRONG, ("volume",), "share", (0.7, 0.9)),
    "meter high": (Failed.METER_WRONG, ("volume",), "share", (1.1, 1.4)),
    "meter stuck": (Failed.METER_STUCK, ("volume",), None, (0.0, 0.0)),
    "switch stuck open": (Failed.SWITCH_OPEN, ("pressure drop",), None, (0.0, 0.0)),
    "switch drifts low": (Failed.SWITCH_DRIFTS, ("pressure drop",), "by", (-0.02 * SET_POINT, -0.01 * SET_POINT)),
    "tap plugged": (Failed.TAP_PLUGGED, ("pressure drop",), "share", (0.4, 0.8)),
    "clock slow": (Failed.CLOCK_WRONG, ("calendar", "volume"), "by", (-8.0 * HOUR, -1.5 * HOUR)),
    "wash supply weak": (Failed.SUPPLY_WEAK, ANY, "share", (0.5, 0.8)),
    "drain restricted": (Failed.DRAIN_RESTRICTED, ANY, "share", (0.5, 0.8)),
    "raw water past the bed": (Failed.RAW_PAST, ANY, "share", (0.08, 0.3)),
    "media lost": (Failed.MEDIA_LOST, ANY, "share", (0.1, 0.3)),
    "bed mudballed": (Failed.MUDBALLED, ANY, "share", (0.1, 0.35)),
}
"""What is tried: under which ways to start a wash, its number, and from when to when that is."""


def drawn(kind: str, number: int, random: np.random.Generator) -> tuple[str, tuple[Fault, ...]]:
    """A way to start washes and the fault of one log."""
    if kind == "healthy":
        return ANY[number % len(ANY)], ()
    what, policies, key, (low, high) = FAULTS[kind]
    size: dict[str, Any] = {} if key is None else {key: float(random.uniform(low, high))}
    start = float(random.uniform(0.3, 0.6)) * 40.0 * DAY
    stage = None if what in WHOLE_SITE else "sand"
    return policies[number % len(policies)], (Fault(what=what, stage=stage, start=start, end=math.inf, **size),)


def row_of(kind: str, number: int, base: int) -> dict[str, Any]:
    """What one log is found to have."""
    seed = [base, sorted((*FAULTS, "healthy")).index(kind), number]
    random = np.random.default_rng(seed)
    plant = plant_of(random)
    policy, faults = drawn(kind, number, random)
    log = log_of(plant, policy, faults, seed=int(random.integers(1, 2**31)))
    began = time.process_time()
    found = diagnose(log, load_case(FILE), "sand", policy=policy)
    groups: list[list[str]] = []
    for cause in found.causes:
        if len(groups) < 2 and not any(cause.what in group for group in groups):
            groups.append([str(cause.what), *map(str, cause.inseparable_from)])
    best = found.causes[0] if found.causes else None
    return {
        "kind": kind, "number": number, "policy": policy, "washes": len(log.washes), "alarm": found.alarm,
        "healthy": found.healthy, "groups": groups, "margin": found.margin, "since": best and best.since,
        "size": best and best.size, "began": faults[0].start if faults else None,
        "true": (faults[0].share or faults[0].by) if faults else None,
        "seconds": time.process_time() - began,
    }  # fmt: skip


def told(rows: list[dict[str, Any]]) -> Iterator[str]:
    """What the rows come to."""
    for kind in (*FAULTS, "all"):
        mine = [row for row in rows if row["kind"] != "healthy" and kind in (row["kind"], "all")]
        if mine:
            first = sum(bool(row["groups"]) and row["kind"] in row["groups"][0] for row in mine)
            alone = sum(bool(row["groups"]) and row["kind"] == row["groups"][0][0] for row in mine)
            two = sum(any(row["kind"] in group for group in row["groups"]) for row in mine)
            alarms = sum(row["alarm"] for row in mine)
            yield f"{kind:24} {len(mine):4} logs: first {first}, by itself {alone}, among two {two}, alarm {alarms}"
    healthy = [row for row in rows if row["kind"] == "healthy"]
    if healthy:
        yield f"healthy: an alarm in {sum(row['alarm'] for row in healthy)} of {len(healthy)}"
        yield f"greatest margins {sorted((round(row['margin'], 1) for row in healthy), reverse=True)[:8]}"
    yield f"{np.mean([row['seconds'] for row in rows]):.1f} s of processor a log"


def main() -> None:
    """Run what is missing of the bench, and say what it comes to."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--seed", type=int, required=True)
    parser.add_argument("--out", type=Path, required=True)
    parser.add_argument("--healthy", type=int, default=100)
    parser.add_argument("--logs", type=int, default=20)
    given = parser.parse_args()
    lines = given.out.read_text(encoding="utf-8").splitlines() if given.out.exists() else []
    rows = [json.loads(line) for line in lines]
    done = {(row["kind"], row["number"]) for row in rows}
    todo = [(number / given.logs, kind, number) for kind in FAULTS for number in range(given.logs)]
    todo += [(number / max(given.healthy, 1), "healthy", number) for number in range(given.healthy)]
    for _, kind, number in sorted(todo):
        if (kind, number) not in done:
            rows.append(row_of(kind, number, given.seed))
            with given.out.open("a", encoding="utf-8") as file:
                file.write(json.dumps(rows[-1]) + "\n")
    print("\n".join(told(rows)))


if __name__ == "__main__":
    main()
