"""From a slider to its figure in the browser, against a bare render of the same figure in the same run."""

import statistics
import time
from typing import Any

import pytest

from plots.one import show_compared
from sim.study.compare import compare
from sim.tell.comparison.views import compared
from sim.web.cases_read import case_of
from sim.web.serve import first_case
from tests.web.serving import Served
from tests.web.test_browser import go, tab

MOVES = 50
MOVE = """async ([name, value]) => {
    const field = document.querySelector(`input[type=number][name="${name}"]`);
    const range = field.closest(".slider").querySelector("input[type=range]");
    const answer = document.getElementById("answer");
    const there = new Promise((done) => answer.addEventListener("answered", done, { once: true }));
    const start = performance.now();
    range.value = value;
    range.dispatchEvent(new Event("input", { bubbles: true }));
    await there;
    if (!answer.querySelector("img").complete) throw new Error("a figure that is not there");
    await new Promise(requestAnimationFrame);
    return performance.now() - start;
}"""


@pytest.mark.long
@pytest.mark.timed
def test_a_figure_follows_its_slider_in_under_twice_a_bare_render(browser: Any, page: Served) -> None:
    results = compare(case_of(first_case(None))).results
    names, figures = [each.policy for each in results], compared(case_of(first_case(None)), results, "si")
    show_compared(names, figures, narrow=False)
    moves, renders = [], []
    with tab(browser, page) as opened:
        go(opened, page, "/start")
        for count in range(MOVES):
            name, value = (
                ("policy.volume.twin bed.volume", 100.0 + 10.0 * (count // 2))
                if count % 2
                else ("policy.pressure drop.twin bed.above", 20.0 + 2.0 * (count // 2))
            )
            moves.append(opened.evaluate(MOVE, [name, str(value)]) / 1000.0)
            start = time.perf_counter()
            show_compared(names, figures, narrow=False)
            renders.append(time.perf_counter() - start)
    move, render = statistics.median(moves), statistics.median(renders)
    print(f"\nslider to figure: {1000 * move:.0f} ms, bare render: {1000 * render:.0f} ms, {move / render:.2f} times")
    assert move < 2.0 * render
