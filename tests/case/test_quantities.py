"""Exact: the table of quantities is whole, and its conversions are those of the definitions."""

from typing import get_args

import pytest

from sim.case.quantities import QUANTITIES, Quantity, System, constant_quantity


def test_every_quantity_is_in_the_table_with_units_of_its_kind() -> None:
    assert set(QUANTITIES) == set(get_args(Quantity))
    for each in QUANTITIES.values():
        assert {each.si, each.us, each.si if each.figure is None else each.figure} <= set(each.kind.units)


@pytest.mark.parametrize(
    ("quantity", "system", "value", "shown"),
    [
        ("volume", "us", 3.785411784, 1000.0),  # US gallon: 231 cubic inches, 3.785411784 L
        ("pressure", "us", 6894.757293168361, 1.0),  # psi: NIST SP 811, appendix B.8
        ("rate", "us", 1.0 / 3600.0, 0.409040),  # 1 m/h in gpm/ft2, by hand: 1 / 2.44475
        ("flow", "si", 1.0 / 3600.0, 1.0),
        ("temperature", "us", 100.0, 212.0),
        ("temperature swing", "us", 10.0, 18.0),
        ("share", "si", 0.25, 25.0),
        ("speed", "us", 0.3048, 1.0),
        ("hardness", "us", 171.1806, 10.0),  # grains of 64.79891 mg in a US gallon
        ("hardness capacity", "us", 45.76704e3, 20.0),  # kilograins in a cubic foot
        ("media dose", "us", 96.11078e3, 6.0),  # pounds of 453.59237 g in a cubic foot of 0.3048 m
        ("oxidant capacity", "si", 33.0, 33.0),
        ("dissolved", "us", 2.0, 2.0),
    ],
)
def test_a_value_is_shown_by_the_definition_of_its_unit(
    quantity: Quantity, system: System, value: float, shown: float
) -> None:
    assert QUANTITIES[quantity].shown(value, system) == pytest.approx(shown, rel=1e-5)


@pytest.mark.parametrize("quantity", list(get_args(Quantity)))
@pytest.mark.parametrize("system", ["si", "us"])
def test_a_unit_goes_both_ways(quantity: Quantity, system: System) -> None:
    unit = QUANTITIES[quantity].unit(system)
    assert unit.from_si(unit.to_si(12.5)) == pytest.approx(12.5, rel=1e-12)


def test_what_a_run_holds_in_other_units_than_si() -> None:
    """Its keys say h, min, kg and kPa; a share is a share of one, a small mass is kg."""
    factors = {name: each.per_figure("si") for name, each in QUANTITIES.items() if each.per_figure("si") != 1.0}
    assert factors == {"share": 100.0, "small mass": 1000.0}


def test_a_constant_is_known_by_its_name_before_its_unit() -> None:
    assert constant_quantity("stage.a.layer.0.size", "m") == "grain"
    assert constant_quantity("stage.a.layer.0.ultimate_deposit", "g/m3") == "deposit"
    assert constant_quantity("stage.a.head_loss.exponent", "-") is None
    assert constant_quantity("stage.a.layer.0.half_length", "m") == "gap"
    assert constant_quantity("stage.a.layer.0.capacity", "eq/m3") == "oxidant capacity"
    assert constant_quantity("stage.a.layer.0.leakage", "-") == "share"
