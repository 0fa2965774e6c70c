"""How long people wait: from a slider to its figure, and until the first paint, against the figure alone."""

import statistics
import time
from typing import Any

import pytest

from plots.one import show_train
from sim.study.compare import compare
from sim.tell.run.frames import frames
from sim.web.cases_read import case_of
from sim.web.serve import first_case
from sim.web.start import stretch_of
from tests.web.serving import Served
from tests.web.test_browser import go, tab

MOVES = 15
MOVE = """async ([name, value]) => {
    const field = document.querySelector(`input[type=number][name="${name}"]`);
    const range = field.closest(".slider").querySelector("input[type=range]");
    const answer = document.getElementById("answer");
    const there = new Promise((done) => answer.addEventListener("answered", done, { once: true }));
    const start = performance.now();
    range.value = value;
    range.dispatchEvent(new Event("input", { bubbles: true }));
    await there;
    if (!answer.querySelector("canvas").width) throw new Error("a figure that is not there");
    await new Promise(requestAnimationFrame);
    return performance.now() - start;
}"""
PAINTED = """() => new Promise((done) => {
    const seen = () => performance.getEntriesByName("first-contentful-paint")[0]?.startTime;
    const look = () => seen() ? done(seen()) : setTimeout(look, 10);
    look();
})"""


@pytest.mark.long
@pytest.mark.timed
def test_a_figure_follows_its_slider_in_under_twice_a_bare_render(browser: Any, page: Served) -> None:
    """The bare render: every way run, then the moments of one drawn still, in this process."""
    held = first_case(None)

    def bare() -> None:
        case = case_of(held)
        show_train(frames(case, compare(case).results[0], stretch_of(held), "si"))

    bare()
    moves, renders = [], []
    with tab(browser, page) as opened:
        go(opened, page, "/start?through=calendar")
        for count in range(MOVES):
            name, value = (
                ("policy.volume.twin bed.volume", 100.0 + 10.0 * (count // 2))
                if count % 2
                else ("policy.pressure drop.twin bed.above", 20.0 + 2.0 * (count // 2))
            )
            moves.append(opened.evaluate(MOVE, [name, str(value)]) / 1000.0)
            start = time.perf_counter()
            bare()
            renders.append(time.perf_counter() - start)
    move, render = statistics.median(moves), statistics.median(renders)
    print(f"\nslider to figure: {1000 * move:.0f} ms, bare render: {1000 * render:.0f} ms, {move / render:.2f} times")
    assert move < 2.0 * render


@pytest.mark.long
@pytest.mark.timed
def test_the_first_paint_is_nearly_that_of_the_figure_alone(browser: Any, page: Served) -> None:
    """The figure alone: the answer without the page around it, its styles and its scripts."""
    found: dict[str, list[float]] = {"/start?through=calendar": [], "/start/answer?through=calendar": []}
    with tab(browser, page) as opened:
        for _ in range(MOVES):
            for path, times in found.items():
                page.settled(path)
                opened.goto(page.address + path)
                times.append(opened.evaluate(PAINTED))
    whole, alone = (statistics.median(each) for each in found.values())
    print(f"\nfirst paint: {whole:.0f} ms, of the figure alone {alone:.0f} ms, {whole / alone:.2f} times")
    assert whole < 1.5 * alone


def test_every_view_is_sent_in_few_bytes(page: Served) -> None:
    """Compressed, with its styles and scripts: under 150 kB."""
    for path in ("/", "/start", "/rinse?guess=3", "/plant", "/lessons"):
        page.settled(path)
        parts = [path, "/page.js", "/train.js", "/lesson.js"]
        sent = [page.ask(each, headers={"Accept-Encoding": "gzip"}) for each in parts]
        assert all(each.headers.get("content-encoding") == "gzip" for each in sent)
        total = sum(len(each.content) for each in sent)
        print(f"{path}: {total} bytes")
        assert total < 150_000
