"""`python -m tests.bench`: every ratio; `--counts`: the counts that CI holds down; `--studies`: many runs."""

from __future__ import annotations

import argparse
import platform
from collections.abc import Iterator

import numpy as np

from hydraulics.compiled import is_compiled
from tests.bench.cases import reference, varying
from tests.bench.cold import first_runs
from tests.bench.counts import exceeded
from tests.bench.engine import empty_timeouts, over_years
from tests.bench.segments import ExactBed, random_segments, solved_bed
from tests.bench.studies import studies
from tests.bench.table import Row, duration
from tests.bench.timing import interleaved, machine_load, seconds
from tests.bench.years import Race, product_seconds, race

CELLS = (20, 50, 100)  # a layer
DEFAULT_CELLS = 20


def exact_step() -> Iterator[Row | str]:
    """The exact step beside a stiff solver."""
    segments = random_segments()
    bed = ExactBed(segments)
    apart = float(np.max(np.abs(bed.run() / solved_bed(segments) - 1.0)))
    taken = interleaved({"step": bed.run, "solver": lambda: solved_bed(segments)})
    sides = f"{duration(taken['step'])} against {duration(taken['solver'])} for {len(segments)} segments"
    yield Row(what="exact step / LSODA at rtol 1e-8", ratio=taken["solver"] / taken["step"], sides=sides, least=200)
    yield f"deposits {apart:.1e} apart"


def row(what: str, found: Race, least: float | None) -> Row:
    """A race as a row."""
    sides = f"{duration(found.product)} against {duration(found.loop)}"
    return Row(what=what, ratio=found.ratio, sides=sides, least=least)


def filter_years() -> Iterator[Row | str]:
    """Years on pressure drop beside the tick loops and beside an idle event queue."""
    changing = race(varying())
    yield row("hourly-varying year / compiled loop", changing, 15)
    yield str(changing)
    anew = product_seconds(varying())
    yield f"with weather and rows made anew {duration(anew)}, {changing.loop / anew:.1f} times"
    steady: dict[int, Race] = {}
    for cells in CELLS:
        steady[cells] = race(reference(cells=cells))
        what, least = f"reference year / compiled loop, {cells} cells", 100 if cells == DEFAULT_CELLS else None
        yield row(what, steady[cells], least)
        yield str(steady[cells])
    anew = product_seconds(reference())
    yield f"with weather and rows made anew {duration(anew)}, {steady[DEFAULT_CELLS].loop / anew:.1f} times"
    product = steady[DEFAULT_CELLS].product
    idle = seconds(empty_timeouts)
    sides = f"{duration(product)} against {duration(idle)}"
    yield Row(what="reference year / 525,600 empty timeouts", ratio=idle / product, sides=sides, least=10)


def long_runs() -> Iterator[Row | str]:
    """Cost of a simulated year in runs of 1 to 20 years: flat."""
    for name, case in (("reference", reference()), ("hourly-varying", varying())):
        each = over_years(case)
        yield Row(
            what=f"{name}: a year alone / a year of 20",
            ratio=each[1] / each[20],
            sides="; ".join(f"{years} years {duration(cost)} each" for years, cost in each.items()),
            least=0.8,
        )


def cold_start() -> Iterator[Row | str]:
    """The first run of a fresh installation and the next one."""
    (load, compiling), (load_again, kept) = first_runs()
    yield f"first run of a fresh installation {duration(load)} to load and {duration(compiling)} to compile and run"
    yield f"with machine code kept            {duration(load_again)} to load and {duration(kept)} to fetch it and run"


def main(arguments: list[str] | None = None) -> int:
    """Run and print; 1 where a count lies above its ceiling."""
    parser = argparse.ArgumentParser(prog="python -m tests.bench", description=__doc__)
    parser.add_argument("--counts", action="store_true", help="only the counts, against their ceilings")
    parser.add_argument("--studies", action="store_true", help="only what many runs on several workers cost")
    asked = parser.parse_args(arguments)
    if asked.counts:
        return int(exceeded() > 0)
    print(f"Python {platform.python_version()}, {machine_load()}, {'compiled' if is_compiled() else 'NOT COMPILED'}")
    print("times faster; medians of 7 turns of each side, processor time")
    missed = 0
    for part in (studies,) if asked.studies else (exact_step, filter_years, long_runs, cold_start):
        for line in part():
            missed += isinstance(line, Row) and not line.met
            print(line if isinstance(line, Row) else f"      {line}", flush=True)
    print(f"{missed} of what is required not met; {machine_load()}")
    return 0 if asked.studies else int(exceeded() > 0)


if __name__ == "__main__":
    raise SystemExit(main())
