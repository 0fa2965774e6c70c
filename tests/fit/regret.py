"""What a fit is worth to settings: advised by the case before it, by the fitted one, by the truth; run on the truth.

    python -m tests.fit.regret --out FILE [--plants 20] [--first SEED]

Plants are the filters of `plants.py`, washed by the calendar today, with a meter that could start washes, a limit of
the solids sent on and one of the pressure drop. A log of 31 days is fitted. Rows that the file has are not run again;
it ends with what they come to.
"""

import argparse
import json
import tempfile
import time
from collections.abc import Iterator, Mapping
from dataclasses import asdict, dataclass, replace
from pathlib import Path
from statistics import median
from typing import Any

import numpy as np

from sim.case.load import read_case
from sim.case.records import Case
from sim.errors import CaseError
from sim.fit.fit import fit_log
from sim.study.decide.advice import Advice, Wishes, advise
from sim.study.decide.limits import Limit, excess
from sim.study.decide.trials import Bench, Candidate
from sim.study.many.workers import Crew, local
from sim.write.from_fit import written_from
from tests.fit.plants import FILTERS, STAGE, Plant, draw

FIRST_SEED, PLANTS = 741203, 20
HORIZON, REPLICATES, WEATHER = "120 d", 6, 11
WISHES = Wishes(least="water", limits=(Limit("pressure_kpa", 80.0), Limit("over_limit_h", 88.0)), coarse=True)
EQUAL = 1e-9


@dataclass(frozen=True)
class Judged:
    """Settings run on the truth: the way, its values [SI], how much more water goes to drain than with the truth's
    best (a share), and by what share limits are exceeded, added up as `advise` does."""

    way: str
    values: tuple[float, ...]
    more: float
    excess: float

    @property
    def regret(self) -> float:
        """More water, and what is exceeded besides: 1 % over a limit counts as 1 % more water."""
        return max(self.more, 0.0) + self.excess


@dataclass(frozen=True)
class Outcome:
    """One plant; `least` is the water to drain with the truth's best [m3 a year]."""

    seed: int
    law: str
    decided: str | None
    least: float
    best: tuple[str, tuple[float, ...]]
    before: Judged
    after: Judged
    today: Judged
    seconds: float


def plant_of(seed: int, folder: Path) -> Plant:
    """A filter with a limit of solids and a meter, washed every few days."""
    plant, random = draw(seed, folder, FILTERS), np.random.default_rng([seed, 1])
    area = plant.case.stages[0].vessel.area
    text = plant.text.replace('limit = "20 mg/L"', 'limit = "2 mg/L"')
    volume = area * random.uniform(200, 800)
    text += f'[policy."by volume".{STAGE}]\nstart_on = "volume"\nvolume = "{volume:.0f} m3"\n'
    text += '[prices]\nlost_production = "1 per m3"\n'  # so that a wash by day is weighed, not refused
    return replace(plant, text=text)


def outcome(plant: Plant, folder: Path, crew: Crew) -> Outcome | None:
    """Log, fit and advice of a plant; None where no settings keep the limits at the truth."""
    began, base, fitted = time.process_time(), folder / "plant.toml", folder / "fitted.toml"
    base.write_text(plant.text, encoding="utf-8")
    case = read_case(plant.text, base, {})
    fit = fit_log(plant.log(folder), case, STAGE)
    written = written_from(plant.text, base, fitted, fit)
    truth = _bench(plant.text, base, crew, plant.settings)
    best = advise(truth, WISHES)
    if best.chosen is None or best.chosen.best is None:
        return None
    own = best.chosen.best
    taken = [_taken(advise(_bench(text, base, crew), WISHES)) for text in (plant.text, written)]
    shown = [*truth.tried(taken), best.today]
    tried = [each for each in (own, *shown) if not excess(best.limits, each, best.today)]
    least = min(each.mean("water") for each in tried)
    judged = (
        Judged(
            way=each.candidate.name, values=each.candidate.values, more=each.mean("water") / least - 1.0,
            excess=excess(best.limits, each, best.today),
        )
        for each in shown
    )  # fmt: skip
    return Outcome(
        plant.seed, plant.law, fit.law, least, (own.candidate.name, own.candidate.values), *judged,
        time.process_time() - began,
    )  # fmt: skip


def _bench(text: str, path: Path, crew: Crew, settings: Mapping[str, Any] | None = None) -> Bench:
    """Runs of a case over the horizon, all in the same weather."""
    text = text.replace('length = "31 d"', f'length = "{HORIZON}"')

    def load(at: Path, changed: Mapping[str, Any]) -> Case:
        return read_case(text, at, {**(settings or {}), **changed})

    return Bench(path=path, case=load(path, {}), crew=crew, seed=WEATHER, replicates=REPLICATES, load=load)


def _taken(advice: Advice) -> Candidate:
    """What is advised; where nothing keeps the limits, all stays as it is."""
    chosen = advice.chosen
    return advice.today.candidate if chosen is None or chosen.best is None else chosen.best.candidate


def outcomes(first: int, number: int, done: Mapping[int, Outcome | None]) -> Iterator[tuple[int, Outcome | None]]:
    """The plants of the seeds from `first` on, until so many have an outcome; those of `done` as they are."""
    seed = first
    with tempfile.TemporaryDirectory() as name, local(1) as crew:
        while number > 0:
            found = done[seed] if seed in done else _tried(seed, Path(name), crew)
            yield seed, found
            seed, number = seed + 1, number - (found is not None)


def _tried(seed: int, folder: Path, crew: Crew) -> Outcome | None:
    try:
        return outcome(plant_of(seed, folder), folder, crew)
    except CaseError:  # its gauge would show more than a log may hold
        return None


def table(found: list[Outcome]) -> str:
    """Counts and medians, as Markdown."""
    pairs = [(each.before.regret, each.after.regret) for each in found]
    lines = ["| settings | median regret | greatest | over a limit |", "|---|---|---|---|"]
    for name in ("today", "before", "after"):
        all_of = [getattr(each, name) for each in found]
        regrets = [each.regret for each in all_of]
        over = sum(each.excess > 0.0 for each in all_of)
        lines.append(f"| {name} | {median(regrets):.1%} | {max(regrets):.0%} | {over} of {len(found)} |")
    smaller = sum(after < before - EQUAL for before, after in pairs)
    equal = [after for before, after in pairs if abs(after - before) <= EQUAL]
    none = sum(each <= EQUAL for each in equal)
    lines += [
        "", f"Smaller after the fit in {smaller} of {len(found)}, equal in {len(equal)} (to none in {none}), "
        f"greater in {len(found) - smaller - len(equal)}.",
    ]  # fmt: skip
    return "\n".join(lines)


def main() -> None:
    """Run what is missing of the bench, and say what it comes to."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--out", type=Path, required=True)
    parser.add_argument("--plants", type=int, default=PLANTS)
    parser.add_argument("--first", type=int, default=FIRST_SEED)
    asked = parser.parse_args()
    lines = asked.out.read_text(encoding="utf-8").splitlines() if asked.out.exists() else []
    rows = [json.loads(line) for line in lines]
    done = {row["seed"]: read(row["outcome"]) for row in rows}
    found = []
    for seed, one in outcomes(asked.first, asked.plants, done):
        if seed not in done:
            with asked.out.open("a", encoding="utf-8") as file:
                file.write(json.dumps({"seed": seed, "outcome": one and asdict(one)}) + "\n")
        found += [one] if one else []
    print(table(found))


def read(row: dict[str, Any] | None) -> Outcome | None:
    """An outcome as a file has it."""
    if row is None:
        return None
    judged = {name: Judged(**row[name]) for name in ("before", "after", "today")}
    return Outcome(**{**row, **judged})


if __name__ == "__main__":
    main()
