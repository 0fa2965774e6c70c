"""Files appear whole or not at all; a place that cannot be written is refused before anything is run."""

import math
import os
import subprocess
import sys
from pathlib import Path

import pytest

from sim.study.errors import RequestError, StudyError
from sim.study.whole_files import as_json, require_file, require_folder, write_all


def everything(folder: Path) -> list[str]:
    return sorted(str(path.relative_to(folder)) for path in folder.rglob("*"))


def test_all_files_are_written_and_nothing_else(tmp_path: Path) -> None:
    write_all({tmp_path / "new" / "deep" / "a.csv": "1\n", tmp_path / "new" / "b.csv": "2\n"})
    assert everything(tmp_path) == ["new", "new/b.csv", "new/deep", "new/deep/a.csv"]
    assert (tmp_path / "new" / "deep" / "a.csv").read_bytes() == b"1\n"


def test_an_older_file_is_replaced_through_a_link(tmp_path: Path) -> None:
    (tmp_path / "old.csv").write_text("old")
    (tmp_path / "link.csv").symlink_to(tmp_path / "old.csv")
    write_all({tmp_path / "link.csv": "new"})
    assert (tmp_path / "old.csv").read_text() == "new"
    assert (tmp_path / "link.csv").is_symlink()


def test_files_have_the_permissions_of_any_new_file(tmp_path: Path) -> None:
    (tmp_path / "plain").write_text("")
    write_all({tmp_path / "a.csv": "1"})
    assert (tmp_path / "a.csv").stat().st_mode == (tmp_path / "plain").stat().st_mode


@pytest.mark.parametrize(
    ("stop", "told"),
    [(OSError(28, "disk full"), "cannot write to .*b.csv: disk full; make room there"), (KeyboardInterrupt(), None)],
)
def test_a_broken_write_leaves_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, stop: BaseException, told: str | None
) -> None:
    """The second text fails after a part of it is on disk."""
    real, opened = open, []

    def failing(path: Path, *args: object, **kwargs: object) -> object:
        file = real(path, *args, **kwargs)  # type: ignore[call-overload]
        opened.append(path)
        if len(opened) == 2:
            file.write("half")
            file.close()
            raise stop
        return file

    monkeypatch.setattr("builtins.open", failing)
    with pytest.raises(StudyError if told else type(stop), match=told):
        write_all({tmp_path / "new" / "a.csv": "1", tmp_path / "new" / "b.csv": "2"})
    assert everything(tmp_path) == []


def test_a_broken_write_keeps_the_older_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "a.csv").write_text("old")

    def failing(source: Path, target: Path) -> None:
        raise OSError("no")

    monkeypatch.setattr(os, "replace", failing)
    with pytest.raises(StudyError, match="no"):
        write_all({tmp_path / "a.csv": "new"})
    assert everything(tmp_path) == ["a.csv"]
    assert (tmp_path / "a.csv").read_text() == "old"


def test_what_a_killed_program_left_is_taken_away_and_what_a_running_one_writes_is_not(tmp_path: Path) -> None:
    ended = subprocess.Popen([sys.executable, "-c", "pass"])
    ended.wait()
    gone, here = ended.pid, os.getppid()
    for name in (f".a.csv.{gone}.part", f".a.csv.{here}.part", f".b.csv.{gone}.part", ".a.csv.x.part"):
        (tmp_path / name).write_text("half")
    write_all({tmp_path / "a.csv": "1"})
    assert f".a.csv.{ended.pid}.part" not in everything(tmp_path)
    assert len(everything(tmp_path)) == 4


def test_a_folder_that_is_missing_is_not_made_by_the_trial(tmp_path: Path) -> None:
    require_folder(tmp_path / "new" / "deep")
    assert everything(tmp_path) == []


def test_a_file_is_no_folder(tmp_path: Path) -> None:
    (tmp_path / "out").write_text("mine")
    for folder in (tmp_path / "out", tmp_path / "out" / "deep"):
        with pytest.raises(RequestError, match="is not a folder"):
            require_folder(folder)


def test_a_folder_that_takes_no_file_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A stand-in for a folder without write permission, which the superuser does not have."""

    def refusing(dir: Path) -> None:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr("sim.study.whole_files.tempfile.TemporaryFile", refusing)
    with pytest.raises(RequestError, match=r"cannot write to folder .*: Permission denied"):
        require_folder(tmp_path)


def test_where_json_may_go(tmp_path: Path) -> None:
    case = tmp_path / "case.toml"
    case.write_text("")
    require_file(tmp_path / "a.json", made=None, case=case)
    require_file(tmp_path / "new" / "a.json", made=tmp_path / "new", case=case)
    (tmp_path / "again").symlink_to(case)
    refused = {
        tmp_path: "not an ordinary file",
        Path("/dev/null"): "not an ordinary file",
        Path("/dev/stdout"): "not an ordinary file",
        case: "it is the case file",
        tmp_path / "again": "it is the case file",
        tmp_path / "nowhere" / "a.json": "there is no folder",
    }
    (tmp_path / "round").symlink_to(tmp_path / "round")
    refused |= {
        tmp_path / "round": "not an ordinary file",
        tmp_path / f"{'a' * 300}.json": "File name too long",
    }
    for path, message in refused.items():
        with pytest.raises(RequestError, match=message):
            require_file(path, made=None, case=case)
    made = tmp_path / "new"
    for path, message in {made: "the folder of --out", made / "report.html": "has to end in .json"}.items():
        with pytest.raises(RequestError, match=message):
            require_file(path, made=made, case=case)
    with pytest.raises(RequestError, match="File name too long"):
        require_folder(tmp_path / ("a" * 300))
    assert {each.name for each in tmp_path.iterdir()} == {"case.toml", "again", "round"}


def test_json_is_ascii_in_the_order_given_and_never_holds_nan() -> None:
    assert as_json({"b": None, "a": "m³"}) == '{\n  "b": null,\n  "a": "m\\u00b3"\n}\n'
    with pytest.raises(ValueError, match="Out of range"):
        as_json({"a": math.nan})
