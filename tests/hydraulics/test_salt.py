"""Property: salt restores less and less, never beyond its table or stoichiometry, and nothing without salt."""

import math

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from hydraulics.errors import DomainError
from hydraulics.media import RESIN_TABLES
from hydraulics.salt import capacity_at, dose_for, is_concave, regenerated
from hydraulics.stoichiometry import SALT_PER_HARDNESS

ROUNDING = 1e-9
steps = st.lists(
    st.tuples(st.floats(1e3, 1e5), st.floats(0.0, 1.2)), min_size=1, max_size=5
)  # g/m3 of salt, and g of hardness for each gram of it: some above what is possible


@st.composite
def tables(draw):
    """Concave tables of one to five points, some of them above the ceiling, some with level ends."""
    drawn = draw(steps)
    slopes = sorted((slope for _, slope in drawn), reverse=True)
    assume(slopes[0] > 0.01)
    doses, capacities, dose, capacity = [], [], 0.0, 0.0
    for (more, _), slope in zip(drawn, slopes, strict=True):
        dose, capacity = dose + more, capacity + slope * more
        doses.append(dose)
        capacities.append(capacity)
    return tuple(doses), tuple(capacities)


amounts = st.floats(0.0, 5e5)
shares = st.floats(0.0, 1.0)


@given(tables())
def test_drawn_tables_are_concave(table):
    assert is_concave(*table)


@given(tables(), amounts, amounts)
def test_capacity_rises_with_the_dose_below_table_and_ceiling(table, dose, more):
    low, high = capacity_at(dose, *table), capacity_at(dose + more, *table)
    assert 0.0 <= low <= high * (1.0 + ROUNDING)
    assert high <= table[1][-1]
    assert low <= dose / SALT_PER_HARDNESS


@given(tables(), shares)
def test_the_dose_for_a_capacity_is_the_least_that_restores_it(table, share):
    capacity = share * table[1][-1]
    dose = dose_for(capacity, *table)
    assert capacity_at(dose, *table) == pytest.approx(capacity, rel=1e-9, abs=1e-6)
    assert dose >= capacity * SALT_PER_HARDNESS
    if capacity > 1e-3:
        assert capacity_at(0.999 * dose, *table) < capacity


@given(tables(), shares)
def test_no_salt_restores_nothing(table, share):
    free = share * table[1][-1]
    assert regenerated(free, 0.0, *table) == free


@given(tables(), st.floats(1.0, 5e5))
def test_salting_twice_restores_more_than_once_and_less_than_twice_as_much(table, salt):
    once = regenerated(0.0, salt, *table)
    twice = regenerated(once, salt, *table)
    assert once == capacity_at(salt, *table)
    assert once <= twice <= 2.0 * once * (1.0 + ROUNDING)
    assert twice <= table[1][-1]
    if 2.0 * salt < table[0][-1] and capacity_at(2.0 * salt, *table) > once:
        assert twice > once


@given(tables(), shares, amounts, amounts)
def test_salt_in_two_lots_does_what_it_does_at_once(table, share, first, second):
    free = share * table[1][-1]
    in_two = regenerated(regenerated(free, first, *table), second, *table)
    at_once = regenerated(free, first + second, *table)
    top = 1.0 - ROUNDING
    if regenerated(free, first, *table) < top * table[1][-1]:
        assert in_two == pytest.approx(at_once, rel=1e-7)
    else:  # beyond the last point the salt of the first lot is forgotten, and the second restores what is left
        assert in_two == pytest.approx(table[1][-1], rel=1e-7)


@given(tables(), shares, shares, st.floats(1.0, 5e5))
def test_a_bed_with_more_left_gains_less_and_never_more_than_stoichiometry(table, one, other, salt):
    less, more = (share * table[1][-1] for share in sorted((one, other)))
    gain_of_less = regenerated(less, salt, *table) - less
    gain_of_more = regenerated(more, salt, *table) - more
    rounding = ROUNDING * table[1][-1]
    assert 0.0 <= gain_of_more <= gain_of_less + rounding
    assert gain_of_less <= salt / SALT_PER_HARDNESS + rounding


@pytest.mark.parametrize("table", RESIN_TABLES.values(), ids=RESIN_TABLES)
def test_salt_on_a_fresh_bed_is_wasted(table):
    """By hand: after 6 lb/ft3 another 6 bring 27 - 20 = 7 kgr/ft3, a good third of what they bring to a spent bed."""
    doses, capacities = table.doses, table.capacities
    again = regenerated(capacities[0], doses[0], doses, capacities) - capacities[0]
    assert again == pytest.approx(7.0 / 20.0 * capacities[0], rel=1e-12)
    assert regenerated(2.0 * capacities[-1], doses[0], doses, capacities) == 2.0 * capacities[-1]


def test_beyond_the_last_point_only_the_ceiling_moves():
    """By hand: a table of 1 g a gram is cut to 1 / 1.1678 until its last capacity is reached."""
    table = (1000.0,), (1000.0,)
    assert capacity_at(1000.0, *table) == 1000.0 / SALT_PER_HARDNESS
    assert capacity_at(1100.0, *table) == 1100.0 / SALT_PER_HARDNESS
    assert capacity_at(2000.0, *table) == 1000.0
    assert dose_for(1000.0, *table) == 1000.0 * SALT_PER_HARDNESS


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: capacity_at(-1.0, (1.0,), (0.5,)), "dose of salt: given -1 g/m3"),
        (lambda: capacity_at(math.nan, (1.0,), (0.5,)), "dose of salt: given nan g/m3"),
        (lambda: capacity_at(1.0, (), ()), "salt table: given 0 doses, 0 capacities"),
        (lambda: capacity_at(1.0, (1.0, 2.0), (0.5,)), "salt table: given 2 doses, 1 capacities"),
        (lambda: capacity_at(1.0, (0.0,), (0.5,)), "dose of salt: given 0 g/m3 after 0"),
        (lambda: capacity_at(1.0, (2.0, 1.0), (0.5, 0.6)), "dose of salt: given 1 g/m3 after 2"),
        (lambda: capacity_at(1.0, (1.0, 2.0), (0.5, 0.4)), "capacity: given 0.4 g/m3 after 0.5"),
        (lambda: capacity_at(1.0, (1.0,), (0.0,)), "capacity: given 0 g/m3 after 0"),
        (lambda: is_concave((1.0,), (-1.0,)), "capacity: given -1 g/m3 after 0"),
        (lambda: dose_for(0.6, (1.0,), (0.5,)), "capacity: given 0.6 g/m3, allowed 0 to 0.5 g/m3"),
        (lambda: dose_for(-0.1, (1.0,), (0.5,)), "capacity: given -0.1 g/m3"),
        (lambda: regenerated(-0.1, 1.0, (1.0,), (0.5,)), "free capacity: given -0.1 g/m3"),
        (lambda: regenerated(0.1, -1.0, (1.0,), (0.5,)), "salt: given -1 g/m3"),
    ],
)
def test_what_no_table_or_salt_can_be_is_refused(call, message):
    with pytest.raises(DomainError, match=message):
        call()
