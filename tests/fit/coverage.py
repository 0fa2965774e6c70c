"""The bench of fits: logs of plants drawn at random, and whether what is said of their constants is so.

    python -m tests.fit.coverage [--logs 100] [--first 1000] [--out FILE]

A line for each log as it is done, then the table that tests/bench/README.md keeps.
"""

import argparse
import json
import math
import tempfile
from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import count, islice
from pathlib import Path
from typing import Any

from scipy.stats import binom

from sim.errors import CaseError
from sim.fit.fit import fit_log
from sim.fit.records import Constant, Fit
from tests.fit.plants import STAGE, Plant, draw

FIRST_SEED, LOGS = 131759, 100


@dataclass(frozen=True)
class Told:
    """What a fit said of one constant of a plant: whether it called it identifiable, whether the truth lies within,
    whether such a log can tell it at all; None of what has no truth, the growth of a law that is not the plant's."""

    constant: Constant
    identifiable: bool
    covers: bool | None
    hidden: bool


@dataclass(frozen=True)
class Outcome:
    """One log: which law it was and which was decided for, and what was said of each constant."""

    seed: int
    every: float
    law: str
    decided: str | None
    told: tuple[Told, ...]


def outcome(plant: Plant, fit: Fit) -> Outcome:
    """Hold a fit against the truth."""
    taken = fit.law or plant.case.stages[0].head_loss.growth
    told = []
    for each in fit.constants:
        truth = plant.truth.get(each.constant, math.nan)
        known = not math.isnan(truth) and (each.constant is not Constant.GROWTH or taken == plant.law)
        told.append(
            Told(
                constant=each.constant,
                identifiable=each.identifiable,
                covers=each.low <= truth <= each.high if known else None,
                hidden=each.constant in plant.hidden,
            )
        )
    return Outcome(plant.seed, plant.every, plant.law, fit.law, tuple(told))


def outcomes(seeds: Iterable[int]) -> Iterator[Outcome]:
    """The outcomes of the plants of some seeds, without those whose gauge would show more than a log may hold."""
    with tempfile.TemporaryDirectory() as folder:
        for seed in seeds:
            plant = draw(seed, Path(folder))
            try:
                log = plant.log(Path(folder))
            except CaseError:
                continue
            yield outcome(plant, fit_log(log, plant.case, STAGE))


def table(found: list[Outcome]) -> str:
    """Counts, as Markdown."""
    lines = ["| constant | called identifiable | of these the interval holds the truth |", "|---|---|---|"]
    for constant in Constant:
        told = [each for one in found for each in one.told if each.constant is constant]
        said = [each for each in told if each.identifiable and each.covers is not None]
        if told:
            lines.append(f"| {constant} | {len(said)} of {len(told)} | {sum(bool(each.covers) for each in said)} |")
    hidden = [each for one in found for each in one.told if each.hidden]
    laws = Counter("undecided" if one.decided is None else one.decided == one.law for one in found)
    said = [each for one in found for each in one.told if each.identifiable and each.covers is not None]
    covered = sum(bool(each.covers) for each in said)
    lines += [
        "",
        f"All intervals: {covered} of {len(said)}. Constants that a log cannot tell: called so "
        f"{sum(not each.identifiable for each in hidden)} of {len(hidden)}. Law: right {laws[True]}, wrong "
        f"{laws[False]}, undecided {laws['undecided']}.",
    ]
    return "\n".join(lines)


def by_chance(count: int, needed: int, *, each: float = 0.95) -> float:
    """The probability that intervals which hold the truth in a share `each` of logs do so in fewer than `needed`."""
    return float(binom.cdf(needed - 1, count, each))


def main() -> None:
    """Run the bench and print what it finds."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--logs", type=int, default=LOGS)
    parser.add_argument("--first", type=int, default=FIRST_SEED)
    parser.add_argument("--out", type=Path)
    asked = parser.parse_args()
    found: list[Outcome] = []
    for one in islice(outcomes(count(asked.first)), asked.logs):
        found.append(one)
        line: dict[str, Any] = {
            "seed": one.seed, "every": one.every, "law": one.law, "decided": one.decided,
            "told": {t.constant: [t.identifiable, t.covers, t.hidden] for t in one.told},
        }  # fmt: skip
        print(json.dumps(line), flush=True)
        if asked.out is not None:
            asked.out.write_text(table(found) + "\n", encoding="utf-8")
    print(table(found))


if __name__ == "__main__":
    main()
