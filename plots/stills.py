"""Some moments of a train as a still picture: its beds, then its signals with every wash. SVG made by hand, in a
hundredth of the time that a drawing of matplotlib takes; the page draws the same moving (`sim/web/static/train.js`).
"""

from collections.abc import Callable, Iterator, Sequence
from xml.sax.saxutils import escape

from plots.captions import number
from plots.inputs import THOUSANDTHS, BedFrames, Frames, Signal
from plots.style import CLEAN, DIRT, GREY, INK, POOL, SILT, WATER, mixed
from plots.words import Name, Sentence, items, label, paragraph, say, typeset

WIDTH, BEDS, LANE, LEFT, TOP = 720.0, 150.0, 62.0, 44.0, 34.0
SHOWN = 6  # moments
Mark = tuple[str, float | None]
SVG = ('<svg xmlns="http://www.w3.org/2000/svg" width="{width:.0f}" height="{height:.0f}" '
       'viewBox="0 0 {width:.0f} {height:.0f}" font-family="system-ui, DejaVu Sans, Arial, sans-serif" '
       'font-size="11" fill="{ink}">{parts}</svg>')  # fmt: skip


def still_svg(frames: Frames) -> str:
    """Beds at six moments above, signals below."""
    lanes = list(_lanes(frames))
    height = TOP + BEDS + 40.0 + (LANE + 24.0) * len(lanes)
    parts = [f'<rect width="{WIDTH:.0f}" height="{height:.0f}" fill="#fff"/>']
    places = chosen(frames)
    for column, place in enumerate(places):
        parts += _moment(frames, place, LEFT + column * (WIDTH - LEFT) / SHOWN, (WIDTH - LEFT) / SHOWN - 10.0)
    for row, (name, colour, signals, marks) in enumerate(lanes):
        parts += _lane(frames, name, colour, signals, marks, TOP + BEDS + 44.0 + row * (LANE + 24.0))
    parts += _days(frames, height - 6.0)
    return SVG.format(width=WIDTH, height=height, ink=INK, parts="".join(parts))


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
    judged = [bed for bed in frames.beds if bed.judged]
    yield frames.words["feed"], SILT, [frames.feed], []
    set_points = [("set_point", bed.set_point) for bed in frames.beds]
    yield frames.words["pressure"], INK, [bed.pressure for bed in frames.beds], set_points
    yield frames.words["outlet"], WATER, [bed.outlet for bed in judged], [("limit", judged[0].limit)]
    if frames.level is not None:
        yield frames.words["level"], WATER, [frames.level], [("full", frames.full)]


def _moment(frames: Frames, place: int, left: float, wide: float) -> Iterator[str]:
    yield f'<text x="{left:.1f}" y="12">{escape(frames.clock[place])}</text>'
    each = wide / len(frames.beds)
    for number_, bed in enumerate(frames.beds):
        yield from _bed(bed, bed.deposit[place], left + number_ * each, min(each - 4.0, 46.0))


def _bed(bed: BedFrames, deposit: Sequence[int], left: float, wide: float) -> Iterator[str]:
    """Water above, then the bands of the bed, darker with more deposit."""
    high, floor, top = BEDS * 0.85, bed.bottoms[-1], TOP + BEDS * 0.15
    yield f'<rect x="{left:.1f}" y="{TOP:.0f}" width="{wide:.1f}" height="{top - TOP:.1f}" fill="{POOL}"/>'
    above = 0.0
    for share, bottom in zip(deposit, bed.bottoms, strict=True):
        y, tall = top + high * above / floor, high * (bottom - above) / floor
        colour = mixed(CLEAN, DIRT, share / THOUSANDTHS)
        yield f'<rect x="{left:.1f}" y="{y:.1f}" width="{wide:.1f}" height="{tall + 0.5:.1f}" fill="{colour}"/>'
        above = bottom
    yield (f'<path d="M{left:.1f} {TOP:.0f}V{top + high:.1f}h{wide:.1f}V{TOP:.0f}" fill="none" stroke="{INK}"/>'
           f'<text x="{left:.1f}" y="{top + high + 13:.1f}" font-size="9">{escape(bed.name)}</text>')  # fmt: skip


def _lane(
    frames: Frames, name: str, colour: str, signals: Sequence[Signal], marks: Sequence[Mark], top: float
) -> Iterator[str]:
    levels = sorted({(mark, value) for mark, value in marks if value is not None})
    known = [*(level for _, level in levels), *(value for each in signals for value in each if value is not None)]
    most, x = max(known, default=0.0) or 1.0, _across(frames)

    def y(value: float) -> float:
        return top + LANE * (1.0 - value / most)

    yield (f'<text x="{LEFT:.0f}" y="{top - 6:.1f}">{escape(typeset(name))}</text>'
           f'<path d="M{LEFT:.0f} {top:.1f}v{LANE:.0f}H{WIDTH:.0f}" fill="none" stroke="{GREY}"/>'
           f'<text x="{LEFT - 4:.0f}" y="{top + 9:.1f}" text-anchor="end">{number(most)}</text>'
           f'<text x="{LEFT - 4:.0f}" y="{top + LANE:.1f}" text-anchor="end">0</text>')  # fmt: skip
    for wash in frames.washes:
        start = x(max(wash.start, 0.0))
        yield f'<path d="M{start:.1f} {top:.1f}v{LANE:.0f}" stroke="{GREY}" stroke-dasharray="1 2"/>'
    for mark, level in levels:
        below = y(level) + (12.0 if y(level) < top + 12.0 else -4.0)
        yield (f'<path d="M{LEFT:.0f} {y(level):.1f}H{WIDTH:.0f}" stroke="{INK}" stroke-dasharray="5 3"/>'
               f'<text x="{WIDTH - 2:.0f}" y="{below:.1f}" font-size="9" text-anchor="end">'
               f'{escape(frames.words[mark])} {number(level)}</text>')  # fmt: skip
    for signal in signals:
        parts, last, washes = list[str](), 0, frames.washes
        for place, (time, value) in enumerate(zip(frames.t, signal, strict=True)):
            if value is not None:
                broken = place > last + 1 and any(each.start < time and frames.t[last] < each.end for each in washes)
                parts.append(f"{'M' if broken or not parts else 'L'}{x(time):.1f} {y(value):.1f}")
                last = place
        yield f'<path d="{"".join(parts)}" fill="none" stroke="{colour}" stroke-width="1.6"/>'


def _days(frames: Frames, y: float) -> Iterator[str]:
    x = _across(frames)
    for day, words in frames.days[:: max(len(frames.days) // 6, 1)]:
        yield f'<text x="{x(day):.1f}" y="{y:.1f}" fill="{GREY}">{escape(words)}</text>'


def _across(frames: Frames) -> Callable[[float], float]:
    scale = (WIDTH - LEFT - 4.0) / (frames.t[-1] or 1.0)
    return lambda time: LEFT + time * scale
