"""Figures of a sweep: what they say, that nothing is told by colour alone, that names do not cover each other."""

import math
from itertools import pairwise

import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from plots.inputs import Axis, Measure, Swept
from plots.style import house_style, look
from plots.swept import apart, files_of, swept_figure
from tests.plots.made import POLICIES
from tests.plots.test_figures import texts

MINUTES = Axis(name="stage.=1+1.step.rinse.minutes", unit="", texts=("8", "0", "2"), numbers=(8.0, 0.0, 2.0))
LAWS = Axis(name="stage.a.head_loss.law", unit="", texts=("ergun", "carman-kozeny"), numbers=None)


def made_swept(axes: tuple[Axis, ...], *, missing: bool = False) -> Swept:
    """Figures that count up from 1 in the order of the runs."""
    points = math.prod(len(axis.texts) for axis in axes)
    values = [float(place + 1) for place in range(points * len(POLICIES))]
    table = pd.DataFrame({"policy": POLICIES * points, "value": values, "text": [f"{value:g}" for value in values]})
    if missing:
        table.loc[0, ["value", "text"]] = (math.nan, "-")
    return Swept(name="sweep_drain_m3", measure=Measure("water to drain", "m3"), axes=axes, policies=POLICIES,
                 places=(0, 1, 2, 3), table=table)  # fmt: skip


def test_curves_are_sorted_named_and_told_apart_without_colour() -> None:
    with house_style():
        figure = swept_figure(made_swept((MINUTES,)))
    (axes,) = figure.axes
    lines = {line.get_label(): line for line in axes.get_lines() if not str(line.get_label()).startswith("_")}
    assert list(lines) == list(POLICIES)
    for place, line in enumerate(lines.values()):
        assert list(line.get_xdata()) == [0.0, 2.0, 8.0]
        # Runs go point by point: of the values 8, 0, 2 the second point has 5 to 8, the third 9 to 12.
        assert list(line.get_ydata()) == [place + 5, place + 9, place + 1]
        assert line.get_marker() == look(place).marker
    assert len({str(look(place).dash) for place in range(len(POLICIES))}) == len(POLICIES)
    assert (axes.get_title(loc="left"), axes.get_xlabel()) == ("water to drain, m³", MINUTES.name)
    said = " ".join(text.get_text().replace("\n", " ") for text in axes.texts)
    assert all(policy in said for policy in POLICIES)


def test_words_stand_at_even_places_in_the_order_given() -> None:
    with house_style():
        figure = swept_figure(made_swept((LAWS,)))
    (axes,) = figure.axes
    assert [text.get_text() for text in axes.get_xticklabels()] == ["ergun", "carman-kozeny"]


def test_a_map_has_a_panel_for_each_policy_and_every_number() -> None:
    made = files_of([made_swept((MINUTES, LAWS), missing=True)], png=True)
    assert set(made) == {"sweep_drain_m3.svg", "sweep_drain_m3.png"}
    svg = made["sweep_drain_m3.svg"]
    assert isinstance(svg, str)
    said = texts(svg)
    for words_shown in (*POLICIES, *(f"{value}" for value in range(2, 25)), "-", "water to drain, m³", LAWS.name):
        assert words_shown in said
    assert said.count("carman-kozeny") == len(POLICIES)
    assert "does not apply" in " ".join(said)


def test_the_same_input_gives_the_same_bytes_and_a_figure_that_never_applies_is_drawn() -> None:
    swept = made_swept((MINUTES,))
    assert files_of([swept]) == files_of([swept])
    swept.table["value"] = math.nan
    assert files_of([swept])
    both = made_swept((MINUTES, LAWS))
    both.table["value"] = math.nan
    assert files_of([both])


@pytest.mark.parametrize("count", [1, 5])
def test_one_value_alone_is_a_point(count: int) -> None:
    axis = Axis(name="title", unit="", texts=("a",), numbers=None)
    assert len(files_of([made_swept((axis,) * min(count, 2))])) == 1


@given(st.lists(st.floats(0.0, 100.0), min_size=1, max_size=10), st.lists(st.booleans(), min_size=10, max_size=10))
def test_names_keep_apart_in_the_order_of_their_lines(wanted: list[float], long: list[bool]) -> None:
    names = ["two\nlines" if each else "one" for each in long[: len(wanted)]]
    found = apart(wanted, names, 4.0, 0.0)
    order = sorted(range(len(wanted)), key=lambda place: (found[place], wanted[place]))
    assert [wanted[place] for place in order] == sorted(wanted)
    assert min(found) >= 0.0
    for one, other in pairwise(order):
        needed = 2.0 * (names[one].count("\n") + names[other].count("\n") + 2)
        assert found[other] - found[one] >= needed - 1e-9
