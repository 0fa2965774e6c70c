"""Display units, decimals, marks: exact values from the definitions of the units, and properties."""

import re
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sim.case.price.records import Prices
from sim.case.records import Assumption
from sim.plant.records import Figure
from sim.tell.kpis import GROUPS, KPIS
from sim.tell.present import UNITS, Row, applying, column, constant, in_currency, measured, row, rows, written
from tests.study.made import FIGURES, POLICIES, made_case, made_results

AMOUNTS = st.one_of(st.none(), st.integers(0, 10**7), st.floats(0.0, 1e7, allow_subnormal=False))


def read(text: str) -> float:
    """The number that a text shows; "<0.1" reads as 0.1."""
    return float(text.lstrip("<").replace(",", ""))


def step(text: str) -> float:
    """What the last digit of a text is worth: from 10,000 on the fourth figure."""
    value = read(text)
    if value < 1e4:
        return 10.0 ** -len(text.partition(".")[2])
    return 10.0 ** (int(f"{value:.3e}".partition("e")[2]) - 3)


@pytest.mark.parametrize(
    ("quantity", "value", "text"),
    [
        # 1 m3 = 264.172 gal, 1 lb = 0.45359237 kg exactly, 1 psi = 6.894757 kPa: NIST SP 811, appendix B.
        ("volume", 1.0, "264"),
        ("mass", 0.45359237, "1"),
        ("small mass", 0.0125, "12.5"),
        ("pressure", 6.894757, "1.00"),
        ("share", 0.125, "12.5"),
        ("hours", 2.5, "2.50"),
    ],
)
def test_us_units_follow_their_definitions(quantity: str, value: float, text: str) -> None:
    assert column([value], quantity, "us") == (text,)  # type: ignore[arg-type]


def test_si_shows_the_result_as_it_is() -> None:
    assert column([52.27, 89.6], "volume", "si") == ("52.3", "89.6")
    assert column([0.00021], "small mass", "si") == ("0.210",)


def test_a_row_shares_its_decimals() -> None:
    assert written([193.2, 0.0, 47.3]) == ("193", "0", "47")
    assert written([3.7333, 6.4]) == ("3.73", "6.40")
    assert written([5912.3, 0.5]) == ("5,912", "<1")


def test_a_column_of_unlike_amounts_shows_its_smallest() -> None:
    amounts = [371.337, 2.8333, 0.9, None, 0.0]
    assert column(amounts, "volume", "si", fine=True) == ("371.34", "2.83", "0.90", "-", "0")


def test_long_numbers_have_four_figures_and_are_equal_where_they_read_so() -> None:
    assert written([1_621_298.0, 12.0]) == ("1,621,000", "12")
    figures = [{"treated_m3": 11_599_074.0}, {"treated_m3": 11_599_073.0}]
    told = row(KPIS["treated_m3"], figures, "si")
    assert told.texts == ("11,600,000", "11,600,000")
    assert told.best == frozenset()


def test_minutes_and_counts_have_one_decimal_at_most() -> None:
    assert row(KPIS["dirty_water_min"], [{"dirty_water_min": 0.846}], "si").texts == ("0.8",)
    assert row(KPIS["cartridges_a_year"], [{"cartridges_a_year": 2.345}], "si").texts == ("2.3",)


def test_money_is_in_the_currency_of_the_case() -> None:
    figures = [each.site | {"cost": 812.0} for each in made_results()]
    groups = [[row(KPIS["cost"], figures, "si"), row(KPIS["drain_m3"], figures, "si")]]
    ((cost, drain),) = in_currency(groups, replace(made_case(), prices=Prices(currency="marls")))
    assert cost.label == "cost of a year by the case's prices, marls"
    assert drain.label == "water to drain, m3"


def test_what_does_not_apply_is_a_dash_and_nothing_small_reads_as_zero() -> None:
    assert written([None, 0.0, 1e-9, 8.5]) == ("-", "0", "<0.01", "8.50")
    assert written([None, None]) == ("-", "-")
    assert written([-1e-15]) == (">-0.001",)


@given(st.lists(AMOUNTS, min_size=1, max_size=6))
def test_text_is_within_half_its_last_digit(values: list[float | None]) -> None:
    for value, text in zip(values, written(values), strict=True):
        assert (value is None) == (text == "-")
        if value is not None:
            last_digit = step(text)
            assert abs(read(text) - value) <= (1.0 if text.startswith("<") else 0.5) * last_digit * (1 + 1e-9)
            assert (read(text) == 0.0) == (value == 0.0)


@given(st.lists(AMOUNTS, min_size=1, max_size=6), st.sampled_from(sorted(KPIS)))
def test_marks_are_on_the_best_and_only_there(values: list[Figure], key: str) -> None:
    kpi = KPIS[key]
    shown = row(kpi, [{key: value} for value in values], "si")
    known = [place for place, value in enumerate(values) if value is not None]
    texts = {shown.texts[place] for place in known}
    if kpi.better is None or len(texts) < 2:
        assert shown.best == shown.worst == frozenset()
        return
    choose, other = (min, max) if kpi.better == "less" else (max, min)
    best = choose(known, key=lambda place: values[place])
    worst = other(known, key=lambda place: values[place])
    assert shown.best == {place for place in known if shown.texts[place] == shown.texts[best]}
    assert shown.worst == {place for place in known if shown.texts[place] == shown.texts[worst]}
    assert best in shown.best
    assert not shown.best & shown.worst


@given(st.lists(st.floats(0.01, 1e6), min_size=2, max_size=5), st.sampled_from(["volume", "mass", "pressure"]))
def test_both_systems_show_the_same_amount(values: list[float], quantity: str) -> None:
    us, si = (column(values, quantity, system) for system in ("us", "si"))  # type: ignore[arg-type]
    factor = UNITS["us"][quantity].per_result_unit / UNITS["si"][quantity].per_result_unit  # type: ignore[index]
    for american, metric in zip(us, si, strict=True):
        assert abs(read(american) - read(metric) * factor) <= step(american) + step(metric) * factor


def test_a_policy_alone_is_never_called_best() -> None:
    (result, *_) = made_results()
    assert all(not each.best and not each.worst for group in rows([result], "si") for each in group)


def test_labels_name_the_unit_and_no_word_of_the_inside() -> None:
    labels = [each.label for group in rows(made_results(), "us") for each in group]
    assert "water to drain, gal" in labels
    assert "highest pressure drop, psi" in labels
    assert not any(re.search("breach|return|dp", label) for label in labels)


def test_rows_of_a_stage_that_apply_to_nobody_are_left_out() -> None:
    figures: dict[str, tuple[Figure, ...]] = FIGURES | {"unmet_m3": (None,) * len(POLICIES)}
    kept: list[Row] = [each for group in applying(rows(made_results(figures), "si", "filter")) for each in group]
    always = {kpi.key for group in GROUPS for kpi in group if kpi.shown == "always"}
    seen = {"mean_run_h", "unused_capacity", "unmet_by_washing_m3"}
    assert {each.kpi.key for each in kept} == (always - {"unmet_m3"}) | seen


def test_rows_of_a_train_are_there_only_where_some_policy_has_a_figure() -> None:
    def labels(**changed: tuple[Figure, ...]) -> list[str]:
        return [each.label for group in rows(made_results(FIGURES | changed), "us") for each in group]

    plain = labels()
    assert not any("unit" in label or "spike" in label for label in plain)
    more = labels(downstream_starves=(None, 0, 0, 0), early_triggers=(0, 0, 0, 3), bypass_kg=(0.0125, None, 0.0, 0.0))
    assert [label for label in more if label not in plain] == [
        "times that the unit starved", "solids in raw water sent on, g", "washes set off by a spike alone"
    ]  # fmt: skip


def test_assumed_constants_are_in_the_units_asked_for() -> None:
    """A g/m3 is a mg/L; the trade has grains in mm everywhere."""
    size = Assumption(key="stage.media.layer.0.size", value=1e-3, low=0.9e-3, high=1.4e-3, unit="m", source="-")
    assert constant(size, "si") == constant(size, "us") == ("mm", "1", "0.9", "1.4")
    assert measured(0.5e-3, "grain", "us") == measured(0.5e-3, "grain", "si")
    ratio = Assumption(
        key="feed.solids_per_turbidity", value=1.0, low=0.7, high=1.7, unit="g/m3 per NTU", source="-"
    )  # fmt: skip
    assert constant(ratio, "us") == constant(ratio, "si") == ("mg/L per NTU", "1", "0.7", "1.7")
