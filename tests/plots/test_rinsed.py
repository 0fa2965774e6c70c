"""The figure of one wash: its jars, its curve and its vessels, on a wide and on a narrow screen."""

import math
from dataclasses import replace

import pandas as pd
import pytest
from matplotlib.colors import to_rgba
from matplotlib.figure import Figure

from plots.decision import bars_figure
from plots.decision_inputs import StackedBars
from plots.inputs import Measure, Rinsed, Section
from plots.one import show_rinsed
from plots.rinsed import SPECKS, draw_specks, muddiness, rinsed_figure
from plots.style import BEFORE, NARROW, WIDTH, house_style
from plots.words import Amount, Term


def section(name: str, water: float) -> Section:
    return Section(
        when=Term(name),
        slices=pd.DataFrame({"top": [0.0, 0.25], "bottom": [0.25, 0.5], "deposit": [4.0, 1.0]}),
        layers=pd.DataFrame({"medium": ["sand"], "top": [0.0], "bottom": [0.5]}),
        above=0.6,
        water=water,
        water_holds=Amount(f"{water:g} NTU"),
        bed_holds=Amount("1 kg"),
    )


def made_rinsed(*, limit: float | None = 0.5) -> Rinsed:
    jars = pd.DataFrame({"minutes": [1.0, 4.0, 30.0], "solids": [20.0, 3.0, math.nan], "text": ["20", "3.0", "-"]})
    return Rinsed(
        stage="sand",
        jars=jars,
        outlet=pd.DataFrame({"minutes": [0.5, 1.0, 4.0, 8.0], "solids": [22.0, 20.0, 3.0, 0.4]}),
        solids=Measure("filtered turbidity", "NTU"),
        limit=limit,
        sections=(section("before the wash", 4.0), section("back in service", 20.0)),
    )


def texts(figure: Figure) -> list[str]:
    return [text.get_text() for axes in figure.axes for text in axes.texts]


@pytest.mark.parametrize("narrow", [False, True])
def test_every_number_stands_in_the_figure(narrow: bool) -> None:
    with house_style():
        figure = rinsed_figure(made_rinsed(), narrow=narrow)
    told = texts(figure)
    for expected in ("20", "3.0", "no flow", "limit\n0.5", "water: 4 NTU", "water: 20 NTU", "bed holds 1 kg", "sand"):
        assert expected in told
    assert figure.get_size_inches()[0] == (NARROW if narrow else WIDTH)
    assert len(figure.axes) == 3


def test_there_is_no_line_without_a_limit() -> None:
    with house_style():
        assert not any("limit" in each for each in texts(rinsed_figure(made_rinsed(limit=None))))


def test_what_stood_before_is_grey_and_on_the_same_scale() -> None:
    """It reads 44 where the water now reads 22 at most: the scale holds it, and no less than it is told to hold."""
    before = made_rinsed().outlet.assign(solids=lambda each: 2.0 * each["solids"])
    with house_style():
        curve = rinsed_figure(replace(made_rinsed(), earlier=before)).axes[1]
        held = rinsed_figure(replace(made_rinsed(), top=90.0)).axes[1]
    grey = [line for line in curve.lines if line.get_color() == BEFORE]
    assert [max(line.get_ydata()) for line in grey] == [44.0]
    assert curve.get_ylim()[1] > 44.0
    assert held.get_ylim()[1] > 90.0
    assert not [line for line in held.lines if line.get_color() == BEFORE]


def test_bars_keep_how_long_they_were_in_grey() -> None:
    now = StackedBars(
        measure=Measure("cost", "shells"), bars=("a", "b"), parts=("water", "labour"),
        values=((3.0, 1.0), (2.0, 2.0)), texts=("4", "4"), ends=(None, None),
    )  # fmt: skip
    earlier = replace(now, bars=("b", "c"), values=((5.0, 2.0), (1.0, 1.0)))
    with house_style():
        drawn, other = (bars_figure(now, earlier=each).axes[0]
                        for each in (earlier, replace(earlier, measure=Measure("water", "m3"))))  # fmt: skip
    grey = to_rgba(BEFORE)
    assert [bar.get_width() for bar in drawn.patches if bar.get_facecolor() == grey] == [7.0]
    assert drawn.get_xlim()[1] > 7.0
    assert not [bar for bar in other.patches if bar.get_facecolor() == grey]


def test_dirtier_water_never_looks_clearer() -> None:
    levels = [muddiness(solids) for solids in (0.0, 0.1, 0.2, 0.5, 1.0, 5.0, 20.0, 60.0, 500.0)]
    assert levels == sorted(levels)
    assert (levels[0], levels[2], levels[-1]) == (0.0, 0.0, 1.0)
    assert muddiness(math.nan) == 0.0


def test_specks_lie_in_their_box_and_are_the_more_the_dirtier() -> None:
    counts = []
    for solids in (0.1, 2.0, 20.0, 100.0):
        axes = Figure().subplots()
        draw_specks(axes, 2.0, -1.0, 0.5, 3.0, solids)
        x, y = (axis.tolist() for axis in axes.lines[0].get_data())
        assert all(2.0 < each < 2.5 for each in x)
        assert all(-1.0 < each < 2.0 for each in y)
        counts.append(len(x))
    assert counts == sorted(counts)
    assert (counts[0], counts[-1]) == (0, SPECKS)


def test_what_is_shown_says_the_same_in_words_and_repeats_to_the_byte() -> None:
    one, other = (show_rinsed(made_rinsed(), narrow=True) for _ in range(2))
    assert one == other
    assert "After 1 min: 20." in one.alt
    assert "The vessel back in service: 20 NTU in its water, 1 kg in its bed." in one.alt
    assert one.svg.startswith("<?xml")
