"""The figure of a week: every step of a wash in its lane, in its own face, and nothing that is not met."""

from dataclasses import replace
from datetime import timedelta

import pytest
from matplotlib.figure import Figure
from matplotlib.patches import Rectangle

from plots.captions import minutes_of, week_alt, week_caption
from plots.inputs import WeekPicture
from plots.style import as_png, as_svg, house_style
from plots.week import FACES, MARKS, rounds_of, shown_dissolved, shown_rounds, shown_signals, week_figure
from tests.plots.made import STAGE, made_dissolved, made_week
from tests.plots.test_figures import texts


def drawn(week: WeekPicture) -> Figure:
    with house_style():
        figure = week_figure(week)
        as_svg(figure)
    return figure


def test_faces_differ_by_pattern_and_by_fill_not_by_colour_alone() -> None:
    looks = {(face["hatch"], face["facecolor"], face.get("linestyle")) for face in FACES.values()}
    assert len(looks) == len(FACES)
    assert len({mark["marker"] for mark in MARKS.values()}) == len(MARKS)


def test_no_hatch_has_dots_or_rings_each_of_which_is_a_path_of_its_own() -> None:
    assert not any(set(face["hatch"]) & set(".oO*") for face in FACES.values())


def test_what_is_dissolved_takes_the_place_of_signals_without_a_switch_and_is_hatched_over_its_limit() -> None:
    week = replace(made_week(vessels=(STAGE, "two", "three")), dissolved=made_dissolved(3))
    assert [each.name for each in shown_signals(week)] == [STAGE, "two"]
    figure = drawn(week)
    panels = {axes.get_title(loc="left"): axes for axes in figure.axes}
    soft = panels["softener 0, sent on: hardness, mg/L"]
    assert [each.get_hatch() for each in soft.collections] == ["//////"]
    marks = {str(line.get_marker()) for line in soft.lines}
    assert {MARKS["regenerated"]["marker"], MARKS["unrestored"]["marker"]} <= marks
    named = [text.get_text() for legend in figure.legends for text in legend.get_texts()]
    assert named[-2:] == ["regeneration", "regeneration that restored nothing"]
    assert "Signals are drawn for 2 of 3 vessels." in week_caption(week)
    assert "softener 2, sent on: hardness: at most 40 mg/L, regenerations: 2." in week_alt(week)


def test_of_much_that_is_dissolved_what_has_a_limit_is_drawn() -> None:
    week = replace(made_week(), dissolved=(*made_dissolved(3, limit=None), *made_dissolved(3)))
    shown = shown_dissolved(week)
    assert [each.limit for each in shown] == [None, 20.0, 20.0, 20.0]
    assert "Of what is dissolved, 4 of 6 are drawn." in week_caption(week)
    assert drawn(week).get_size_inches()[1] < 11.0


def test_every_step_is_a_bar_as_long_as_it_took() -> None:
    week = made_week()
    rounds = drawn(week).axes[-2:]
    for axes in rounds:
        bars = [patch for patch in axes.patches if isinstance(patch, Rectangle)]
        lengths = [round(bar.get_width() * 1440.0) for bar in bars if bar.get_y() < 1.5]
        assert lengths == [10] * 4
    unit = [patch for patch in rounds[0].patches if patch.get_y() > 1.5]  # type: ignore[attr-defined]
    assert [(round(bar.get_width() * 1440.0), bar.get_hatch()) for bar in unit] == [  # type: ignore[attr-defined]
        (15, FACES["held"]["hatch"]), (5, FACES["raw"]["hatch"]), (3, ""),
    ]  # fmt: skip


def test_the_legend_names_what_is_met_and_nothing_else() -> None:
    figure = drawn(made_week())
    (legend,) = figure.legends
    named = [text.get_text() for text in legend.get_texts()]
    assert named == [
        "backwash", "rinse", "unit held while washing", "raw water sent on while washing", "unit starved of water",
        "when raw water went on", "when the unit starved", "wash set off by a spike alone",
        "set point passed without a wash",
    ]  # fmt: skip
    quiet = drawn(made_week(unit=False))
    assert not any("unit" in text.get_text() for legend in quiet.legends for text in legend.get_texts())


def test_a_week_without_a_wash_or_a_tank_is_drawn_too() -> None:
    week = made_week(rounds=0, unit=False)
    assert len(drawn(week).axes) == 1 + len(week.signals)
    assert week_caption(week) == "The whole week; nothing is washed in it."
    assert "none" in week_alt(week)


def test_rounds_are_washes_close_to_each_other_and_the_telling_ones_are_enlarged() -> None:
    week = made_week(rounds=6)
    rounds = rounds_of(week.washes)
    assert [each.end - each.start for each in rounds] == [timedelta(minutes=40)] * 6
    assert len(shown_rounds(week)) == 4
    assert rounds[0] in shown_rounds(week)  # the one with raw water and a starving unit
    assert "4 of 6 rounds" in week_caption(week)


def test_of_many_vessels_those_with_a_switch_keep_their_signal() -> None:
    week = made_week(vessels=(*(f"v {place}" for place in range(7)), STAGE))
    assert len(shown_signals(week)) == 5
    assert week.signals[0] in shown_signals(week)
    assert "Signals are drawn for 5 of 8 vessels." in week_caption(week)


@pytest.mark.parametrize("vessels", [1, pytest.param(8, marks=pytest.mark.long)])
def test_it_fits_on_a_page_and_the_bytes_repeat(vessels: int) -> None:
    week = made_week(rounds=7, vessels=tuple(f"stage {place}" for place in range(vessels)))
    with house_style():
        first, second = (as_png(week_figure(week)) for _ in range(2))
        assert week_figure(week).get_size_inches()[1] < 11.0
    assert first == second


def test_what_is_said_in_its_place_has_the_minutes() -> None:
    week = made_week()
    said = week_alt(week)
    assert minutes_of(week.raw) == 5.0
    for told in ("held while washing: 15 min", "raw water sent on while washing: 5 min", "starved of water: 3 min"):
        assert told in said
    assert "m³" in " ".join(texts(as_svg_of(week)))


def as_svg_of(week: WeekPicture) -> str:
    with house_style():
        return as_svg(week_figure(week))
