"""Writing results: every file whole or not at all, and a place refused before anything is run."""

import contextlib
import json
import os
import stat
import tempfile
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from sim.study.errors import RequestError


def as_json(data: Mapping[str, Any]) -> str:
    """JSON text in the order of `data`, ASCII only; a figure that is not finite is an error."""
    return json.dumps(data, indent=2, allow_nan=False) + "\n"


def require_folder(folder: Path) -> None:
    """Refuse an output folder that cannot be made or written; nothing is left behind by the trial."""
    existing = folder
    while not os.path.lexists(existing) and existing != existing.parent:
        existing = existing.parent
    if not existing.is_dir():
        raise RequestError(f"cannot write to folder {folder}: {existing} is not a folder")
    try:
        with tempfile.TemporaryFile(dir=existing):
            pass
    except OSError as error:
        raise RequestError(f"cannot write to folder {folder}: {error.strerror}") from error


def require_file(path: Path, *, made: Path | None, case: Path) -> None:
    """Refuse an output file that is no ordinary file, is the case itself, or has no folder to lie in.

    `made` is the output folder that the same command makes if it is missing.
    """
    if path.resolve() == case.resolve():
        raise RequestError(f"cannot write {path}: it is the case file")
    if os.path.lexists(path) and not _ordinary(path):
        raise RequestError(f"cannot write {path}: it is not an ordinary file (standard output is -)")
    if made is not None and path.parent.resolve() == made.resolve():
        return
    if not path.parent.is_dir():
        raise RequestError(f"cannot write {path}: there is no folder {path.parent}")
    require_folder(path.parent)


def _ordinary(path: Path) -> bool:
    try:
        return stat.S_ISREG(path.stat().st_mode)
    except OSError:
        return False


def write_all(texts: Mapping[Path, str | bytes]) -> None:
    """Write every text, or bytes, to its file, or none of them.

    All of them go to temporary files beside their targets before the first one takes its name; folders that are
    missing are made, and taken away again if the writing fails.
    """
    made: list[Path] = []
    waiting: dict[Path, Path] = {}
    try:
        for path, text in texts.items():
            _make_folder(path.parent, made)
            target = path.resolve()
            waiting[target] = target.with_name(f".{target.name}.{os.getpid()}.part")
            if isinstance(text, bytes):
                with open(waiting[target], "xb") as binary:
                    binary.write(text)
            else:
                with open(waiting[target], "x", encoding="utf-8", newline="") as file:
                    file.write(text)
        while waiting:
            target = next(iter(waiting))
            os.replace(waiting[target], target)
            del waiting[target]
        made.clear()
    finally:
        for part in waiting.values():
            part.unlink(missing_ok=True)
        for folder in reversed(made):
            with contextlib.suppress(OSError):
                folder.rmdir()


def _make_folder(folder: Path, made: list[Path]) -> None:
    missing = [folder, *folder.parents]
    for each in reversed(missing):
        if not each.is_dir():
            each.mkdir()
            made.append(each)
