"""No report shows a word that no message says: text, tables, figures, what is said in place of a figure."""

import re
from html import unescape
from pathlib import Path

from sim.case.load import load_case
from tests.cli.small import call, small_case
from tests.plots.test_figures import texts
from tests.words.pseudo import plain_words, speaking_pseudo, words_of

SILENT = re.compile(r"<style>.*?</style>|<(?!img)[^>]*>|src=\"[^\"]*\"", re.DOTALL)
PROGRAM = {"img", "alt", "SVG", "PNG", "toml", "true"}


def test_a_report_and_its_figures_are_said_by_messages_alone(tmp_path: Path) -> None:
    path, out = small_case(tmp_path), tmp_path / "out"
    case = load_case(path)
    names = [case.title, case.source_hash, *(each.name for each in (*case.stages, *case.policies))]
    with speaking_pseudo():
        done = call("compare", path, "--out", out, "--prepared-by", "Xy", "--for", "Zz", "--quiet")
    assert done.exit_code == 0
    report = SILENT.sub(" ", (out / "report.html").read_text(encoding="utf-8"))
    assert set(plain_words(unescape(report), names)) <= words_of(case) | PROGRAM
    figures = sorted(out.glob("*.svg"))
    assert len(figures) > 4
    for figure in figures:
        assert set(plain_words(" ".join(texts(figure.read_text(encoding="utf-8"))), names)) <= words_of(case), figure
