"""Writing results: every file whole or not at all, and a place refused before anything is run."""

import contextlib
import errno
import glob
import json
import os
import stat
import sys
import tempfile
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from sim.processes import has_written, undivided
from sim.study.errors import RequestError, StudyError


def as_json(data: Mapping[str, Any]) -> str:
    """JSON text in the order of `data`, ASCII only; a figure that is not finite is an error."""
    return json.dumps(data, indent=2, allow_nan=False) + "\n"


FULL = (errno.ENOSPC, errno.EFBIG, errno.EDQUOT)
SHORTEST_DRAWN = 600.0  # s of a run, of which figures and reports show minutes


def real_path(path: Path) -> Path:
    """The file behind links; the path itself where they go round in a circle."""
    return Path(os.path.realpath(path))


def require_folder(folder: Path) -> None:
    """Refuse an output folder that cannot be made or written; nothing is left behind by the trial."""
    existing = folder
    while not os.path.lexists(existing) and existing != existing.parent:
        existing = existing.parent
    if not existing.is_dir():
        raise RequestError(f"cannot write to folder {folder}: {existing} is not a folder")
    made: list[Path] = []
    try:
        _make_folder(folder, made)
        with tempfile.TemporaryFile(dir=folder):
            pass
    except OSError as error:
        raise RequestError(
            f"cannot write to folder {folder}: {error.strerror}; name another place, or change who may write there"
        ) from error
    finally:
        _take_away(made)


def require_file(path: Path, *, made: Path | None, case: Path) -> None:
    """Refuse an output file that is no ordinary file, is the case or may be another output, or has no folder.

    `made` is the output folder that the same command makes if it is missing.
    """
    if real_path(path) == real_path(case):
        raise RequestError(f"cannot write {path}: it is the case file")
    if os.path.lexists(path) and not _ordinary(path):
        raise RequestError(f"cannot write {path}: it is not an ordinary file (standard output is -)")
    if made is not None and real_path(path) == real_path(made):
        raise RequestError(f"cannot write {path}: it is the folder of --out")
    if made is not None and real_path(path.parent) == real_path(made):
        if path.suffix != ".json":
            raise RequestError(f"cannot write {path}: in the folder of --out its name has to end in .json")
        require_folder(made)
        return
    require_place(path)


def require_place(path: Path) -> None:
    """Refuse a file that has no folder to lie in, or a name that cannot be written there."""
    if not path.name:
        raise RequestError(f"cannot write {path}: that names no file; try: a name in that folder")
    if not path.parent.is_dir():
        raise RequestError(f"cannot write {path}: there is no folder {path.parent}")
    require_folder(path.parent)
    part = part_of(path)
    try:
        with undivided():
            part.touch(exist_ok=False)
            part.unlink()
    except OSError as error:
        raise RequestError(f"cannot write {path}: {error.strerror}") from error


def _ordinary(path: Path) -> bool:
    """Whether it is a file of its own; what stands under /dev is another way to call one, or none."""
    try:
        return path.parts[:2] != ("/", "dev") and stat.S_ISREG(path.stat().st_mode)
    except OSError:
        return False


def write_all(texts: Mapping[Path, str | bytes]) -> None:
    """Write every text, or bytes, to its file, or none of them.

    All of them go to temporary files beside their targets before the first one takes its name; folders that are
    missing are made, and taken away again if the writing fails, which StudyError tells.
    """
    with undivided():
        _write_all(texts)
        has_written()


def _write_all(texts: Mapping[Path, str | bytes]) -> None:
    made: list[Path] = []
    waiting: dict[Path, Path] = {}
    try:
        for path, text in texts.items():
            _make_folder(path.parent, made)
            target = real_path(path)
            if target.is_dir():
                raise OSError(errno.EISDIR, "a folder has this name")
            waiting[target] = part_of(target)
            if isinstance(text, bytes):
                with open(waiting[target], "xb") as binary:
                    binary.write(text)
            else:
                with open(waiting[target], "x", encoding="utf-8", newline="") as file:
                    file.write(text)
        while waiting:
            path = target = next(iter(waiting))
            os.replace(waiting[target], target)
            del waiting[target]
        made.clear()
    except OSError as error:
        raise cannot_write(path, error) from error
    finally:
        for part in waiting.values():
            part.unlink(missing_ok=True)
        _take_away(made)


def part_of(path: Path) -> Path:
    """What a file is called until it is whole; parts of it that killed programs left are taken away."""
    for left in path.parent.glob(f".{glob.escape(path.name)}.*.part"):
        owner = left.name.split(".")[-2]
        if owner.isdigit() and not _is_running(int(owner)):
            left.unlink(missing_ok=True)
    return path.with_name(f".{path.name}.{os.getpid()}.part")


def _is_running(process: int) -> bool:
    """Whether there may be such a process; where nobody can ask without ending it, there may."""
    if sys.platform == "win32":
        return True
    try:
        os.kill(process, 0)
    except ProcessLookupError:
        return False
    except OSError:
        return True
    return True


def cannot_write(path: Path | str, error: OSError) -> StudyError:
    """What is told of a file or folder that could not be written, with what to do about it."""
    return StudyError(
        f"cannot write to {path}: {error.strerror or error}; "
        + ("make room there, or name another place" if error.errno in FULL else "name another place")
    )


def _take_away(made: list[Path]) -> None:
    for folder in reversed(made):
        with contextlib.suppress(OSError):
            folder.rmdir()


def _make_folder(folder: Path, made: list[Path]) -> None:
    missing = [folder, *folder.parents]
    for each in reversed(missing):
        if not each.is_dir():
            each.mkdir()
            made.append(each)
