"""Exact: files that are no case at all, each with its own message."""

import os
from pathlib import Path

import pytest

from sim.case import reading
from sim.case import source as files
from sim.case.load import load_case
from sim.case.reading import MOST_JUDGED
from sim.errors import CaseError, Problem
from tests.case.samples import SMALL, load_text, problems_of


def only_problem(path: Path) -> Problem:
    (problem,) = problems_of(path)
    assert problem.key == ""
    return problem


def test_missing_file(tmp_path: Path) -> None:
    path = tmp_path / "nowhere.toml"
    wanted = Problem(str(path), None, "", "no such file", "a case file", "another path, or other spelling")
    assert only_problem(path) == wanted
    with pytest.raises(CaseError, match=r"nowhere\.toml: given no such file"):
        load_case(path)


def test_folder(tmp_path: Path) -> None:
    problem = only_problem(tmp_path)
    assert (problem.given, problem.try_) == ("a folder", "the path of a file in that folder")


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="the system has no named pipes")
def test_pipe_is_refused_without_waiting_for_it(tmp_path: Path) -> None:
    path = tmp_path / "pipe"
    os.mkfifo(path)
    assert only_problem(path).given == "a device or pipe"


def test_path_that_no_system_takes() -> None:
    problem = only_problem(Path("a\0b.toml"))
    assert problem.file == "a\\x00b.toml"
    assert problem.given == "a file that cannot be read: embedded null byte"


def test_path_whose_name_is_too_long(tmp_path: Path) -> None:
    problem = only_problem(tmp_path / ("a" * 300))
    assert problem.given == "a file that cannot be read: File name too long"


@pytest.mark.skipif(getattr(os, "geteuid", int)() == 0, reason="the superuser may read everything")
def test_file_without_permission(tmp_path: Path) -> None:
    path = tmp_path / "case.toml"
    path.write_text(SMALL, encoding="utf-8")
    path.chmod(0)
    assert only_problem(path).given == "a file that cannot be read: Permission denied"


@pytest.mark.parametrize("excess", [0, 1])
def test_size_is_capped_at_one_mebibyte(tmp_path: Path, excess: int) -> None:
    path = tmp_path / "case.toml"
    comment = "#" + "x" * 1023
    text = SMALL + f"{comment}\n" * 1022
    path.write_text(text + "#" * (2**20 + excess - len(text)), encoding="utf-8")
    assert path.stat().st_size == 2**20 + excess
    problems = problems_of(path)
    assert [problem.given for problem in problems] == ["more than 1 MiB"] * excess


@pytest.mark.parametrize("excess", [0, 1])
def test_length_of_a_line_is_capped(tmp_path: Path, excess: int) -> None:
    path = tmp_path / "case.toml"
    path.write_text(SMALL + "#" * (2000 + excess), encoding="utf-8")
    found = [(problem.line, problem.given) for problem in problems_of(path)]
    assert found == [(SMALL.count("\n") + 1, "a line of 2001 characters")] * excess


def test_text_in_another_encoding(tmp_path: Path) -> None:
    path = tmp_path / "case.toml"
    path.write_bytes(SMALL.replace("A small case", "A small café").encode("latin-1"))
    wanted = Problem(str(path), 1, "", "the byte 0xe9", "text in UTF-8", "saving the file as UTF-8")
    assert only_problem(path) == wanted
    path.write_bytes(SMALL.encode("utf-16"))
    assert only_problem(path).given == "the byte 0xff"


def test_byte_order_mark_and_windows_line_ends_are_taken(tmp_path: Path) -> None:
    path = tmp_path / "case.toml"
    path.write_bytes(b"\xef\xbb\xbf" + SMALL.replace("\n", "\r\n").encode())
    assert load_case(path) == load_text(tmp_path, SMALL)


def test_empty_file_misses_every_table(tmp_path: Path) -> None:
    path = tmp_path / "case.toml"
    path.write_bytes(b"")
    found = [(problem.line, problem.key) for problem in problems_of(path)]
    assert found == [(1, key) for key in ("title", "run", "feed", "demand", "stage", "policy")]


@pytest.mark.parametrize(
    "deep",
    [
        "x = " + "[" * 900 + "]" * 900,
        "x = " + "[" * 30 + "]" * 30,
        "x = " + "{ a = " * 100 + "1" + " }" * 100,
        "[" + ".".join(["a"] * 900) + "]",
    ],
    ids=["beyond the parser", "lists", "inline tables", "dotted header"],
)
def test_deep_nesting(tmp_path: Path, deep: str) -> None:
    path = tmp_path / "case.toml"
    path.write_text(SMALL + deep, encoding="utf-8")
    problem = only_problem(path)
    assert problem.given == "lists or tables within each other"
    assert problem.allowed == "up to 20 levels"


@pytest.mark.parametrize(("levels", "key"), [(20, "k"), (21, "")])
def test_twenty_levels_are_read(tmp_path: Path, levels: int, key: str) -> None:
    """Of these it is the key that is wrong, of more the file."""
    path = tmp_path / "case.toml"
    path.write_text(f"{'.'.join('k' * levels)} = 1\n{SMALL}", encoding="utf-8")
    (problem,) = problems_of(path)
    assert problem.key == key


def test_a_hundred_thousand_problems_are_counted_and_the_first_fifty_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What costs time, the search for the nearest name, is done for a few of them only."""
    sought: list[str] = []
    monkeypatch.setattr(reading, "nearest_or", lambda word, known, otherwise: sought.append(word) or otherwise)
    path = tmp_path / "case.toml"
    path.write_text("".join(f"k{number}=1\n" for number in range(100_000)) + SMALL, encoding="utf-8")
    with pytest.raises(CaseError) as caught:
        load_case(path)
    assert caught.value.count == "100,000 problems"
    assert [problem.line for problem in caught.value.problems] == list(range(1, 51))
    assert len(sought) == MOST_JUDGED


def test_a_dotted_key_of_many_parts_never_reaches_the_parser(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(files.tomllib, "loads", lambda text: pytest.fail("parsed"))
    path = tmp_path / "case.toml"
    path.write_text(SMALL + "\n".join(f"k{n}." + "a . 'b'." * 20 + "c = 1" for n in range(100)), encoding="utf-8")
    problem = only_problem(path)
    assert (problem.line, problem.allowed) == (SMALL.count("\n") + 1, "up to 20 levels")
