"""What the program's text is made of: plain words left in code and templates, and every use of a message.

    python -m tests.words.prose sim/tell/run        # what prose is left there
"""

import ast
import re
import sys
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

from plots.words.catalogue import messages

ROOT = Path(__file__).parents[2]
CODE = sorted(path for top in ("sim", "plots") for path in (ROOT / top).rglob("*.py"))
TEMPLATES = sorted(path for top in ("sim", "plots") for path in (ROOT / top).rglob("*.html"))

OTHERWISE = (
    "sim/case", "sim/log", "sim/write", "sim/weather", "sim/plant", "sim/errors.py", "sim/processes.py",
    "sim/cli/group.py", "sim/study/many/study_file.py", "sim/study/many/warm.py", "plots/sheets.py",
)  # fmt: skip
"""Where text is errors, where they are raised and shown, rows of tables for the kernel, SQL, patterns of a workbook,
or lines of case files, which are English as their keys are."""
SPOKEN = {"say", "label"}
PLAIN = re.compile(r"[A-Za-z]{2,}")


@dataclass(frozen=True, slots=True)
class Use:
    """A message asked for: its key in the catalogue, the names of its arguments, and where."""

    key: str
    arguments: frozenset[str]
    where: str


def parsed(path: Path) -> ast.Module:
    return ast.parse(path.read_text(encoding="utf-8"))


def words_in(text: str) -> list[str]:
    return PLAIN.findall(text)


def prose(path: Path) -> Iterator[tuple[int, str]]:
    """Texts of three words or more, but for docstrings, errors, help of options, types and names of kinds."""
    tree = parsed(path)
    left_out = {id(node) for node in _left_out(tree)}
    for node in (each for each in ast.walk(tree) if isinstance(each, ast.expr)):
        text = _text(node)
        if text is None or id(node) in left_out or text in KINDS or " " not in text.strip() or " --" in text:
            continue
        if len(words_in(text)) >= 3 and not re.fullmatch(r"[\w.,\[\](){}<>:*/=+-]+( [\w.]+)?", text.strip()):
            yield node.lineno, text


def _text(node: ast.AST) -> str | None:
    match node:
        case ast.Constant(value=str(text)):
            return text
        case ast.JoinedStr(values=parts):
            return "".join(part.value if isinstance(part, ast.Constant) else "{}" for part in parts)
    return None


def _left_out(tree: ast.Module) -> Iterator[ast.AST]:
    for node in ast.walk(tree):
        match node:
            case ast.Expr(value=ast.Constant()):  # a docstring
                yield node.value
            case ast.Raise():
                yield from ast.walk(node)
            case ast.Call(func=ast.Name(id=name) | ast.Attribute(attr=name)) if _is_error(name):
                yield from ast.walk(node)
            case ast.AnnAssign(annotation=kind) | ast.arg(annotation=ast.Constant() as kind):
                yield from ast.walk(kind)
            case ast.keyword(arg="help" | "metavar" | "loc" | "message" | "policy"):
                yield from ast.walk(node)
            case ast.arg(annotation=ast.expr() as kind) | ast.FunctionDef(returns=ast.expr() as kind):
                yield from ast.walk(kind)
            case ast.JoinedStr():
                yield from (each for each in ast.walk(node) if each is not node)


def _is_error(name: str) -> bool:
    errors = ("Error", "Refused", "Parameter", "Interrupted", "fail")
    return name.endswith(errors) or name.lstrip("_").startswith(("Refused", "Bad", "refused"))


def _kinds() -> frozenset[str]:
    """Names of kinds: members of literals and enums, and what terms are asked for by."""
    found = set[str]()
    for path in CODE:
        for node in ast.walk(parsed(path)):
            match node:
                case ast.Subscript(value=ast.Name(id="Literal")):
                    found |= {each.value for each in ast.walk(node) if isinstance(each, ast.Constant)}
                case ast.ClassDef(bases=[ast.Name(id="StrEnum"), *_]):
                    found |= {each.value for each in ast.walk(node)
                              if isinstance(each, ast.Constant) and isinstance(each.value, str)}  # fmt: skip
    return frozenset(each for each in found if isinstance(each, str)) | _terms(messages("en")["terms"])


def _terms(table: Mapping[str, Any]) -> frozenset[str]:
    """The names by which terms are asked for."""
    return frozenset(table).union(*(_terms(each) for each in table.values() if isinstance(each, Mapping)))


KINDS = _kinds()


def uses() -> Iterator[Use]:
    """Every call of `say` and `label` whose key is written out, in code and templates."""
    for path in CODE:
        for node in ast.walk(parsed(path)):
            match node:
                case ast.Call(
                    func=ast.Name(id=name),
                    args=[ast.Constant(value=str(key))], keywords=given,
                ) if name in SPOKEN:  # fmt: skip
                    names = frozenset(each.arg for each in given if each.arg)
                    yield Use(f"labels.{key}" if name == "label" else key, names, f"{path.name}:{node.lineno}")
                case ast.Call(func=ast.Name(id="each_of"), args=[ast.Constant(value=str(table))]):
                    yield from _all_of(table, path)
    for path in TEMPLATES:
        for found in re.finditer(r"\b(say|label)\(\s*\"([\w.]+)\"\s*([^)]*)\)", path.read_text(encoding="utf-8")):
            names = frozenset(re.findall(r"(\w+)=", found[3]))
            yield Use(f"labels.{found[2]}" if found[1] == "label" else found[2], names, path.name)
        for found in re.finditer(r"\beach_of\(\"(\w+)\"\)", path.read_text(encoding="utf-8")):
            yield from _all_of(found[1], path)


def _all_of(table: str, path: Path) -> Iterator[Use]:
    return (Use(f"{table}.{name}", frozenset(), path.name) for name in messages("en")[table])


class _Heard(HTMLParser):
    """What a reader sees or hears of a page."""

    SPOKEN = frozenset({"aria-label", "alt", "title", "placeholder"})

    def __init__(self) -> None:
        super().__init__()
        self.found: list[tuple[int, str]] = []
        self._silent = 0

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self._silent += tag in ("style", "script")
        heard = [text for name, text in attrs if text and name in self.SPOKEN]
        self.found += [(self.getpos()[0], text) for text in heard]

    def handle_endtag(self, tag: str) -> None:
        self._silent -= tag in ("style", "script")

    def handle_data(self, data: str) -> None:
        if not self._silent:
            self.found.append((self.getpos()[0], data))


def bare(path: Path) -> Iterator[tuple[int, str]]:
    """Words of a template that no message says: in its text, and in what a reader hears of a tag."""
    text = re.sub(r"\{#.*?#\}|\{%.*?%\}|\{\{.*?\}\}", lambda each: "\n" * each[0].count("\n"),
                  path.read_text(encoding="utf-8"), flags=re.DOTALL)  # fmt: skip
    heard = _Heard()
    heard.feed(text)
    yield from ((line, " ".join(each.split())) for line, each in heard.found if words_in(each))


def main(places: list[str]) -> None:
    for path in (*CODE, *TEMPLATES):
        name = str(path.relative_to(ROOT))
        if any(name.startswith(place) for place in places):
            for line, text in prose(path) if path.suffix == ".py" else bare(path):
                print(f"{name}:{line}: {text[:110]!r}")


if __name__ == "__main__":
    main(sys.argv[1:])
