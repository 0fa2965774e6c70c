"""Every figure of a study, drawn once: bare for the report, with its caption for files of its own."""

from collections.abc import Iterator
from dataclasses import dataclass

from matplotlib.figure import Figure

from plots.captions import (
    bed_alt,
    bed_caption,
    compared_alt,
    course_alt,
    course_caption,
    left_out,
    runs_alt,
    runs_caption,
    spread_alt,
    week_alt,
    week_caption,
    week_why,
)
from plots.compared import compared_figure
from plots.course import by_figure, course_figure
from plots.inputs import Pictures
from plots.runs import runs_figure
from plots.section import bed_figure, beds_by_figure
from plots.spread import spread_figure
from plots.style import figure_files, house_style, without_caption
from plots.week import week_figure
from plots.words import paragraph, say

Named = tuple[str, Figure, str, str]


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawing:
    """One figure: the name of its files, the group it stands in, the SVG without caption, the files with it."""

    name: str
    group: str
    caption: str
    alt: str
    bare: str
    files: dict[str, str | bytes]


def draw_all(pictures: Pictures, *, png: bool = False) -> tuple[Drawing, ...]:
    """The figures of a study; the first is the one that answers."""
    with house_style():
        return tuple(drawing_of(*each, png=png) for each in labelled(pictures))


def labelled(pictures: Pictures) -> Iterator[Named]:
    """The figures; of many runs first their spread, then those of one of them, each with a caption that says so."""
    if not pictures.spread:
        yield from _figures(pictures)
        return
    figure = spread_figure(pictures.policies, pictures.spread)
    yield "spread", figure, say("spread.caption"), spread_alt(pictures)
    for name, drawn, caption, alt in _figures(pictures):
        if name != "comparison":
            yield name, drawn, f"{pictures.example} {caption}", f"{pictures.example} {alt}"


def _figures(pictures: Pictures) -> Iterator[Named]:
    """Name, figure, caption and alternative text of each; one policy alone begins with its course."""
    if len(pictures.policies) > 1:
        figure = compared_figure(pictures.policies, pictures.compared)
        alt = compared_alt(pictures.policies, pictures.compared)
        yield "comparison", figure, say("compared.caption"), alt
        yield from _runs(pictures)
        yield from _courses(pictures)
        yield from _week(pictures)
    else:
        yield from _courses(pictures)
        yield from _week(pictures)
        yield from _runs(pictures)
    for place, some in enumerate(beds_by_figure(pictures.beds), 1):
        caption = paragraph(bed_caption(some), *left_out(pictures))
        yield f"bed_{place}", bed_figure(some), caption, bed_alt(some)


def _runs(pictures: Pictures) -> Iterator[Named]:
    for place, bars in enumerate(pictures.runs, 1):
        caption = paragraph(runs_caption(bars), *left_out(pictures))
        yield f"filter_runs_{place}", runs_figure(bars), caption, runs_alt(bars)


def _courses(pictures: Pictures) -> Iterator[Named]:
    for place, some in enumerate(by_figure(pictures.courses), 1):
        yield f"course_{place}", course_figure(some, pictures.week), course_caption(some), course_alt(some)


def _week(pictures: Pictures) -> Iterator[Named]:
    week = pictures.in_week
    caption = paragraph(week_why(pictures.week_why), week_caption(week))
    yield "week", week_figure(week), caption, week_alt(week)


def drawing_of(name: str, figure: Figure, caption: str, alt: str, *, png: bool) -> Drawing:
    """A figure with its caption and alternative text, drawn once: the report has it without the caption."""
    files = figure_files(name, figure, caption, png=png)
    bare = without_caption(str(files[f"{name}.svg"]), figure)
    group = name.rstrip("0123456789").rstrip("_")
    return Drawing(name=name, group=group, caption=caption, alt=alt, bare=bare, files=files)
