"""Exact: a few numbers give, for every kind of water and train, a case whose four ways are worth comparing.

The long test prints a table of all 210: mean run, clean loss, drain share and breakthrough risk of every filter.
"""

from collections.abc import Iterator
from dataclasses import replace
from itertools import product
from pathlib import Path

import pytest

from sim.case.load import load_case
from sim.case.records import Case
from sim.case.series.waters import WATERS
from sim.case.units import DAY, HOUR
from sim.plant.records import Cause, RunResult
from sim.plant.simulate import simulate
from sim.plant.trace import trace
from sim.study.compare import compare
from sim.write.writing import NewCase
from tests.write.ten import made

DAYS = 60.0
WAYS = ["calendar", "volume", "volume with reserve", "pressure drop"]
TURBIDITY = {
    "town": "0.6 NTU", "town with old mains": "2 NTU", "clear well": "1.2 NTU", "iron well": "6 NTU", "lake": "4 NTU",
    "river": "9 NTU", "pretreated reuse": "5 NTU",
}  # fmt: skip
SETS = (
    "media", "carbon", "softener", "oxidising", "media,carbon", "media,softener", "oxidising,carbon",
    "oxidising,softener", "carbon,softener", "media,media", "media,carbon,softener", "media,media,carbon",
    "oxidising,media,carbon", "media,carbon,media", "media,oxidising,carbon,softener",
)  # fmt: skip
USED = {"limit": None, "depth": None, "backwash": None, "hours": "14", "days": "7", "flow": "6.5 m3/h",
        "diameter": "0.9 m", "temperature": "6..21 degC"}  # fmt: skip
TWELVE = [
    ("river", "media", "yes"), ("river", "media,carbon", "no"), ("lake", "media,softener", "no"),
    ("lake", "media,media,carbon", "yes"), ("iron well", "oxidising,softener", "no"), ("iron well", "media", "yes"),
    ("town", "carbon", "no"), ("town with old mains", "media", "no"), ("clear well", "softener", "no"),
    ("pretreated reuse", "media", "no"), ("pretreated reuse", "oxidising,media,carbon", "yes"),
    ("river", "softener", "no"),
]  # fmt: skip


def shorter(case: Case, days: float = DAYS) -> Case:
    return replace(case, run=replace(case.run, length=days * DAY))


def first_case(water: str, train: str, coagulant: str, folder: Path) -> tuple[NewCase, Case]:
    """A new case, and the one that its file holds."""
    new = made(water=water, train=train, coagulant=coagulant, turbidity=TURBIDITY[water], **USED)
    path = folder / "new.toml"
    path.write_text(new.text, encoding="utf-8")
    return new, load_case(path)


def compared(new: NewCase, case: Case) -> dict[str, RunResult]:
    """The four ways over some weeks, and what must hold of every first case."""
    assert case == new.case
    assert [policy.name for policy in case.policies] == WAYS
    results = {result.policy: result for result in compare(shorter(case)).results}
    assert list(results) == WAYS
    nine = [(33.0 * HOUR - case.run.start.hour * HOUR) % DAY]
    at_first = {sample.stage: sample.outlet_mg_l for sample in trace(shorter(case), WAYS[0], times=nine)}
    for stage in case.stages:
        said = [words for words in new.first if words.startswith(f"{stage.name}: always washed by its longest run")]
        causes = {run.cause for each in results.values() for run in each.runs if run.stage == stage.name} - {None}
        assert causes != {Cause.LONGEST_RUN} or said, stage.name
        assert stage.limit is not None
        assert at_first[stage.name] < stage.limit, stage.name
        assert not any("over the limit in every hour" in words for words in new.first)
    return results


@pytest.mark.parametrize(("water", "train", "coagulant"), TWELVE)
def test_a_few_numbers_are_enough(water: str, train: str, coagulant: str, tmp_path: Path) -> None:
    new, case = first_case(water, train, coagulant, tmp_path)
    results = compared(new, case)
    if water in ("river", "iron well", "lake", "pretreated reuse") and "media" in train.split(","):
        name = next(stage.name for stage in case.stages if stage.name.startswith(("media", "oxidising")))
        for each in results.values():
            assert 12.0 <= mean_run(each, name) <= 200.0, each.policy


def mean_run(result: RunResult, stage: str) -> float:
    """Hours from wash to wash; all of the time where there is none."""
    runs = [run for run in result.runs if run.stage == stage and run.cause is not None]
    return sum(run.end_s - run.start_s for run in runs) / HOUR / len(runs) if runs else DAYS * 24.0


HEADER = (
    "| water | filters | coagulant | filter | mean run h | clean kPa | drain % | breakthrough |\n"
    "|---|---|---|---|---|---|---|---|\n| | | | | calendar / volume / reserve / pressure | same | same | same |"
)


def rows(water: str, train: str, coagulant: str, results: dict[str, RunResult], case: Case) -> Iterator[str]:
    for stage in case.stages:
        columns = (
            [f"{mean_run(each, stage.name):.0f}" for each in results.values()],
            [f"{next(r.clean_dp_kpa for r in each.runs if r.stage == stage.name):.1f}" for each in results.values()],
            [f"{100.0 * each.site['drain_fraction']:.1f}" for each in results.values()],
            [f"{each.stages[stage.name]['breakthrough_risk']:.2f}" for each in results.values()],
        )
        cells = ["", water, train, coagulant, stage.name, *(" / ".join(each) for each in columns), ""]
        yield " | ".join(cells).strip()


@pytest.mark.long
def test_every_water_with_every_set_of_filters(tmp_path: Path) -> None:
    table = [HEADER]
    for water, train, coagulant in product(WATERS, SETS, ("yes", "no")):
        new, case = first_case(water, train, coagulant, tmp_path)
        table += rows(water, train, coagulant, compared(new, case), case)
    print("\n".join(table))
    assert len(table) > 210


def test_eight_answers_are_enough(tmp_path: Path) -> None:
    new = made(days=None, limit=None, depth=None, backwash=None)
    assert simulate(shorter(new.case, 30.0), "calendar").site["washes"]


@pytest.mark.parametrize(
    ("diameter", "flow", "turbidity"),
    [("5 cm", "1 L/h", "0.01 NTU"), ("5 cm", "98 L/h", "200 NTU"), ("20 m", "15000 m3/h", "400 mg/L")],
)
@pytest.mark.parametrize("hours", ["1", "24"])
@pytest.mark.parametrize("days", ["1", "7"])
def test_smallest_and_largest_answers_still_make_a_case(
    diameter: str, flow: str, turbidity: str, hours: str, days: str
) -> None:
    new = made(
        diameter=diameter, flow=flow, turbidity=turbidity, hours=hours, days=days, limit=None, backwash=None,
        depth="3 m", temperature="0..50 degC", train="softener,carbon,oxidising,media",
    )  # fmt: skip
    for policy in WAYS:
        simulate(shorter(new.case, 8.0), policy)
