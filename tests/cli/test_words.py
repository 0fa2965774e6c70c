"""No word of the program claims more than a simulation can, or is jargon of its inside."""

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.cli.small import call, small_case

ROOT = Path(__file__).parent.parent.parent
SOURCES = sorted(path for top in ("sim", "hydraulics", "plots") for path in (ROOT / top).rglob("*.py"))

CLAIMS = (
    r"pathogen|germ|virus|bacteri|cryptospor|giardia",
    r"\blog[- ](removal|credit|reduction|inactivation)",
    r"safe to drink|drinkable|potable",
    r"\bcompl(y|ies|iant|iance)\b",
    r"silt density|\bSDI\b",
    r"membrane('s)? (life|warranty)|warrant[yi]",
    r"\b(in)?adequa(te|cy)\b",
    r"(permission|permitted|allowed|consent) to discharge",
    r"\bguarantee|\bcertif|\bapproved\b",
    r"\bsafe range\b",
)
JARGON = (
    r"\bbreach(es|ed)?\b",
    r"\bbackstop\b",
    r"\binterlock\b",
    r"\bdirty return\b",
)


def texts(path: Path) -> Iterator[tuple[str, bool]]:
    """Every text in a module, and whether it is a docstring."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    documented = (ast.Module, ast.ClassDef, ast.FunctionDef)
    docstrings = {
        id(node.body[0].value)
        for node in ast.walk(tree)
        if isinstance(node, documented) and node.body and isinstance(node.body[0], ast.Expr)
    }
    for node in ast.walk(tree):
        if isinstance(node, ast.Constant) and isinstance(node.value, str):
            yield node.value, id(node) in docstrings


def found(patterns: tuple[str, ...], text: str) -> list[str]:
    return [match.group() for pattern in patterns for match in re.finditer(pattern, text, re.IGNORECASE)]


def test_the_patterns_find_what_they_are_for() -> None:
    assert found(CLAIMS, "2.5-log removal of Giardia, safe to drink") == [
        "Giardia",
        "log removal",
        "safe to drink",
    ]
    assert found(JARGON, "hours of breach") == ["breach"]
    assert found(JARGON, "allowed_over_limit") == []


@pytest.mark.parametrize("path", SOURCES, ids=lambda path: str(path.relative_to(ROOT)))
def test_no_text_in_the_sources_claims_or_confuses(path: Path) -> None:
    for text, documents in texts(path):
        assert found(CLAIMS, text) == []
        is_key = re.fullmatch(r"[a-z0-9_. ]*_[a-z0-9_. ]*|[a-z]+", text) is not None
        assert documents or is_key or found(JARGON, text) == []


def test_no_output_of_a_command_claims_or_confuses(tmp_path: Path) -> None:
    case = small_case(tmp_path)
    outputs = [
        call(*words).output
        for words in (
            ["--help"],
            ["compare", "--help"],
            ["run", "--help"],
            ["sweep", "--help"],
            ["lesson", "--help"],
            ["check", "--help"],
            ["weather", "--help"],
            ["advise", "--help"],
            ["payback", "--help"],
            ["compare", case],
            ["run", case, "--policy", "by volume"],
            ["sweep", case, "--vary", "title=one,two"],
            ["advise", case, "--no-ranges"],
            ["lesson", "rinse"],
            ["lesson", "storm"],
            ["lesson", "warm-water"],
            ["lesson", "stagger"],
            ["lesson", "hold"],
            ["run", case, "--policy", "by volume", "--explain", "day 4 12:00"],
            ["check", case],
        )
    ]
    assert all(outputs)
    for text in outputs:
        assert found(CLAIMS, text) == []
        assert found(JARGON, text) == []
