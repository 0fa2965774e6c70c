"""A study on disk: every run that is done, so that a study that was stopped goes on where it was.

One SQLite database, written by one process. A file of ours is known by 8 bytes of its head before SQLite touches it,
so that a foreign or newer file stays exactly as it is.
"""

import contextlib
import hashlib
import json
import os
import sqlite3
import struct
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import TypeVar

from sim.processes import undivided
from sim.study.errors import RequestError, StudyError
from sim.study.many.outcome import Outcome
from sim.study.whole_files import part_of, require_place

MAGIC = b"SQLite format 3\0"
HEAD = struct.Struct(">60xi4xi")  # of a database: user version, application id
OURS, VERSION = 0x46726E53, 1
TABLE = "CREATE TABLE run (key TEXT PRIMARY KEY, policy TEXT, replicate INTEGER, figures TEXT, digest TEXT) STRICT"
T = TypeVar("T")


class StudyFile:
    """The runs kept in one file. Use as a context manager: it is closed at the end, and closed means complete."""

    def __init__(self, path: Path) -> None:
        self.path = path
        if _is_new(path):
            _make(path)
        self._base = self._asked(lambda: _opened(path))
        try:
            self._asked(self._examine)
        except BaseException:
            self._base.close()
            raise

    def __enter__(self) -> "StudyFile":
        return self

    def __exit__(self, *error: object) -> None:
        with contextlib.suppress(sqlite3.Error):  # a full disk has been told already
            self._base.close()

    def find(self, key: str, policy: str, replicate: int) -> Outcome | None:
        """What is kept under a key; RequestError where it is not what was written."""

        def ask() -> tuple[str, str] | None:
            found: tuple[str, str] | None = self._base.execute(
                "SELECT figures, digest FROM run WHERE key = ?", (key,)
            ).fetchone()
            return found

        row = self._asked(ask)
        if row is None:
            return None
        if row[1] != _digest(key, row[0]):
            raise _refused(self.path, f'the kept figures of run {replicate + 1} of "{policy}" are damaged')
        site, stages, avoidable = json.loads(row[0])
        return Outcome(policy=policy, replicate=replicate, site=site, stages=stages, avoidable_h=tuple(avoidable))

    def keep(self, outcomes: Sequence[tuple[str, Outcome]]) -> None:
        """Write outcomes under their keys, all or none of them; StudyError where the disk takes no more."""
        try:
            with self._base:
                self._base.executemany("INSERT OR IGNORE INTO run VALUES (?, ?, ?, ?, ?)", map(_row, outcomes))
        except sqlite3.Error as error:
            raise StudyError(
                f"cannot write {self.path}: {error}; it holds {self.count()} runs and can be read: make room, and "
                "the same command goes on from there"
            ) from error

    def count(self) -> int:
        """How many runs are kept."""
        with contextlib.suppress(sqlite3.Error):
            self._base.rollback()
        return self._asked(lambda: int(self._base.execute("SELECT count(*) FROM run").fetchone()[0]))

    def _examine(self) -> None:
        if self._base.execute("PRAGMA integrity_check").fetchone()[0] != "ok":
            raise sqlite3.DatabaseError("its pages are damaged")
        self._base.execute("SELECT key, policy, replicate, figures, digest FROM run LIMIT 1")

    def _asked(self, ask: Callable[[], T]) -> T:
        try:
            return ask()
        except sqlite3.Error as error:
            locked = getattr(error, "sqlite_errorcode", None) == sqlite3.SQLITE_BUSY
            why = "another study is writing it" if locked else f"it is damaged ({error})"
            raise _refused(self.path, why) from error


def _refused(path: Path, why: str) -> RequestError:
    return RequestError(f"the study file {path} cannot be used and is left as it is: {why}; name another file")


def _is_new(path: Path) -> bool:
    """Whether there is no such file yet; RequestError for one that is not ours."""
    if not os.path.lexists(path):
        return True
    if not path.is_file():
        raise _refused(path, "it is not an ordinary file")
    try:
        with open(path, "rb") as file:
            head = file.read(100)
    except OSError as error:
        raise _refused(path, str(error.strerror)) from error
    if not head.startswith(MAGIC) or len(head) < HEAD.size:
        raise _refused(path, "it is no study of this program")
    version, owner = HEAD.unpack_from(head)
    if owner != OURS:
        raise _refused(path, "it is no study of this program")
    if version != VERSION:
        raise _refused(path, f"its format is {version}, a newer program's; this one writes format {VERSION}")
    return False


def _make(path: Path) -> None:
    """An empty study under this name, whole or not at all; an interrupt waits, so that no part of it is left."""
    with undivided():
        require_place(path)
        _make_whole(path)


def _make_whole(path: Path) -> None:
    part = part_of(path)
    try:
        with contextlib.closing(sqlite3.connect(part)) as base:
            base.execute("PRAGMA journal_mode = MEMORY")  # a kill leaves no second file beside the part
            base.execute(f"PRAGMA application_id = {OURS}")
            base.execute(f"PRAGMA user_version = {VERSION}")
            base.execute(TABLE)
            base.commit()
        os.replace(part, path)
    except (OSError, sqlite3.Error) as error:
        raise StudyError(f"cannot write {path}: {error}; make room there, or name another place") from error
    finally:
        part.unlink(missing_ok=True)


def _opened(path: Path) -> sqlite3.Connection:
    """The database, held by this process alone until it is closed or the process ends, however it ends."""
    base = sqlite3.connect(path, timeout=1.0, isolation_level="IMMEDIATE")
    try:
        for setting in ("locking_mode = EXCLUSIVE", "journal_mode = WAL", "synchronous = FULL"):
            base.execute(f"PRAGMA {setting}")
    except BaseException:
        base.close()
        raise
    return base


def _row(kept: tuple[str, Outcome]) -> tuple[str, str, int, str, str]:
    key, outcome = kept
    figures = json.dumps([outcome.site, outcome.stages, outcome.avoidable_h], allow_nan=False, separators=(",", ":"))
    return key, outcome.policy, outcome.replicate, figures, _digest(key, figures)


def _digest(key: str, figures: str) -> str:
    return hashlib.sha256(f"{key} {figures}".encode()).hexdigest()


@contextlib.contextmanager
def study_file(path: Path | None) -> Iterator[StudyFile | None]:
    """The study in a file, or none."""
    if path is None:
        yield None
    else:
        with StudyFile(path) as study:
            yield study
