"""Figures: what they say, in which units, that they repeat to the byte and need no colour."""

import hashlib
import math
import re
import subprocess
import sys
from dataclasses import replace
from datetime import datetime, timedelta
from itertools import combinations
from pathlib import Path
from xml.etree import ElementTree

import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st
from matplotlib.colors import to_rgb
from matplotlib.dates import date2num

from plots.captions import bed_alt, bed_caption, course_caption, runs_caption
from plots.compared import compared_figure
from plots.course import by_figure, course_figure
from plots.gallery import Drawing, draw_all, labelled
from plots.runs import SINGLE_BARS, draw_months, runs_figure
from plots.section import DARKEST, bed_figure, beds_by_figure
from plots.spread import VECTOR_AT_MOST, spread_figure
from plots.style import TICKS, as_svg, date_ticks, house_style, keep_layout, look, new_figure
from tests.plots.made import (
    CAUSES,
    POLICIES,
    STAGE,
    START,
    made_bed,
    made_compared,
    made_course,
    made_pictures,
    made_runs,
    made_spread,
)

ROOT = Path(__file__).parent.parent.parent
WEEK = (START + timedelta(days=7), START + timedelta(days=14))


@pytest.fixture(scope="module")
def drawings() -> tuple[Drawing, ...]:
    return draw_all(made_pictures())


def svg_of(drawing: Drawing) -> str:
    """The figure with its caption."""
    return str(drawing.files[f"{drawing.name}.svg"])


def texts(svg: str) -> list[str]:
    """What the text elements of an SVG say."""
    return ["".join(each.itertext()) for each in ElementTree.fromstring(svg).iter("{http://www.w3.org/2000/svg}text")]


def test_there_is_one_of_each_with_files_a_caption_and_words_in_its_place(drawings: tuple[Drawing, ...]) -> None:
    assert [each.name for each in drawings] == ["comparison", "filter_runs_1", "course_1", "week", "bed_1"]
    for each in drawings:
        assert list(each.files) == [f"{each.name}.svg"]
        assert 1 <= len(re.findall(r"[.](?: |$)", each.caption)) <= 4
        assert len(each.alt) > len(each.caption) / 2
        assert " ".join(texts(svg_of(each))).count(each.caption.split()[-1])
        assert len(texts(svg_of(each))) > len(texts(each.bare))


def test_one_policy_alone_begins_with_its_course() -> None:
    pictures = made_pictures()
    alone = replace(pictures, policies=POLICIES[:1], runs=(made_runs(POLICIES[:1]),), beds=(made_bed(POLICIES[:1]),))
    with house_style():
        assert [name for name, *_ in labelled(alone)] == ["course_1", "week", "filter_runs_1", "bed_1"]


def test_of_many_runs_the_spread_stands_first_and_the_rest_is_called_an_example() -> None:
    pictures = replace(made_pictures(), spread=made_spread(), example="One run as an example, the first of 40.")
    drawings = draw_all(pictures)
    assert [each.name for each in drawings] == ["spread", "filter_runs_1", "course_1", "week", "bed_1"]
    for each in drawings[1:]:
        assert each.caption.startswith("One run as an example, the first of 40. ")
        assert "One run as an example, the first of 40." in " ".join(texts(svg_of(each)))
    shown = texts(drawings[0].bare)
    for each in ("40.1 ±4.0", "120 ±12", "55.3", "each stroke: one run"):
        assert each in shown
    least = f"{min(made_spread()[0].values[0]):.3g}"
    assert f"“{POLICIES[0]}”, time over the limit: mean 40.1 ±4.0, runs from {least} to" in drawings[0].alt


@pytest.mark.parametrize("each", [1, 40, VECTOR_AT_MOST, 2000])
def test_every_run_is_a_stroke_of_its_own(each: int) -> None:
    with house_style():
        figure = spread_figure(POLICIES, made_spread(each))
        svg = as_svg(figure)
    strokes = figure.axes[0].lines[0]
    assert list(strokes.get_xdata()[::3]) == list(made_spread(each)[0].values[0])
    heights = strokes.get_ydata()[::3]
    assert len(set(heights)) == each  # equal runs do not hide one another
    assert ("<image" in svg) == (each > VECTOR_AT_MOST)
    assert len(svg) < 500_000


def test_a_new_process_gives_the_same_bytes(drawings: tuple[Drawing, ...]) -> None:
    script = (
        "import hashlib, sys; from plots.gallery import draw_all\n"
        "from tests.plots.made import made_pictures\n"
        "drawn = draw_all(made_pictures())\n"
        "print(hashlib.sha256(repr(drawn).encode()).hexdigest())\n"
        "print('matplotlib.pyplot' in sys.modules, 'sim' in sys.modules)"
    )
    done = subprocess.run([sys.executable, "-c", script], cwd=ROOT, capture_output=True, text=True, check=True)
    expected = hashlib.sha256(repr(drawings).encode()).hexdigest()
    assert done.stdout.split() == [expected, "False", "False"]


def test_names_stay_text_whatever_they_look_like(drawings: tuple[Drawing, ...]) -> None:
    comparison, runs, course, week, bed = (" ".join(texts(svg_of(each))) for each in drawings)
    for policy in POLICIES[:2]:
        for words_shown in (runs, bed):
            assert policy in words_shown
    assert f"Week 2, {POLICIES[0]}" in week
    assert STAGE in week
    assert POLICIES[1].split()[0] in comparison
    assert f"{STAGE}: pressure drop" in course
    assert POLICIES[0] in course


def test_axes_name_their_units(drawings: tuple[Drawing, ...]) -> None:
    comparison, runs, course, week, bed = (texts(svg_of(each)) for each in drawings)
    assert {"flow to service, m³/h", "level of the tank, m³", f"{STAGE}, kPa"} <= set(week)
    assert {"starts", "stops", "set point", "03:00"} <= set(week)
    assert "water to drain, m³" in comparison
    assert "length of a filter run, d" in runs
    shown = {f"{STAGE}: pressure drop, kPa", f"{STAGE}: filtered solids, mg/L", "set point", "limit"}
    assert shown <= set(course)
    assert {"depth below the bed's", "surface, m", "deposit, kg/m³", "anthracite", "sand"} <= set(bed)


def test_every_number_of_the_bars_stands_at_its_bar() -> None:
    with house_style():
        shown = texts(as_svg(compared_figure(POLICIES, made_compared())))
    for compared in made_compared():
        for value, text in zip(compared.values, compared.texts, strict=True):
            assert ("does not apply" if math.isnan(value) else text) in shown


def test_what_nobody_has_gets_no_scale() -> None:
    nothing = replace(made_compared()[0], values=(0.0,) * 4, texts=("0",) * 4)
    with house_style():
        figure = compared_figure(POLICIES, (nothing,))
        assert "none with any of them" in texts(as_svg(figure))
    assert not figure.axes[0].patches
    assert not list(figure.axes[0].get_xticks())


def test_many_policies_still_fit_on_a_page() -> None:
    names = tuple(f"every {place} days" for place in range(50))
    compared = made_compared()[1]
    many = replace(compared, values=tuple(map(float, range(50))), texts=tuple(map(str, range(50))))
    with house_style():
        figure = compared_figure(names, (many,))
        assert figure.get_size_inches()[1] <= 9.0
        assert set(names) <= set(texts(as_svg(figure)))


def test_what_is_over_the_limit_is_hatched_and_only_that() -> None:
    with house_style():
        figure = course_figure((made_course(),), WEEK)
        (fill,) = figure.axes[1].collections
        heights = [vertex[1] for path in fill.get_paths() for vertex in path.vertices]
        assert fill.get_hatch()
        assert min(heights) == pytest.approx(0.5)
        assert max(heights) == pytest.approx(0.7, abs=0.02)
        assert not course_figure((made_course(limit=None),), WEEK).axes[1].collections


def test_a_course_says_what_part_of_the_run_it_is_and_the_hours_over_the_limit_in_both() -> None:
    course = made_course()
    told = course_caption((course,))
    part = "4 Jan 2027 to 31 Jan 2027: 28 of the run's 56 days"
    assert part in told
    over = f"Hours over the limit in the time shown (hatched) / in the whole run: {STAGE} 104 / 208."
    assert over in told
    with house_style():
        assert part in texts(as_svg(course_figure((course,), WEEK)))
    brief = course_caption((replace(course, days=(28.0, 28.0), over_h=(0.1, 0.1), limit=0.699),))
    assert "the whole run" in brief
    assert f"Hours over the limit (hatched): {STAGE} 0.1. Too brief or too little to be hatched: {STAGE}." in brief
    elsewhere = course_caption((replace(course, over_h=(0.0, 304.0), limit=2.0),))
    assert f"{STAGE} 0 / 304." in elsewhere
    never = course_caption((replace(course, over_h=(0.0, 0.0), limit=2.0),))
    assert never.endswith("In the whole run no filtered water is over its limit at any time.")


def test_a_course_without_a_wash_has_panels_as_high_as_any() -> None:
    heights = []
    for course in (made_course(), replace(made_course(), washes=())):
        with house_style():
            figure = course_figure((course,), WEEK)
            keep_layout(figure)
        heights.append([axes.get_position().height for axes in figure.axes])
    washed, never = heights
    assert never == pytest.approx(washed, abs=0.01)
    assert min(never) > 0.2


def test_every_wash_of_the_course_is_marked_in_both_panels() -> None:
    course = made_course(set_point=None)
    with house_style():
        figure = course_figure((course,), WEEK)
    for axes in figure.axes:
        (upright,) = [line for line in axes.lines if list(line.get_ydata()[:2]) == [0, 1]]  # type: ignore[index]
        assert list(upright.get_xdata()[::3]) == list(date2num(course.washes))  # type: ignore[index]


def test_a_stage_that_never_serves_draws_empty_axes_and_says_so() -> None:
    course = made_course()
    course.table[["pressure", "solids"]] = math.nan
    with house_style():
        assert "limit" in texts(as_svg(course_figure((course,), WEEK)))


def test_a_bar_is_as_long_as_its_run_and_black_as_long_as_it_was_over() -> None:
    with house_style():
        figure = runs_figure(made_runs(POLICIES[:1], each=3))
    bars = [(bar.get_y(), bar.get_height()) for bar in figure.axes[0].patches]
    assert bars == [(0.0, 4.0)] * 3 + [(3.5, 0.5)] * 3


def test_what_is_over_the_limit_too_briefly_to_be_seen_has_a_mark_and_its_length_in_the_caption() -> None:
    bars = made_runs(POLICIES[:1], each=3)
    bars.table.loc[1, "over"] = 0.01
    with house_style():
        figure = runs_figure(bars)
        assert "over the limit too briefly to be seen" in texts(as_svg(figure))
    (mark,) = figure.axes[0].lines
    assert list(mark.get_ydata()) == [4.0]
    assert "A triangle marks 1 run whose black top is too low to be seen: 0.24 h at most." in runs_caption(bars)
    assert "triangle" not in runs_caption(made_runs())


def test_causes_have_no_colour_since_that_tells_policies_apart() -> None:
    with house_style():
        figure = runs_figure(made_runs())
    edges = {bar.get_edgecolor()[:3] for axes in figure.axes for bar in axes.patches}
    assert all(red == green == blue for red, green, blue in edges)


def test_a_cause_that_did_not_occur_draws_no_line() -> None:
    table = pd.DataFrame({"end": [START, START + timedelta(days=40)], "cause": [CAUSES[0], CAUSES[1]]})
    with house_style():
        axes = new_figure(2.0).subplots()
        draw_months(axes, table, CAUSES)
    assert [bar.get_height() for bar in axes.patches] == [1, 1]


def test_each_cause_has_a_hatch_of_its_own() -> None:
    with house_style():
        figure = runs_figure(made_runs())
    hatches = {bar.get_hatch() for axes in figure.axes for bar in axes.patches if bar.get_height() == 4.0}
    assert len(hatches) == len(POLICIES)


def test_too_many_runs_are_counted_by_month() -> None:
    bars = made_runs(POLICIES[:1], each=SINGLE_BARS + 1)
    with house_style():
        figure = runs_figure(bars)
        assert "washes a month" in texts(as_svg(figure))
    # 76 runs of 4 days from 4 January 2027 end on 8 January and every fourth day to 4 November.
    ends = [START + timedelta(days=4 * number) for number in range(1, SINGLE_BARS + 2)]
    expected = [sum(end.month == month for end in ends) for month in range(1, 12)]
    assert [bar.get_height() for bar in figure.axes[0].patches] == expected


def test_months_do_not_count_what_no_wash_ended() -> None:
    table = pd.DataFrame({"end": [START, START], "cause": [CAUSES[0], CAUSES[0]]})
    with house_style():
        axes = new_figure(2.0).subplots()
        draw_months(axes, table, CAUSES)
    assert [bar.get_height() for bar in axes.patches] == [2]


def test_the_section_is_as_dark_as_the_bed_is_full() -> None:
    bed = made_bed()
    with house_style():
        figure = bed_figure((bed,))
        assert {"0", "12", "deposit in the section, kg/m³"} <= set(texts(as_svg(figure)))
    (mesh,) = figure.axes[0].collections
    shades = [float(mesh.norm(each)) for each in mesh.get_array().ravel()]
    assert shades == sorted(shades, reverse=True)
    assert shades[0] == pytest.approx(DARKEST * 9.0 / 12.0)


def test_a_little_deposit_has_a_scale_of_its_own_and_the_caption_says_so() -> None:
    bed, told = made_bed(), bed_caption((made_bed(),))
    assert "comes close to the dotted line" in told
    assert "12 Jan 2027 (“" in told
    bed.slices["deposit"] *= 0.01
    assert f"none comes near what the bed can hold: {STAGE} 12 kg/m³." in bed_caption((bed,))
    with house_style():
        curves = bed_figure((bed,)).axes[1]
    assert not any(line.get_linestyle() == ":" for line in curves.lines)
    assert curves.get_xlim()[1] < 0.1


@pytest.mark.parametrize(("most", "end"), [(80.0, 103.0), (5.0, 5.6), (0.5, 1.0)])
def test_what_is_used_of_a_capacity_stands_beside_the_deposit_on_its_own_scale(most: float, end: float) -> None:
    bed = made_bed(POLICIES[:2])
    used = bed.slices[["policy", "top", "bottom"]].assign(used=most * (1.0 - bed.slices["top"]))
    bed = replace(bed, used=used)
    with house_style():
        figure = bed_figure((bed,))
    axes = next(axes for axes in figure.axes if axes.get_xlabel() == "capacity used, %")
    assert axes.get_xlim() == pytest.approx((0.0, end))
    assert [line.get_xdata()[0] for line in axes.lines[:2]] == [most] * 2  # type: ignore[index]
    assert "worked out" in bed_caption((bed,))
    assert bed_alt((bed,)).count("Capacity used for what is dissolved") == 2
    with house_style():
        bare = bed_figure((made_bed(POLICIES[:2]),))
    assert not any(axes.get_xlabel() == "capacity used, %" for axes in bare.axes)


def test_several_vessels_and_several_beds_share_a_figure_and_fill_no_more_than_a_page() -> None:
    courses = [replace(made_course(policy), stage=f"bed {place}") for policy in POLICIES[:2] for place in range(6)]
    groups = by_figure(courses)
    assert [len(each) for each in groups] == [4, 2, 4, 2]
    assert [{course.policy for course in each} for each in groups] == [{POLICIES[0]}] * 2 + [{POLICIES[1]}] * 2
    beds = [replace(made_bed(), stage=f"bed {place}") for place in range(4)]
    assert [len(each) for each in beds_by_figure(beds)] == [3, 1]
    with house_style():
        course, bed = course_figure(groups[0], WEEK), bed_figure(beds[:3])
        shown = texts(as_svg(course)), texts(as_svg(bed))
    for figure, names, words_shown in ((course, 4, shown[0]), (bed, 3, shown[1])):
        assert figure.get_size_inches()[1] <= 8.1  # 205 mm, as a printed page has room for
        assert all(any(text.startswith(f"bed {place}: ") for text in words_shown) for place in range(names))


def contrast_on_white(colour: str) -> float:
    """Contrast ratio after WCAG 2.2, definitions of relative luminance and contrast ratio (from memory)."""
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in to_rgb(colour)]
    luminance = 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]
    return 1.05 / (luminance + 0.05)


def test_the_first_looks_are_told_apart_without_colour() -> None:
    looks = [look(place) for place in range(6)]
    for one, other in combinations(looks, 2):
        assert one.dash != other.dash
        assert one.marker != other.marker
        assert one.hatch != other.hatch
    assert len({each.colour for each in looks[:4]}) == 4


def test_colours_stand_out_from_white() -> None:
    # WCAG 2.2, success criterion 1.4.11: 3 to 1 for the parts of a graphic (from memory).
    assert all(contrast_on_white(look(place).colour) >= 3.0 for place in range(4))


@given(
    st.datetimes(datetime(2000, 1, 1), datetime(2100, 1, 1)),
    st.timedeltas(timedelta(hours=1), timedelta(days=7300)),
)
def test_dates_on_an_axis_are_few_rising_and_inside(start: datetime, length: timedelta) -> None:
    ticks = date_ticks(start, start + length)
    assert len(ticks) <= TICKS + 1
    assert ticks == sorted(set(ticks))
    assert all(start <= tick <= start + length for tick in ticks)


def test_dates_on_an_axis_are_round() -> None:
    assert date_ticks(datetime(2027, 1, 4, 5), datetime(2027, 2, 1))[:3] == [
        datetime(2027, 1, 8), datetime(2027, 1, 12), datetime(2027, 1, 16),
    ]  # fmt: skip
    months = date_ticks(datetime(2027, 1, 4), datetime(2028, 2, 8))
    assert months[:2] == [datetime(2027, 2, 1), datetime(2027, 4, 1)]


def test_a_policy_looks_the_same_in_every_figure() -> None:
    some = POLICIES[2:]
    with house_style():
        bars = compared_figure(POLICIES, made_compared()[1:]).axes[0].patches  # which all of them have
        curves = bed_figure((made_bed(some),)).axes[1]
        course = course_figure((made_course(some[1]),), WEEK)
    drawn = {line.get_label(): line.get_color() for line in curves.lines}
    for policy in some:
        assert to_rgb(drawn[policy]) == bars[POLICIES.index(policy)].get_edgecolor()[:3]
    assert all(axes.lines[0].get_color() == drawn[some[1]] for axes in course.axes)


def test_who_is_left_out_is_named_under_what_leaves_them_out() -> None:
    left = replace(made_pictures(), left_out=("the seventh way",))
    with house_style():
        for name, _, caption, _ in labelled(left):
            assert ("the seventh way" in caption) == name.startswith(("filter_runs", "bed"))
