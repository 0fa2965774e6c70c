"""The counts of work of fixed runs, and the ceilings that CI holds them to.

A count says what a run costs on any machine: how many pieces the kernel carried the water through, how often it was
called, how often a bed was read or brought up to date, and what the event queue did. A change that exceeds a ceiling
makes every run slower; one that lowers a count lowers its ceiling too. All runs last a year.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

from sim.case.records import Case
from sim.plant import simulate
from tests.bench.cases import boiler_house, reference, ripening, softening, train, varying
from tests.bench.table import COUNTS

CASES: dict[str, Callable[[], Case]] = {
    "reference": reference,
    "varying": varying,
    "ripening": ripening,
    "softening": softening,
    "train": train,
    "boiler house": boiler_house,
}
# Case and policy: the most of each of COUNTS, some 3 % above what was measured.
CEILINGS: dict[tuple[str, str], tuple[int, int, int, int, int, int]] = {
    ("reference", "calendar"): (1790, 290, 665, 380, 290, 2),
    ("reference", "volume"): (2430, 460, 770, 460, 460, 2),
    ("reference", "volume with reserve"): (2250, 500, 1010, 380, 630, 2),
    ("reference", "pressure drop"): (1900, 320, 1240, 320, 320, 2),
    ("varying", "pressure drop"): (10_310, 360, 1550, 380, 360, 2),
    ("ripening", "pressure drop"): (5950, 310, 4270, 6060, 310, 2),
    ("softening", "pressure drop"): (1900, 320, 1240, 320, 320, 2),
    ("train", "pressure drop"): (1950, 440, 1570, 340, 330, 2),
    ("boiler house", "calendar, 85 minutes apart"): (20_000, 1210, 16_790, 18_160, 1370, 6),
    ("boiler house", "pressure or meter"): (14_800, 860, 26_000, 10_900, 1150, 6),
}


def measured(case: str, policy: str) -> tuple[int, ...]:
    """The counts of one run, in the order of COUNTS."""
    counts = simulate(CASES[case](), policy).counts
    return tuple(counts[name] for name in COUNTS)


def exceeded(ceilings: Mapping[tuple[str, str], tuple[int, ...]] = CEILINGS) -> int:
    """Print every count beside its ceiling; how many lie above."""
    print("counts of a year, each with its ceiling")
    print(f"{'':<40}" + "".join(f"{name.replace('_', ' '):>17}" for name in COUNTS))
    above = 0
    for (case, policy), ceiling in ceilings.items():
        cells = []
        for count, most in zip(measured(case, policy), ceiling, strict=True):
            above += count > most
            cells.append(f"{count:>8}{'!' if count > most else ' '}/{most:>6} ")
        print(f"{f'{case}, {policy}':<40}" + "".join(f"{cell:>17}" for cell in cells))
    print(f"{above} above their ceiling" if above else "none above its ceiling")
    return above
