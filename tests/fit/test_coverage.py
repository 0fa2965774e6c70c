"""The bench of fits in small, and what its figures would be by chance."""

import pytest
from scipy.stats import binom

from sim.fit.records import Constant
from tests.fit.coverage import FIRST_SEED, Outcome, Told, by_chance, outcomes, table

IN_CI = 10


def test_what_chance_alone_would_miss() -> None:
    """Of two intervals that hold in 95 of 100 both do in 0.9025."""
    assert by_chance(1, 1) == pytest.approx(0.05)
    assert by_chance(2, 2) == pytest.approx(1.0 - 0.9025)
    assert by_chance(100, 88) < 0.002


def test_the_table_counts_what_was_said() -> None:
    def told(constant: Constant, identifiable: bool, covers: bool | None, hidden: bool = False) -> Told:
        return Told(constant=constant, identifiable=identifiable, covers=covers, hidden=hidden)

    found = [
        Outcome(1, 1.0, "linear", "linear", (told(Constant.GROWTH, True, True), told(Constant.VALVE, True, False))),
        Outcome(2, 1.0, "linear", None, (told(Constant.GROWTH, True, None), told(Constant.VALVE, False, True, True))),
        Outcome(3, 1.0, "linear", "pore-narrowing", (told(Constant.VALVE, True, True, True),)),
    ]
    text = table(found)
    assert "| growth | 1 of 2 | 1 |" in text
    assert "| valve | 2 of 3 | 1 |" in text
    assert "All intervals: 2 of 3" in text
    assert "called so 1 of 2" in text
    assert "right 1, wrong 1, undecided 1" in text


@pytest.mark.long
def test_ten_logs_are_told_as_well_as_a_hundred() -> None:
    """What the bench needs of a hundred, with room for chance: fewer would come once in a thousand."""
    found = list(outcomes(range(FIRST_SEED, FIRST_SEED + IN_CI)))
    told = [each for one in found for each in one.told]
    said = [each for each in told if each.identifiable and each.covers is not None]
    hidden = [each for each in told if each.hidden]
    assert len(said) > 3 * IN_CI
    assert sum(bool(each.covers) for each in said) >= binom.ppf(0.001, len(said), 0.88)
    assert sum(not each.identifiable for each in hidden) >= binom.ppf(0.001, len(hidden), 0.95)
    assert sum(one.decided not in (None, one.law) for one in found) <= binom.ppf(0.999, IN_CI, 0.1)
