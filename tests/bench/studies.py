"""What many runs cost: several workers against one, the engine beside the runs, memory, and what pairing saves."""

from __future__ import annotations

import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from statistics import median

from sim.case.records import Case
from sim.case.series.records import Changeable, Feed, Steady, Storms, Wander
from sim.plant import simulate
from sim.study.many.dispatch import BATCH_SECONDS, Dispatch
from sim.study.many.jobs import Job
from sim.study.many.outcome import Outcome, run_one
from sim.study.many.repeat import repeat
from sim.study.many.study_file import StudyFile
from sim.study.many.workers import local
from tests.bench.cases import reference
from tests.bench.table import Row, duration

ROOT = Path(__file__).parents[2]
REPLICATES, WORKERS, REPEATS = 250, 2, 5
FEW, MANY = 100, 1000
HOUR, DAY = 3600.0, 86_400.0


def stormy() -> Case:
    """The reference filter over a year of random weather."""
    solids = Changeable(
        median=3.0, fast=Wander(spread=0.6, memory=20 * HOUR), slow=None, season=None,
        storms=Storms(per_year=10.0, height=6.0, length=30 * HOUR, season=None),
    )  # fmt: skip
    case = reference()
    feed = Feed(temperature=Steady(value=15.0), solids=solids, turbidity_ratio=None)
    return replace(case, feed=feed, run=replace(case.run, allowed_over_limit=DAY))


def taken(case: Case, workers: int) -> float:
    """Seconds of the clock for every policy of REPLICATES years, workers started and a study file written."""
    with tempfile.TemporaryDirectory() as folder:
        start = time.perf_counter()
        with StudyFile(Path(folder) / "s.study") as kept, local(workers) as crew:
            repeat(case, crew, replicates=REPLICATES, kept=kept)
        return time.perf_counter() - start


def instant(case: Case, policy: str, seed: int, replicate: int) -> Outcome:
    """A run that costs nothing: the figures of one kept in this process."""
    if policy not in _KEPT:
        _KEPT[policy] = run_one(case, policy, 1, 0)
    return replace(_KEPT[policy], replicate=replicate)


_KEPT: dict[str, Outcome] = {}


def scaling(case: Case) -> Iterator[Row | str]:
    """Two workers against one, in turn."""
    times: dict[int, list[float]] = {1: [], WORKERS: []}
    for _ in range(REPEATS):
        for workers, found in times.items():
            found.append(taken(case, workers))
    one, several = median(times[1]), median(times[WORKERS])
    runs = REPLICATES * len(case.policies)
    yield Row(
        what=f"{runs} years of random weather: 1 worker / {WORKERS}",
        ratio=one / several,
        sides=f"{duration(several)} against {duration(one)}, medians of {REPEATS}, clock time",
        least=1.5,
    )
    yield f"all times, s: {'; '.join(f'{n}: ' + ', '.join(f'{t:.2f}' for t in found) for n, found in times.items())}"


def overhead(case: Case) -> Iterator[str]:
    """What the engine costs a run, and how many runs make a batch."""
    count = 1000
    with tempfile.TemporaryDirectory() as folder, local(WORKERS) as crew:
        with StudyFile(Path(folder) / "warm.study") as kept:
            repeat(case, crew, replicates=50, kept=kept, run=instant)
        with StudyFile(Path(folder) / "s.study") as kept:
            start = time.perf_counter()
            repeat(case, crew, replicates=count, kept=kept, run=instant)
            each = (time.perf_counter() - start) / (count * len(case.policies))
    yield f"engine: {duration(each)} a run to hand out, take back, keep on file and sum up"
    names = tuple(policy.name for policy in case.policies)
    with local(WORKERS) as crew:
        jobs = Dispatch(
            [(place, names) for place in range(100)],
            lambda place, missing: Job(case=case, replicate=place, policies=missing), crew, 1, run_one,
        )  # fmt: skip
        runs = [len(answer.outcomes) for answer in jobs.answers()]
    yield f"batches of up to {max(runs)} runs, {len(runs)} for {sum(runs)}; {BATCH_SECONDS:g} s is aimed at"


def pairing(case: Case) -> Iterator[str]:
    """Variances of differences, paired and not."""
    with local(WORKERS) as crew:
        found = repeat(case, crew, replicates=100)
    for pair in found.pairs():
        if pair.kpi == "over_limit_h" and pair.variance:
            share = (pair.unpaired or 0.0) / pair.variance
            yield (
                f"hours over the limit, {pair.a} less {pair.b}: variance {pair.variance:.4g} h2 paired, "
                f"{pair.unpaired:.4g} not, {share:.1f} times"
            )
    for name in found.figures.policies:
        risk = found.risk(name)
        yield f"risk of a year with more than allowed, {name}: {risk}"


def memory() -> Iterator[Row | str]:
    """The parent's largest memory over few and over many replicates, each in a process of its own."""
    few, many = (_peak(count) for count in (FEW, MANY))
    yield Row(
        what=f"parent's memory, {FEW} replicates / {MANY}",
        ratio=few / many, sides=f"{many / 1024:.1f} MiB against {few / 1024:.1f} MiB", least=0.95,
    )  # fmt: skip


def _peak(replicates: int) -> int:
    script = (
        "import resource\nfrom sim.study.many.repeat import repeat\nfrom sim.study.many.workers import local\n"
        "from tests.bench.studies import stormy\n"
        f"with local({WORKERS}) as crew:\n    repeat(stormy(), crew, replicates={replicates}).to_json()\n"
        "print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss)\n"
    )
    done = subprocess.run([sys.executable, "-c", script], cwd=ROOT, capture_output=True, text=True, check=True)
    return int(done.stdout)


def studies() -> Iterator[Row | str]:
    """Everything about many runs."""
    case = stormy()
    for policy in case.policies:  # compiled before anything is timed
        simulate(case, policy.name)
    yield from scaling(case)
    yield from overhead(case)
    yield from pairing(case)
    yield from memory()
