"""An assumed efficiency of the pump: listed, and tried at both ends of its range without another run."""

from pathlib import Path

import pytest

from sim.case.load import load_case
from sim.study.decide.advice import as_it_is
from sim.study.decide.ends import TODAY, ends_of
from sim.study.decide.trials import Bench
from sim.study.many.workers import local
from sim.study.ranking import at_ends
from tests.decide.steady import steady

KEY = "prices.pump_efficiency"
ENERGY = 'energy = "0.36 per kWh"\nwash_pressure = "3 bar"\n'


def pumped(folder: Path) -> Path:
    path = steady(folder, days=30)
    path.write_text(path.read_text(encoding="utf-8").replace('labour = "4', f'{ENERGY}labour = "4'), encoding="utf-8")
    return path


def test_it_is_assumed_only_where_energy_has_a_price_and_it_has_none(tmp_path: Path) -> None:
    path = steady(tmp_path, days=30)
    assert KEY not in {each.key for each in load_case(path).assumptions}
    case = load_case(pumped(tmp_path))
    (found,) = (each for each in case.assumptions if each.key == KEY)
    assert (found.value, found.low, found.high, found.unit) == (0.6, 0.4, 0.75, "-")
    assert "common practice" in found.source
    given = load_case(path, {KEY: 0.5})
    assert given.prices is not None
    assert given.prices.pump_efficiency == 0.5
    assert KEY not in {each.key for each in given.assumptions}
    assert given.constants == case.constants


def test_its_ends_are_priced_by_hand_and_run_nothing(tmp_path: Path) -> None:
    """Energy costs by the reciprocal of the efficiency: 0.6 / 0.4 of it at the low end, 0.6 / 0.75 at the high end.

    All together at their low ends counts it too: the part of energy is then price times work over 0.4.
    """
    path = pumped(tmp_path)
    case = load_case(path)
    with local(1) as crew:
        bench = Bench(path=path, case=case, crew=crew, seed=1, replicates=1)
        ends = ends_of(bench, {TODAY: as_it_is(case.policies[0])})
        runs = bench.tally.runs
    assert runs == 1 + len(ends.trials) - 2, "all but the two of the efficiency alone"
    trials = {(each.keys, each.end): each.tried[TODAY] for each in ends.trials}
    usual = ends.typical[TODAY]
    for end, efficiency in (("low", 0.4), ("high", 0.75)):
        tried = trials[(KEY,), end]
        assert tried.mean("part energy") == pytest.approx(usual.mean("part energy") * 0.6 / efficiency, rel=1e-12)
        assert tried.mean("cost") - usual.mean("cost") == pytest.approx(
            usual.mean("part energy") * (0.6 / efficiency - 1.0)
        )
        assert tried.mean("water") == usual.mean("water")
    low = trials[tuple(each.key for each in case.assumptions), "low"]
    work = 3e5 * low.mean("water")  # both backwash and rinse at 3 bar, J a year
    assert low.mean("part energy") == pytest.approx(0.36 / 3.6e6 * work / 0.4, rel=1e-9)
    assert usual.mean("part energy") == pytest.approx(0.36 / 3.6e6 * 3e5 * usual.mean("water") / 0.6, rel=1e-9)


def test_a_comparison_of_water_runs_nothing_for_it(tmp_path: Path) -> None:
    path = pumped(tmp_path)
    case = load_case(path)
    assert (KEY,) not in {tuple(each.key for each in keys) for keys, _, _ in at_ends(path, case, load_case)}
