"""The benchmark itself: equal terms for both sides, and a gate that shuts."""

from __future__ import annotations

from functools import partial

import numpy as np
import pytest

from hydraulics.compiled import compile_kernel, is_compiled
from sim.plant import simulate
from sim.plant.kernel import advance
from tests.bench import __main__ as bench
from tests.bench import counts
from tests.bench.cases import PRESSURE, reference, softening
from tests.bench.segments import ExactBed, random_segments, solved_bed
from tests.bench.table import COUNTS, Row
from tests.bench.timing import interleaved
from tests.twin.loop import march


def test_the_exact_step_is_the_solution() -> None:
    """40 random segments through two layers, the product's own arrays: scipy's LSODA at rtol 1e-8."""
    segments = random_segments()
    assert len(segments) == 40
    assert np.allclose(ExactBed(segments).run(), solved_bed(segments), rtol=1e-6, atol=0.0)


@pytest.mark.skipif(not is_compiled(), reason="nothing is compiled here")
def test_both_sides_are_compiled_alike() -> None:
    options = [dict(side.targetoptions) for side in (compile_kernel(advance), march)]
    for each in options:
        each.pop("cache", None)
    assert options[0] == options[1]
    assert "fastmath" not in options[0]


MOST_OF_A_SOLUTE = 1.5  # times the work and the time of the same filter without


def test_a_solute_adds_no_half_to_the_work() -> None:
    without, with_one = (simulate(case(days=60.0), PRESSURE).counts for case in (reference, softening))
    for name in COUNTS:
        assert 0 < with_one[name] <= MOST_OF_A_SOLUTE * without[name], name


@pytest.mark.long
@pytest.mark.timed
@pytest.mark.skipif(not is_compiled(), reason="nothing is compiled here")
def test_a_solute_adds_no_half_to_the_time() -> None:
    cases = {"without": reference(), "with one": softening()}
    taken = interleaved({name: partial(simulate, case, PRESSURE) for name, case in cases.items()}, repeats=21)
    ratio = taken["with one"] / taken["without"]
    print(f"\na year with a solute: {1e3 * taken['with one']:.1f} ms, {ratio:.2f} times the same without")
    assert ratio <= MOST_OF_A_SOLUTE


def test_a_count_above_its_ceiling_is_an_error(capsys: pytest.CaptureFixture[str]) -> None:
    found = counts.measured("reference", "calendar")
    case = ("reference", "calendar")
    assert counts.exceeded({case: found}) == 0
    assert counts.exceeded({case: (found[0] - 1, *found[1:])}) == 1
    assert "!" in capsys.readouterr().out


def test_the_command_ends_by_what_the_gate_says(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(counts, "CASES", {"short": lambda: counts.reference(days=5.0)})
    for most, code in ((10_000, 0), (0, 1)):
        ceilings = {("short", "volume"): (most,) * len(COUNTS)}
        monkeypatch.setattr(bench, "exceeded", lambda ceilings=ceilings: counts.exceeded(ceilings))
        assert bench.main(["--counts"]) == code


def test_sides_take_turns(monkeypatch: pytest.MonkeyPatch) -> None:
    """Each once that does not count, once to see how often it fits into a turn, then three turns of one call."""
    monkeypatch.setattr("tests.bench.timing.LEAST", 0.0)
    order: list[str] = []
    taken = interleaved({name: lambda name=name: order.append(name) for name in "ab"}, repeats=3)
    assert "".join(order) == 5 * "ab"
    assert set(taken) == {"a", "b"}


def test_a_ratio_is_met_or_not() -> None:
    assert Row(what="", ratio=15.0, sides="", least=15).met
    assert "NOT MET" in str(Row(what="", ratio=14.9, sides="", least=15))
    assert Row(what="", ratio=0.1, sides="").met
