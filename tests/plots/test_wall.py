"""Figures for a wall: one message, large type, cautions at the foot, nothing told by colour alone."""

from dataclasses import replace
from functools import cache

import pandas as pd
import pytest
from matplotlib.text import Text

from plots.inputs import Measure
from plots.wall import wall_figure, wall_files, wall_style
from plots.wall_bed import APART
from plots.wall_inputs import (
    Bars,
    BarsWall,
    HoldWall,
    Residual,
    RinseWall,
    Signal,
    StaggerRound,
    StaggerWall,
    StormCourse,
    StormWall,
    Wall,
    WarmWall,
)
from plots.wall_parts import FOOT, LONGER, TITLE_CHARACTERS, shown
from plots.words import Amount
from sim.tell.sentences import not_for_a_plant
from tests.plots.made import POLICIES, made_week
from tests.plots.test_figures import texts

DAYS = [7.0 + place / 24 for place in range(144)]


def made_rinse() -> RinseWall:
    names = ("0 min", "8 min")
    curves = {"0 min": [60.0, 6.0, 0.6, 0.1], "8 min": [0.12, 0.1, 0.1, 0.1]}
    table = pd.DataFrame(curves, index=[0.0, 4.0, 8.0, 12.0])
    bars = Bars(measure=Measure("water to drain in a wash", "m3"), names=names, values=(3.0, 4.0), texts=("3", "4"))
    return RinseWall(title="One thing <is> seen at 41 degF", after_return=table, solids=Measure("solids", "mg/L"),
                     limit=0.5, bars=(bars, bars))  # fmt: skip


def made_storm() -> StormWall:
    pulse = [4.0 + 30.0 * (40 < place < 70) for place in range(144)]
    table = pd.DataFrame({"day": DAYS, "feed": pulse, "outlet": [each / 40 for each in pulse], "pressure": 12.0})
    courses = tuple(StormCourse(policy=each, table=table, washes=(9.0,), over=Amount("3 h")) for each in POLICIES)
    return StormWall(title="One storm", courses=courses, feed=Measure("feed", "mg/L"), limit=0.5,
                     solids=Measure("sent on", "mg/L"), pressure=Measure("pressure drop", "psi"))  # fmt: skip


def made_warm(*, left: float = 1.0) -> WarmWall:
    def residual(name: str, factor: float, height: float) -> Residual:
        table = pd.DataFrame({"week": [0.0, 1.0, 2.0], "residual": [0.0, left, left * factor]})
        return Residual(name=name, table=table, height=height, height_text=f"{height} m")

    both = (residual("20 m/h: mean run 40 h", 2.0, 1.1), residual("37 m/h: mean run 50 h", 1.0, 1.4))
    return WarmWall(title="Warm", panels={"water of 5 degC": both, "water of 28 degC": both},
                    residual=Measure("left in the bed", "kg/m3"), height=Measure("height", "m"), top=1.3)  # fmt: skip


def made_stagger() -> StaggerWall:
    week = made_week()
    names = ("queued", "apart", "beside")
    over = Measure("over the limit", "min")
    bars = Bars(measure=over, names=names, values=(9.0, 0.0, 99.0), texts=("9", "0", "99"))
    times = [each.to_pydatetime() for each in pd.to_datetime(week.washes.table["start"])]
    feed = pd.Series([0.3 + 0.5 * (place % 2) for place in range(len(times))], index=times).sort_index()
    rounds = tuple(
        StaggerRound(name=name, washes=week.washes, held=week.held, raw=week.raw, feed=feed) for name in names
    )
    feed_measure = Measure("solids", "mg/L")
    return StaggerWall(title="Three ways", rounds=rounds, bars=(bars, bars), feed=feed_measure, limit=0.6)


def made_hold(*, works: bool = True) -> HoldWall:
    table = pd.DataFrame(
        {"hold": ["0 s", "3 min", "35 min"], "early": [40, 0, 0], "in_time": [0, 11, 0], "longest_run": [0, 0, 4],
         "pressure": [16.0, 25.0, 39.0], "works": [False, works, False]}
    )  # fmt: skip
    kpa = Measure("pressure drop", "kPa")
    seen = Signal(name="a jolt", minutes=(-2.0, -1.0, 0.0), signal=(0.0, 30.0, 20.0))
    return HoldWall(title="Holds", table=table, pressure=kpa, set_point=25.0, signals=(seen,) * works, seen=kpa)


def made_bars() -> BarsWall:
    names = ("one way", "another")
    mean = Bars(measure=Measure("mean", "mg/L"), names=names, values=(0.02, 0.01), texts=("0.02", "0.01"), most=0.8)
    return BarsWall(title="Bars", bars=(mean, replace(mean, values=(0.8, 0.4), texts=("0.80", "0.40"))))


WALLS: dict[str, Wall] = {
    "rinse": made_rinse(), "storm": made_storm(), "warm": made_warm(), "stagger": made_stagger(), "hold": made_hold(),
    "bars": made_bars(),
}  # fmt: skip


@cache
def made_files(name: str) -> dict[str, str | bytes]:
    return wall_files("lesson", WALLS[name], not_for_a_plant())


@pytest.mark.parametrize("name", WALLS)
def test_title_and_caution_stand_on_every_one(name: str) -> None:
    made = made_files(name)
    assert set(made) == {"lesson.svg"}
    svg = made["lesson.svg"]
    assert isinstance(svg, str)
    said = " ".join(texts(svg))
    assert WALLS[name].title.split()[0] in said
    assert "do not try it at a working plant" in said
    assert "a licensed practitioner decide" in said


@pytest.mark.parametrize(
    "name", [name if name == "hold" else pytest.param(name, marks=pytest.mark.long) for name in WALLS]
)
def test_the_bytes_repeat(name: str) -> None:
    assert wall_files("lesson", WALLS[name], not_for_a_plant()) == made_files(name)


@pytest.mark.parametrize("name", WALLS)
def test_no_type_is_smaller_than_the_foot(name: str) -> None:
    with wall_style():
        figure = wall_figure(WALLS[name], not_for_a_plant())
        written = [text for text in figure.findobj(Text) if text.get_text()]
    assert min(text.get_fontsize() for text in written) >= FOOT >= 11.0


def test_every_curve_bar_and_panel_has_its_name() -> None:
    said = (" ".join(texts(str(made_files(name)["lesson.svg"]))) for name in WALLS)
    rinse, storm, warm, stagger, hold, bars = said
    assert rinse.count("0 min") == rinse.count("8 min") == 3
    assert "41 °F" in rinse
    assert "m³" in rinse
    assert all(policy in storm for policy in POLICIES)
    assert storm.count("3 h over the limit") == len(POLICIES)
    assert "▼ a wash starts" in storm
    assert warm.count("20 m/h: mean run 40 h") == warm.count("37 m/h: mean run 50 h") == 2
    assert "water of 28 °C" in warm
    assert all(stagger.count(name) == 3 for name in ("queued", "apart", "beside"))  # a panel and two bars each
    assert all(name in stagger for name in ("unit held while washing", "backwash", "99", "03:00"))
    assert all(name in hold for name in ("0 s", "35 min", "40", "11", "set point", "neither early nor never"))
    assert all(name in bars for name in ("mean, mg/L", "one way", "another", "0.02", "0.80"))
    assert all(name in hold for name in ("set off by a spike alone", "by the switch, in time", "the switch never"))


def test_where_no_hold_works_none_is_marked() -> None:
    files = wall_files("a", made_hold(works=False), not_for_a_plant())
    assert "neither early" not in " ".join(texts(str(files["a.svg"])))


def test_nothing_left_at_all_is_drawn_too() -> None:
    assert wall_files("a", made_warm(left=0.0), not_for_a_plant())


def test_lines_of_a_title_are_of_about_the_same_length() -> None:
    lines = shown("word " * 22).split("\n")
    assert len(lines) == 2
    assert abs(len(lines[0]) - len(lines[1])) <= 10


def test_a_bed_that_reaches_the_outlet_is_black_beyond_it_and_says_so() -> None:
    with wall_style():
        figure = wall_figure(made_warm(), not_for_a_plant())
    heights = [axes for axes in figure.axes if axes.get_xlabel() == "height, m"]
    assert len(heights) == 2
    for axes in heights:
        beyond = [bar for bar in axes.patches if bar.get_x() > 0.0]
        assert [(bar.get_x(), round(bar.get_width(), 9)) for bar in beyond] == [(1.3, 0.1)]
        said = [text.get_text() for text in axes.texts]
        assert said == ["1.1 m", "1.4 m,\nover the outlet"]


def test_no_number_is_torn_from_its_unit_in_a_title() -> None:
    told = shown("A backwash of 8.18 gpm/ft2 instead of 15.1 gpm/ft2 shortens the mean run by 40 % at 41 degF")
    for line in told.splitlines():
        assert not line[-1].isdigit()
        assert len(line) <= TITLE_CHARACTERS + LONGER


def test_names_of_flat_curves_are_side_by_side() -> None:
    """Two that fall less than tenfold end on one another; the steep one has its name half way down."""
    wall = made_rinse()
    table = pd.DataFrame({"0 min": [50.0, 5.0, 0.4], "7 min": [0.15, 0.1, 0.1], "11 min": [0.1, 0.1, 0.1]},
                         index=[0.0, 6.0, 12.0])  # fmt: skip
    with wall_style():
        figure = wall_figure(replace(wall, after_return=table), not_for_a_plant())
    places = {each.get_text(): each.xy for axes in figure.axes for each in axes.texts if each.get_text() in table}
    assert places["11 min"][0] - places["7 min"][0] == APART
    assert places["0 min"][0] == 6.0


def test_two_panels_of_one_scale_show_bars_against_the_same_highest() -> None:
    with wall_style():
        figure = wall_figure(made_bars(), not_for_a_plant())
    mean, worst = figure.axes
    assert mean.get_xlim() == worst.get_xlim()
    assert [round(bar.get_width(), 9) for bar in mean.patches] == [0.02, 0.01]
