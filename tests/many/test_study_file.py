"""The study file: what is put in comes out, and whatever is not a whole study of ours is refused and left alone."""

import os
import sqlite3
import subprocess
import sys
from pathlib import Path

import pytest

from sim.study.errors import RequestError, StudyError
from sim.study.many.outcome import Outcome
from sim.study.many.repeat import repeat
from sim.study.many.study_file import StudyFile
from sim.study.many.workers import Crew, Here
from tests.cli.small import small_case
from tests.many.made import case_of, noisy

ROOT = Path(__file__).parents[2]
FIGURES = {"washes": 14, "drain_m3": 0.1 + 0.2, "least": 5e-324, "over_limit_h": None}
OUTCOME = Outcome(policy="a", replicate=3, site=FIGURES, stages={"sand": FIGURES}, avoidable_h=(1.0 / 3.0,))


@pytest.fixture
def study(tmp_path: Path) -> Path:
    """A study of some hundred runs."""
    path = tmp_path / "s.study"
    with StudyFile(path) as kept:
        kept.keep([("key", OUTCOME), *((f"key {place}", OUTCOME) for place in range(200))])
    assert [each.name for each in tmp_path.iterdir()] == ["s.study"]
    return path


def test_what_was_kept_comes_out_to_the_bit(study: Path) -> None:
    with StudyFile(study) as kept:
        found = kept.find("key", "a", 3)
        assert found == OUTCOME
        assert found is not None
        assert isinstance(found.site["washes"], int)
        assert kept.find("another key", "a", 3) is None
        kept.keep([("key", OUTCOME)])
        assert kept.count() == 201


def changed(data: bytes, place: int, to: bytes) -> bytes:
    return data[:place] + to + data[place + len(to) :]


BROKEN = {
    "empty": (lambda data: b"", "no study of this program"),
    "text": (lambda data: b"Dear diary, today the filter ran for a day. " * 9, "no study of this program"),
    "another database": (lambda data: changed(data, 68, b"\0\0\0\7"), "no study of this program"),
    "newer": (lambda data: changed(data, 60, b"\0\0\0\2"), "its format is 2, a newer program's"),
    "cut off": (lambda data: data[: len(data) // 2], "damaged"),
    "overwritten": (lambda data: changed(data, len(data) // 2, b"\xa5" * 4096), "damaged"),
}


@pytest.mark.parametrize("what", BROKEN)
def test_what_is_no_study_is_refused_and_left_as_it_is(study: Path, what: str) -> None:
    change, why = BROKEN[what]
    data = change(study.read_bytes())
    study.write_bytes(data)
    with pytest.raises(RequestError, match=why) as refused:
        StudyFile(study)
    assert str(study) in str(refused.value)
    assert study.read_bytes() == data
    assert [each.name for each in study.parent.iterdir()] == ["s.study"]


def test_a_figure_that_was_changed_is_not_taken(study: Path) -> None:
    data = study.read_bytes()
    study.write_bytes(data.replace(b'"washes":14', b'"washes":15'))
    with StudyFile(study) as kept, pytest.raises(RequestError, match=r'run 4 of "a" are damaged'):
        kept.find("key", "a", 3)


def test_folders_missing_places_and_links_are_refused(tmp_path: Path) -> None:
    with pytest.raises(RequestError, match="not an ordinary file"):
        StudyFile(tmp_path)
    with pytest.raises(RequestError, match="there is no folder"):
        StudyFile(tmp_path / "none" / "s.study")
    with pytest.raises(RequestError, match="File name too long"):
        StudyFile(tmp_path / ("s" * 300))
    assert list(tmp_path.iterdir()) == []


def test_only_one_study_writes_a_file(study: Path) -> None:
    with StudyFile(study), pytest.raises(RequestError, match="another study is writing it"):
        StudyFile(study)
    with StudyFile(study) as kept:
        assert kept.count() == 201


def test_a_full_disk_ends_with_a_sentence_and_a_readable_file(tmp_path: Path) -> None:
    path = tmp_path / "s.study"
    whole = repeat(case_of(), Crew(Here, 1), replicates=200, run=noisy).to_json()
    with StudyFile(path) as kept:
        kept._base.execute("PRAGMA max_page_count = 40")  # as SQLite's own tests of a full disk do
        with pytest.raises(StudyError, match=r"cannot write .*full; it holds \d+ runs and can be read: make room"):
            repeat(case_of(), Crew(Here, 1), replicates=200, run=noisy, kept=kept)
        count = kept.count()
    with StudyFile(path) as kept:
        assert 0 < kept.count() == count < 400
        assert repeat(case_of(), Crew(Here, 1), replicates=200, run=noisy, kept=kept).to_json() == whole


@pytest.mark.skipif(sys.platform == "win32", reason="file sizes are limited by a Unix call")
def test_a_limit_on_file_size_ends_the_command_alike(tmp_path: Path) -> None:
    case = small_case(tmp_path)
    command = [sys.executable, "-m", "tests.many.limited", "60000", "compare", case, "--replicates", "200"]
    command += ["--workers", "1", "--study", str(tmp_path / "s.study"), "--json", str(tmp_path / "r.json")]
    done = subprocess.run(
        command, cwd=ROOT, env=os.environ | {"FILTERRUN_PLAIN": "1"}, capture_output=True, text=True, check=False
    )
    assert done.returncode == 1
    assert done.stderr.count("\n") == 1
    assert done.stderr.startswith(f"filterrun: cannot write {tmp_path / 's.study'}: ")
    assert not (tmp_path / "r.json").exists()
    with StudyFile(tmp_path / "s.study") as kept:
        assert 0 < kept.count() < 400
    (pages,) = sqlite3.connect(tmp_path / "s.study").execute("PRAGMA integrity_check").fetchone()
    assert pages == "ok"
