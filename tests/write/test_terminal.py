"""`filterrun new` with a person at a terminal, played through a pseudo-terminal."""

import os
import pty
import select
import subprocess
import sys
import time
from pathlib import Path

import pytest

from sim.case.load import load_case
from tests.write.ten import options

ROOT = Path(__file__).parents[2]

# The session of its own that the program is started in takes the terminal, so that Ctrl-C reaches the program, also
# where the tests themselves were started with interrupts ignored, as in the background of a shell.
SCRIPT = """
import fcntl, signal, termios
fcntl.ioctl(0, termios.TIOCSCTTY, 0)
signal.signal(signal.SIGINT, signal.default_int_handler)
from sim.cli import main
main()
"""
PATIENCE = 60.0  # s, for a machine that is busy with other things


class Talk:
    """A run of the program in a pseudo-terminal: wait for words, answer, and see how it ended."""

    def __init__(self, *words: str | Path) -> None:
        self.said, self.at = "", 0
        self.terminal, inside = pty.openpty()
        self.program = subprocess.Popen(
            [sys.executable, "-c", SCRIPT, *map(str, words)],
            stdin=inside,
            stdout=inside,
            stderr=inside,
            cwd=ROOT,
            env={**os.environ, "COLUMNS": "100", "TERM": "dumb"},
            start_new_session=True,
        )
        os.close(inside)

    def hear(self, words: str) -> None:
        """Wait for words, and go on from behind them."""
        while words not in self.said[self.at :]:
            self.said += self._read()
        self.at = self.said.index(words, self.at) + len(words)

    def answer(self, question: str, line: str | bytes) -> None:
        """Wait for a question and type a line, or keys as they are once the program has had time to wait for them."""
        self.hear(question)
        self.hear(": ")
        if isinstance(line, bytes):
            time.sleep(0.3)
        os.write(self.terminal, line if isinstance(line, bytes) else f"{line}\n".encode())

    def end(self) -> int:
        """The exit code, once all is said."""
        try:
            while True:
                self.said += self._read()
        except EOFError:
            pass
        os.close(self.terminal)
        return self.program.wait(PATIENCE)

    def _read(self) -> str:
        assert select.select([self.terminal], [], [], PATIENCE)[0], f"nothing more is said: {self.said}"
        try:
            found = os.read(self.terminal, 65_536)
        except OSError:  # how Linux says that the other side is closed
            found = b""
        if not found:
            raise EOFError(self.said)
        return found.decode("utf-8", "replace").replace("\r\n", "\n")


def test_every_question_is_asked_until_its_answer_will_do(tmp_path: Path) -> None:
    path = tmp_path / "asked.toml"
    talk = Talk("new", path)
    for question, line in (
        ("Units", ""),
        ("reuse, as in", "?"),
        ("reuse, as in", ""),
        ("reuse, as in", "rivver"),
        ("reuse, as in", "river"),
        ("Filters in the order", "media,media,sand"),
        ("Filters in the order", "media, media, carbon"),
        ("What the filtered water is for", "drink"),
        ("What the filtered water is for", "drinking"),
        ("two filters are due at once", "share"),
        ("two filters are due at once", "wait"),
        ("diameter", "30"),
        ("diameter", "30 in"),
        ("Flow while", "900 gpm"),  # no rate that a filter has: both are asked again
        ("diameter", "30 in"),
        ("Flow while", "25 gpm"),
        ("Hours of use", "25"),
        ("Hours of use", "14"),
        ("Days of use", ""),
        ("Turbidity of the water", "nan NTU"),
        ("Turbidity of the water", "4 NTU"),
        ("Most turbidity", ""),
        ("Temperature", "21..6 degC"),
        ("Temperature", "6..21 degC"),
        ("coagulant", "perhaps"),
        ("coagulant", "?"),
        ("coagulant", "y"),
        ("Depth of media", ""),
        ("Flow of the backwash", b"\x01\xff\xfe9**9**9 gal\n"),
        ("Flow of the backwash", "usual"),
        ("Free chlorine", ""),
    ):
        talk.answer(question, line)
    assert talk.end() == 0, talk.said
    unwrapped = " ".join(talk.said.split())
    for words in (
        "Type ? to have a question explained",
        "It decides what is assumed of the solids",
        "An answer is needed: there is no usual value.",
        'try: "river"',
        "none is recommended",
        "A number alone is in the unit of the example.",
        "900 gpm through a filter of 30 in: 448 m/h",
        "a whole number from 1 to 24",
        "as in 6 [7]:",
        "[0.8 NTU]:",
        "try: 6..21 degC",
        "allowed: yes or no, or a product and its dose",
        f"written: {path}",
    ):
        assert words in unwrapped, words
    case, text = load_case(path), path.read_text(encoding="utf-8")
    assert [stage.name for stage in case.stages] == ["media 1", "media 2", "carbon"]
    assert (case.use, case.washing.together) == ("drinking", "wait")
    assert '\nturbidity = "4 NTU"' in text
    assert '\nlimit = "0.8 NTU"' in text
    assert "# assumed: 0.4 / 0.8 / 1.6 NTU" in text


def test_only_what_is_not_given_is_asked(tmp_path: Path) -> None:
    path = tmp_path / "asked.toml"
    talk = Talk("new", path, *options(hours=None, units="us"))
    talk.answer("Hours of use a day", "9")
    assert talk.end() == 0, talk.said
    assert talk.said.count(", as in ") == 1
    assert load_case(path).stages[0].name == "media"


def test_an_option_that_clashes_with_an_answer_is_kept_and_the_answer_asked_again(tmp_path: Path) -> None:
    talk = Talk("new", tmp_path / "asked.toml", *options(flow=None, units="si"))
    talk.answer("Flow while", "900 gpm")
    talk.answer("Flow while", "25 gpm")
    assert talk.end() == 0, talk.said
    assert "Inner diameter" not in talk.said


@pytest.mark.parametrize(("key", "code", "words"), [(b"\x03", 130, "interrupted"), (b"\x04", 2, "the input ended")])
def test_leaving_writes_nothing(key: bytes, code: int, words: str, tmp_path: Path) -> None:
    path = tmp_path / "asked.toml"
    talk = Talk("new", path)
    talk.answer("Units", "si")
    talk.answer("reuse, as in", key)
    assert talk.end() == code, talk.said
    assert words in talk.said
    assert "nothing written" in talk.said
    assert "Traceback" not in talk.said
    assert not path.exists()


def test_wrong_options_are_not_argued_about(tmp_path: Path) -> None:
    talk = Talk("new", tmp_path / "asked.toml", "--hours", "25")
    assert talk.end() == 2
    assert "--hours: given" in talk.said
    assert "Kind of water" not in talk.said


def test_quiet_asks_nothing(tmp_path: Path) -> None:
    talk = Talk("new", tmp_path / "asked.toml", "--quiet")
    assert talk.end() == 2
    assert "--water is missing" in talk.said
