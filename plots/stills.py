"""Some moments of a train as a still picture: its beds, then its signals with every wash. SVG made by hand, in a
hundredth of the time that a drawing of matplotlib takes; the page draws the same moving (`sim/web/static/train.js`).
"""

from collections.abc import Callable, Iterator, Sequence
from xml.etree.ElementTree import Element, SubElement, tostring

from plots.captions import number
from plots.inputs import THOUSANDTHS, BedFrames, Frames, Signal
from plots.style import CLEAN, DIRT, GREY, INK, POOL, SILT, WATER, mixed
from plots.words import Name, Sentence, items, label, paragraph, say, typeset

WIDTH, BEDS, LANE, LEFT, TOP, GAP = 720.0, 150.0, 62.0, 44.0, 34.0, 24.0
SHOWN = 6  # moments
Mark = tuple[str, float | None]
Points = Sequence[tuple[float, float]]


def still_svg(frames: Frames) -> str:
    """Beds at six moments above, signals below."""
    lanes = list(_lanes(frames))
    wide, high = f"{WIDTH:.0f}", f"{TOP + BEDS + 40.0 + (LANE + GAP) * len(lanes):.0f}"
    root = Element("svg", {
        "xmlns": "http://www.w3.org/2000/svg", "width": wide, "height": high, "viewBox": f"0,0,{wide},{high}",
        "font-family": "sans-serif", "font-size": "11", "fill": INK,
    })  # fmt: skip
    _box(root, 0.0, 0.0, WIDTH, float(high), "#fff")
    each = (WIDTH - LEFT) / SHOWN
    for column, place in enumerate(chosen(frames)):
        _moment(root, frames, place, LEFT + column * each, each - 10.0)
    for row, (name, colour, signals, marks) in enumerate(lanes):
        _lane(root, frames, name, colour, signals, marks, TOP + BEDS + 44.0 + row * (LANE + GAP))
    x = _across(frames)
    for day, words in frames.days[:: max(len(frames.days) // 6, 1)]:
        _text(root, x(day), float(high) - 6.0, words, GREY)
    return tostring(root, encoding="unicode")


def still_alt(frames: Frames) -> Sentence:
    """What is drawn, and every wash with its reason."""
    return paragraph(say("frames.alt", way=Name(frames.way)), reasons(frames))


def reasons(frames: Frames) -> Sentence:
    """Every wash with what started it."""
    washes = [label("frames.wash", time=frames.clock[_at(frames, wash.start)], cause=wash.why,
                    stage=Name(frames.beds[wash.bed].name)) for wash in frames.washes]  # fmt: skip
    return say("frames.washes", washes=items(washes)) if washes else say("frames.no_wash")


def chosen(frames: Frames) -> list[int]:
    """The moments that tell most: the first, those before and after each of the first washes, the last."""
    last = len(frames.t) - 1
    turns = [place for wash in frames.washes for place in (_at(frames, wash.start), _at(frames, wash.end) + 1)]
    kept = [place for place in turns if place < last][: SHOWN - 2]
    return sorted({0, *kept, last, *(round(last * k / (SHOWN - 1)) for k in range(SHOWN - 2 - len(kept)))})[:SHOWN]


def _at(frames: Frames, time: float) -> int:
    return max((place for place, t in enumerate(frames.t) if t <= time), default=0)


def _lanes(frames: Frames) -> Iterator[tuple[str, str, Sequence[Signal], Sequence[Mark]]]:
    judged, words = [bed for bed in frames.beds if bed.judged], frames.words
    yield words["feed"], SILT, [frames.feed], []
    yield words["pressure"], INK, [bed.pressure for bed in frames.beds], [("set_point", bed.set_point)
                                                                          for bed in frames.beds]  # fmt: skip
    yield words["outlet"], WATER, [bed.outlet for bed in judged], [("limit", judged[0].limit)]
    if frames.level is not None:
        yield words["level"], WATER, [frames.level], [("full", frames.full)]


def _moment(root: Element, frames: Frames, place: int, left: float, wide: float) -> None:
    _text(root, left, 12.0, frames.clock[place])
    each = wide / len(frames.beds)
    for column, bed in enumerate(frames.beds):
        _bed(root, bed, bed.deposit[place], left + column * each, min(each - 4.0, 46.0))


def _bed(root: Element, bed: BedFrames, deposit: Sequence[int], left: float, wide: float) -> None:
    """Water above, then the bands of the bed, darker with more deposit."""
    high, floor, top, above = BEDS * 0.85, bed.bottoms[-1], TOP + BEDS * 0.15, 0.0
    _box(root, left, TOP, wide, top - TOP, POOL)
    for share, bottom in zip(deposit, bed.bottoms, strict=True):
        tall = high * (bottom - above) / floor
        _box(root, left, top + high * above / floor, wide, tall + 0.5, mixed(CLEAN, DIRT, share / THOUSANDTHS))
        above = bottom
    low, right = top + high, left + wide
    _line(root, [(left, TOP), (left, low), (right, low), (right, TOP)], INK)
    _text(root, left, low + 13.0, bed.name)


def _lane(
    root: Element, frames: Frames, name: str, colour: str, signals: Sequence[Signal], marks: Sequence[Mark],
    top: float,
) -> None:  # fmt: skip
    levels = sorted({(mark, value) for mark, value in marks if value is not None})
    known = [*(level for _, level in levels), *(value for each in signals for value in each if value is not None)]
    most, x, low = max(known, default=0.0) or 1.0, _across(frames), top + LANE

    def y(value: float) -> float:
        return top + LANE * (1.0 - value / most)

    _text(root, LEFT, top - 6.0, typeset(name))
    _line(root, [(LEFT, top), (LEFT, low), (WIDTH, low)], GREY)
    _text(root, LEFT - 4.0, top + 9.0, number(most), anchor="end")
    _text(root, LEFT - 4.0, low, "0", anchor="end")
    for wash in frames.washes:
        _line(root, [(x(max(wash.start, 0.0)), top), (x(max(wash.start, 0.0)), low)], GREY, dash="1,2")
    for mark, level in levels:
        _line(root, [(LEFT, y(level)), (WIDTH, y(level))], INK, dash="5,3")
        _text(root, WIDTH - 2.0, y(level) + (12.0 if y(level) < top + 12.0 else -4.0),
              label("frames.mark", mark=Name(frames.words[mark]), level=number(level)), anchor="end")  # fmt: skip
    for signal in signals:
        for stretch in _stretches(frames, signal):
            _line(root, [(x(time), y(value)) for time, value in stretch], colour)


def _stretches(frames: Frames, signal: Signal) -> Iterator[Points]:
    """A signal broken off by washes, but not by a pause between two looks."""
    found, last = list[tuple[float, float]](), 0.0
    for time, value in zip(frames.t, signal, strict=True):
        if value is None:
            continue
        if found and any(each.start < time and last < each.end for each in frames.washes):
            yield found
            found = []
        found.append((time, value))
        last = time
    yield found


def _across(frames: Frames) -> Callable[[float], float]:
    scale = (WIDTH - LEFT - 4.0) / (frames.t[-1] or 1.0)
    return lambda time: LEFT + time * scale


def _box(root: Element, x: float, y: float, wide: float, high: float, colour: str) -> None:
    SubElement(root, "rect", {"x": f"{x:.1f}", "y": f"{y:.1f}", "width": f"{wide:.1f}", "height": f"{high:.1f}",
                              "fill": colour})  # fmt: skip


def _line(root: Element, points: Points, colour: str, dash: str = "none") -> None:
    at = " ".join(f"{x:.1f},{y:.1f}" for x, y in points)
    SubElement(root, "polyline", {"points": at, "fill": "none", "stroke": colour, "stroke-dasharray": dash})


def _text(root: Element, x: float, y: float, words: str, colour: str = INK, *, anchor: str = "start") -> None:
    text = SubElement(root, "text", {"x": f"{x:.1f}", "y": f"{y:.1f}", "fill": colour, "text-anchor": anchor})
    text.text = words
