"""A whole filter: the pressure-filter example of UFC 3-280-04, Army Filtration of Liquids (2003), Appendix B.

Printed: 30 gpm at 50 mg/L and 2.5 gpm/ft2 make a 48 in vessel of 12.57 ft2, 18.0 lb/d of solids, 1.43 lb/ft2/d or
7.00 kg/m2/d, up to two backwashes a day of 15 gpm/ft2 for 10 min, 1885 gal or 7140 L each. Its clean bed of 0.5 psi
is not asserted: no grain sizes come with it, and the catalogue's give 0.19 psi.
"""

from pathlib import Path

import pytest

from sim.case.load import load_case
from sim.plant.simulate import simulate
from sim.review.findings import FindingName
from sim.review.review import review

POUND, GALLON, FOOT = 0.45359237, 3.785411784e-3, 0.3048
CASE = Path(__file__).with_name("pressure_filter.toml")


def test_the_published_pressure_filter() -> None:
    case = load_case(CASE)
    result = simulate(case, "twice a day")
    area = case.stages[0].vessel.area
    assert area / FOOT**2 == pytest.approx(12.57, abs=0.005)
    assert result.site["washes"] == 2 * 10
    backwashes = [entry.volume_m3 for entry in result.log if entry.what == "backwash ends"]
    assert len(backwashes) == 2 * 10
    for each in backwashes:
        assert each is not None
        assert each / GALLON == pytest.approx(1885.0, abs=0.5)
        assert each * 1000.0 == pytest.approx(7140.0, abs=5.0)
    solids, offline = result.site["solids_in_kg"], result.site["downtime_h"]
    assert solids is not None
    assert offline is not None
    a_day = solids / (240.0 - offline) * 24.0  # of running
    assert a_day / POUND == pytest.approx(18.0, abs=0.05)
    assert a_day / POUND / (area / FOOT**2) == pytest.approx(1.43, abs=0.005)
    assert a_day / area == pytest.approx(7.00, abs=0.01)


def test_the_review_takes_the_published_design_as_usual() -> None:
    """2.5 gpm/ft2 asked and 2.39 on the vessel chosen, 0.76 m of media, 15 gpm/ft2 for 10 min: 150 gal/ft2."""
    findings = {finding.name: finding for finding in review(load_case(CASE))}
    checks: tuple[tuple[FindingName, float], ...]
    checks = (
        ("filtration_rate", 30.0 / 12.57 * GALLON / 60.0 / FOOT**2),
        ("bed_depth", 0.76),
        ("backwash_rate", 15.0 * GALLON / 60.0 / FOOT**2),
        ("backwash_volume", 150.0 * GALLON / FOOT**2),
    )
    for what, printed in checks:
        assert findings[what].level == "fine", what
        assert findings[what].value == pytest.approx(printed, rel=1e-3), what
