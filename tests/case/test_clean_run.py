"""Exact: a bed that a load meets after washes that left something in it."""

import math
from dataclasses import replace
from pathlib import Path

import pytest

from sim.case.stage.clean_run import CleanRun, Inflow
from tests.case.samples import NAME, added, load_text

PLAIN = 'ripening = "none"\nunfilterable = 0.1\nvelocity_exponent = 0'


def test_a_bed_with_half_its_room_left_captures_half_as_steeply(tmp_path: Path) -> None:
    """By hand: the same load, evenly left in the way, halves lambda and sigma_u: e^(-lambda L / 2) of it passes."""
    case = load_text(tmp_path, added((NAME, PLAIN)))
    (stage,) = case.stages
    (layer,) = stage.layers
    clean = CleanRun(stage=stage, flow=1e-3, temperature=15.0)
    left = replace(clean, left=(0.5 * layer.ultimate_deposit,))
    (halved,) = left.bed.layers
    assert halved.ultimate_deposit == 0.5 * layer.ultimate_deposit
    assert halved.filter_coefficients == tuple(0.5 * each for each in layer.filter_coefficients)
    inflow = Inflow(filterable=4.5, fine=0.5)
    share = clean.passing(inflow, 0.0) / 4.5
    assert left.passing(inflow, 0.0) == pytest.approx(4.5 * math.sqrt(share), rel=1e-12)
    assert {cell.deposit for cell in left.cells(0.0)} == {0.5 * layer.ultimate_deposit}
