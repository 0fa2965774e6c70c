"""Bands against their sources in the sources' own units, converted by hand; figures at the edge of a band."""

from dataclasses import replace

import pytest

from sim.case.train.records import HoldUnit
from sim.review import bands
from sim.review.findings import Band, Finding, judged
from tests.plant.builders import MINUTE
from tests.review.made import COAL, FINE_SAND, STAGE, WASH, all_of, carbon, fed, good, stage, with_stage
from tests.review.test_train import AREA, found, value

PSI, INCH, GPM_FT2 = 6894.757, 0.0254, 6.790972e-4  # Pa, m, m/s (NIST SP 811, appendix B.8)


def test_pressure_filters_are_as_their_handbook_has_them() -> None:
    """MIL-HDBK-1005/9A: 2 to 4 psi clean, 8 to 12 psi before a wash, 24 to 36 in of bed, 15 to 20 gpm/ft2."""
    assert (bands.CLEAN_PRESSURE.low, bands.CLEAN_PRESSURE.high) == pytest.approx((2 * PSI, 4 * PSI), rel=1e-6)
    assert (bands.LOADED_PRESSURE.low, bands.LOADED_PRESSURE.high) == pytest.approx((8 * PSI, 12 * PSI), rel=1e-6)
    assert (bands.BED_DEPTH.low, bands.BED_DEPTH.high) == pytest.approx((24 * INCH, 36 * INCH), rel=1e-9)
    for layers in ((COAL,), (COAL, FINE_SAND)):
        rate = bands.usual(stage(layers=layers)).backwash_rate
        assert (rate.low, rate.high) == pytest.approx((15 * GPM_FT2, 20 * GPM_FT2), rel=1e-6)


@pytest.mark.parametrize(
    ("medium", "backwash", "rate", "expansion"),
    [
        ("carbon", (8.0, 18.0), (5.0, 25.0), (0.2, 0.5)),  # all from memory
        ("oxidising media", (8.0, 20.0), (5.0, 15.0), (0.2, 0.5)),  # backwash: Wisconsin NR 811.52
        ("resin", (6.0, 8.0), (8.0, 40.0), (0.4, 0.8)),  # backwash: MIL-HDBK-1164, UFC 3-240-13FN
    ],
)
def test_other_media_have_bands_of_their_own(
    medium: str, backwash: tuple[float, ...], rate: tuple[float, ...], expansion: tuple[float, ...]
) -> None:
    """Backwash in gpm/ft2, rates in m/h, expansion as a share."""
    one = stage(layers=(replace(COAL, medium=medium),))
    filtered, washed, lifted = bands.usual(one)
    assert (washed.low, washed.high) == pytest.approx([each * GPM_FT2 for each in backwash], rel=1e-6)
    assert (filtered.low, filtered.high) == pytest.approx([each / 3600.0 for each in rate])
    assert (lifted.low, lifted.high) == expansion


def test_two_solids_media_are_another_bed_than_one() -> None:
    """Davis (2010), Table 11-10: 10 to 25 m/h for several media; 5 to 15 m/h for one, from memory."""
    several, one = (bands.usual(each).filtration_rate for each in (STAGE, stage(layers=(COAL,))))
    assert (several.low, several.high) == pytest.approx((10 / 3600.0, 25 / 3600.0))
    assert (one.low, one.high) == pytest.approx((5 / 3600.0, 15 / 3600.0))


def test_times_are_in_seconds() -> None:
    """Two minutes of contact, five of settling, 14 days of a cartridge; all from memory."""
    assert (bands.CARBON_CONTACT.low, bands.SETTLE_TIME.high) == (120.0, 300.0)
    assert bands.CARTRIDGE_LASTS.low == 1_209_600.0


def test_a_figure_at_the_edge_of_its_band_is_within_it() -> None:
    edges = [judged("run_loading", STAGE, at, "share", Band(low=1.0, high=2.0), above=None, goal=True)
             for at in (1.0, 2.0, 2.1)]  # fmt: skip
    assert [(each.level, each.band.side(value(each))) for each in edges] == [
        ("fine", None), ("fine", None), ("fine", "above"),
    ]  # fmt: skip


def finest(flow: float) -> Finding:
    wash = replace(WASH, flow=flow)
    return found(with_stage(steps=(wash, *STAGE.steps[1:])), "finest_grains")


def test_a_wash_at_twice_the_settling_of_the_finest_grains_stops() -> None:
    terminal = finest(WASH.flow).band.high
    assert terminal is not None
    assert finest(0.99 * terminal * AREA).level == "fine"
    assert finest(1.98 * terminal * AREA).level == "look"
    assert finest(2.0 * terminal * AREA * (1.0 + 1e-12)).level == "stop"
    assert value(finest(1.5 * terminal * AREA)) == pytest.approx(1.5 * terminal)


def test_what_is_held_of_a_wash_is_held_against_the_run_of_the_unit() -> None:
    """The 10 min of its backwash and 5 more."""
    part = stage(hold_unit=HoldUnit(end=0, plus=5 * MINUTE))
    assert value(found(fed(stage_=part), "hold_against_run")) == pytest.approx(15 * MINUTE)


def test_a_heavy_layer_above_a_light_one_changes_places_altogether() -> None:
    """By hand: all of both layers, whatever their heights; one layer alone has nothing to mix with."""
    wrong = good(stages=(stage(layers=(replace(FINE_SAND, depth=0.3), COAL)),))
    (mixed,) = {value(each) for each in all_of(wrong, "mixing")}
    assert mixed == pytest.approx(1.0)
    assert not all_of(good(stages=(carbon(),)), "mixing")
