"""A step of 0 minutes is left out of the wash, as if the file did not have it."""

from pathlib import Path

import pytest

from sim.case.load import load_case
from sim.errors import CaseError

REFERENCE = Path(__file__).parents[2] / "cases" / "reference.toml"
RINSE = "stage.filter.step.rinse.minutes"
BACKWASH = "stage.filter.step.backwash.minutes"


def test_a_rinse_of_no_minutes_is_no_step(tmp_path: Path) -> None:
    text = REFERENCE.read_text(encoding="utf-8")
    without = text.replace('[[stage.step]]\ndo = "rinse"\nminutes = 6\nflow = "9 m3/h"\n', "")
    assert without != text
    (tmp_path / "without.toml").write_text(without, encoding="utf-8")
    zero = load_case(REFERENCE, {RINSE: 0})
    assert [step.do for step in zero.stages[0].steps] == ["backwash"]
    assert zero.stages == load_case(tmp_path / "without.toml").stages


def test_zero_may_have_a_point_but_is_no_flag_and_no_text() -> None:
    assert load_case(REFERENCE, {RINSE: 0.0}).stages == load_case(REFERENCE, {RINSE: 0}).stages
    for wrong in (False, "0", -1, 0.05):
        with pytest.raises(CaseError, match=r"from 0\.1 to 1440, or 0, which leaves the step out"):
            load_case(REFERENCE, {RINSE: wrong})


def test_the_last_backwash_cannot_be_left_out() -> None:
    with pytest.raises(CaseError, match="at least one backwash step of more than 0 minutes"):
        load_case(REFERENCE, {BACKWASH: 0})


def test_a_backwash_left_out_has_no_constants(tmp_path: Path) -> None:
    """One without an effective rate would ask for loose and firm rates."""
    text = REFERENCE.read_text(encoding="utf-8")
    second = '[[stage.step]]\ndo = "backwash"\nminutes = 0\nflow = "9 m3/h"\n'
    (tmp_path / "two.toml").write_text(text.replace('[policy."calendar"', f'{second}[policy."calendar"', 1))
    assert load_case(tmp_path / "two.toml").assumptions == load_case(REFERENCE).assumptions
