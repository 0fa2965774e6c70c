"""Wrong operators, drawn at random, and whether the default tests of their room notice.

    python -m tests.mutants review --count 20 --seed 1

Works on a copy of the checkout, where the tests have to pass first. Each mutant swaps one operator of one file of the
room; it lives if every test of the room passes all the same. Survivors are printed with line: a test is missing,
or the two ways are one. Tests that name the mutated file run first, then the quick ones, up to the first that fails.
"""

import argparse
import ast
import os
import random
import re
import shutil
import subprocess
import sys
import tempfile
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).parents[1]

ROOMS: dict[str, tuple[str, tuple[str, ...]]] = {
    "hydraulics": ("hydraulics", ("tests/hydraulics", "tests/published")),
    "case": ("sim/case", ("tests/case",)),
    "weather": ("sim/weather", ("tests/weather",)),
    "wash": ("sim/wash", ("tests/wash",)),
    "plant": ("sim/plant", ("tests/plant", "tests/twin", "tests/agreement")),
    "review": ("sim/review", ("tests/review",)),
    "study": ("sim/study", ("tests/study",)),
    "decide": ("sim/study/decide", ("tests/decide",)),
    "many": ("sim/study/many", ("tests/many",)),
    "tell": ("sim/tell", ("tests/tell",)),
    "lessons": ("sim/lessons", ("tests/lessons",)),
    "write": ("sim/write", ("tests/write",)),
    "cli": ("sim/cli", ("tests/cli",)),
    "web": ("sim/web", ("tests/web",)),
    "plots": ("plots", ("tests/plots",)),
}
"""Where a room's code lies, and its tests beside its doctests. A room inside another is not drawn from with it."""

SWAPS: dict[type[ast.AST], tuple[str, str]] = {
    ast.Add: ("+", "-"), ast.Sub: ("-", "+"), ast.Mult: ("*", "/"), ast.Div: ("/", "*"),
    ast.Lt: ("<", "<="), ast.LtE: ("<=", "<"), ast.Gt: (">", ">="), ast.GtE: (">=", ">"),
    ast.Eq: ("==", "!="), ast.NotEq: ("!=", "=="), ast.And: ("and", "or"), ast.Or: ("or", "and"),
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Mutant:
    """One operator of one file: where its text begins, what it is and what it becomes."""

    path: str
    line: int
    column: int
    start: int
    before: str
    after: str

    def __str__(self) -> str:
        return f"{self.path}:{self.line}:{self.column}  {self.before} -> {self.after}"

    def of(self, text: bytes) -> bytes:
        """The file with this operator swapped."""
        return text[: self.start] + self.after.encode() + text[self.start + len(self.before) :]


def mutants_of(room: str) -> list[Mutant]:
    """Every operator of a room's code that has a counterpart, in the order of files and lines."""
    home = ROOMS[room][0]
    inner = [other for other, _ in ROOMS.values() if other.startswith(f"{home}/")]
    found: list[Mutant] = []
    for path in sorted((ROOT / home).rglob("*.py")):
        name = path.relative_to(ROOT).as_posix()
        if not any(name.startswith(f"{other}/") for other in inner):
            found += _mutants(name, path.read_bytes())
    return found


def _mutants(name: str, text: bytes) -> Iterator[Mutant]:
    starts = [0]
    for line in text.splitlines(keepends=True):
        starts.append(starts[-1] + len(line))
    for node in ast.walk(ast.parse(text)):
        for left, operator, right in _operators(node):
            before, after = SWAPS[type(operator)]
            low = starts[left.end_lineno - 1] + left.end_col_offset  # type: ignore[operator]
            high = starts[right.lineno - 1] + right.col_offset
            at = text.find(before.encode(), low, high)
            if at >= 0:
                line = text.count(b"\n", 0, at) + 1
                yield Mutant(name, line, at - starts[line - 1] + 1, at, before, after)


def _operators(node: ast.AST) -> Iterator[tuple[ast.expr, ast.AST, ast.expr]]:
    """The operators of a node with what stands on either side, none of them in text."""
    if isinstance(node, ast.BinOp) and type(node.op) in SWAPS and not _is_text(node.left, node.right):
        yield node.left, node.op, node.right
    elif isinstance(node, ast.Compare):
        sides = [node.left, *node.comparators]
        for place, operator in enumerate(node.ops):
            if type(operator) in SWAPS:
                yield sides[place], operator, sides[place + 1]
    elif isinstance(node, ast.BoolOp):
        for left, right in zip(node.values, node.values[1:], strict=False):
            yield left, node.op, right


def _is_text(*sides: ast.expr) -> bool:
    return any(isinstance(side, ast.JoinedStr) or isinstance(getattr(side, "value", None), str) for side in sides)


def seconds_of(room: str, copy: Path) -> dict[str, float]:
    """The room's files of tests and of doctests, with the seconds that each takes where nothing is wrong."""
    home, folders = ROOMS[room]
    files = [path for folder in (home, *folders) for path in sorted((copy / folder).rglob("*.py"))]
    with_tests = [path for path in files if path.name.startswith("test_") or ">>> " in path.read_text("utf-8")]
    names = [path.relative_to(copy).as_posix() for path in with_tests]
    done = _tested(copy, names)
    if done.returncode:
        sys.exit(f"the tests of {room} fail without any mutant:\n{done.stdout}")
    taken = Counter(dict.fromkeys(names, 0.0))
    for seconds, name in re.findall(r"^([\d.]+)s \w+ +(\S+?\.py)", done.stdout, re.MULTILINE):
        taken[name] += float(seconds)
    return dict(taken)


def in_order(mutant: Mutant, seconds: Mapping[str, float], copy: Path) -> list[str]:
    """Test files, those first that are or name the mutated file, then as long as they take."""
    module = re.compile(rf"\b{Path(mutant.path).stem}\b")

    def place(name: str) -> tuple[bool, float]:
        names_it = name == mutant.path or module.search((copy / name).read_text("utf-8"))
        return not names_it, seconds[name]

    return sorted(seconds, key=place)


def lives(mutant: Mutant, copy: Path, tests: Iterable[str], timeout: float) -> bool:
    """Whether every test passes in `timeout` seconds with the mutant in place, which is taken out again."""
    path = copy / mutant.path
    text = path.read_bytes()
    path.write_bytes(mutant.of(text))
    try:
        return _tested(copy, tests, timeout).returncode == 0
    except subprocess.TimeoutExpired:  # a mutant without end is noticed
        return False
    finally:
        path.write_bytes(text)


def _tested(copy: Path, tests: Iterable[str], timeout: float | None = None) -> subprocess.CompletedProcess[str]:
    options = ["-x", "-q", "-n", "0", "-p", "no:cacheprovider", "--durations=0", "--durations-min=0.05"]
    words = [sys.executable, "-m", "pytest", *options, *tests]
    there = os.environ | {"PYTHONPATH": str(copy)}
    return subprocess.run(words, cwd=copy, env=there, capture_output=True, text=True, timeout=timeout)


def main() -> None:
    """Draw, try and count; exit code 1 where one lives."""
    parser = argparse.ArgumentParser(prog="python -m tests.mutants", description=__doc__)
    parser.add_argument("room", choices=ROOMS)
    parser.add_argument("--count", type=int, default=20)
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args()
    every = mutants_of(asked.room)
    drawn = random.Random(asked.seed).sample(every, min(asked.count, len(every)))
    survivors = 0
    with tempfile.TemporaryDirectory() as folder:
        copy = Path(folder) / "copy"
        shutil.copytree(ROOT, copy, ignore=shutil.ignore_patterns(".git", ".venv", "__pycache__", ".*_cache"))
        seconds = seconds_of(asked.room, copy)
        for mutant in drawn:
            living = lives(mutant, copy, in_order(mutant, seconds, copy), 600 + 5 * sum(seconds.values()))
            survivors += living
            print(f"{'LIVES' if living else 'killed':6}  {mutant}", flush=True)
    print(f"{len(drawn) - survivors} of {len(drawn)} killed, of {len(every)} operators in {asked.room}")
    sys.exit(1 if survivors else 0)


if __name__ == "__main__":
    main()
