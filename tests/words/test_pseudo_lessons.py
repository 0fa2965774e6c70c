"""No lesson shows a word that no message says."""

from pathlib import Path

import pytest

from sim.case.load import load_case
from sim.lessons.names import NAMES, lesson
from tests.cli.small import call
from tests.plots.test_figures import texts
from tests.words.pseudo import plain_words, speaking_pseudo


@pytest.mark.parametrize("name", [
    each if each == "rinse" else pytest.param(each, marks=pytest.mark.long) for each in NAMES
])  # fmt: skip
def test_a_lesson_is_said_by_messages_alone(name: str, tmp_path: Path) -> None:
    known = [name, *lesson(name).files, "DIR"]
    known += [each.name for each in load_case(lesson(name).path).stages]
    known += [each.policy or each.name for each in lesson(name).ways]
    with speaking_pseudo():
        shown = call("lesson", name)
        drawn = call("lesson", name, "--out", tmp_path, "--quiet")
    assert (shown.exit_code, drawn.exit_code) == (0, 0)
    assert plain_words(shown.stdout, known) == []
    (figure,) = tmp_path.glob("*.svg")
    assert plain_words(" ".join(texts(figure.read_text(encoding="utf-8"))), known) == []
