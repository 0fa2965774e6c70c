"""Every message is said, with the arguments that it has; no prose stands elsewhere; none has words we gave up."""

import ast
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any, get_args

import pytest

from plots.words import catalogue
from plots.words.catalogue import fields_of
from sim.write.questions import BY_KEY
from tests.cli.test_words import CLAIMS, JARGON, found
from tests.words.kinds import KINDS
from tests.words.prose import CODE, OTHERWISE, ROOT, SPOKEN, TEMPLATES, bare, parsed, prose, uses

GIVEN_UP = (
    r"\bspare[sd]?\b", r"\bstands?\b", r"\bwants?\b", r"\btells?\b", r"\btold\b", r"\bturns\b", r"\bdearer\b",
    r"\bpolic(y|ies)\b", r"\blatest\b", r"\boff ?line\b",
)  # fmt: skip
"""A common word does in their place: saves, is idle, asks, shows, changes, costlier, way, longest run, downtime."""
PLURALS = {"zero", "one", "two", "few", "many", "other"}
NAMED_FOR_FIGURES = ("result.", "labels.null.")
"""What begins the keys of messages that end in the key of a figure: tests/tell/test_results.py sees to these."""
NOT_SAID = ("locale", "months", "pattern", "terms")
ENDS = (".", "?", "!", ":")

BY_NAME = ("check.", "labels.check.", "labels.source.", "asked.w", "labels.asked.")
"""Messages asked for by the name of a finding or source (see tests/words/test_check_messages.py) or question."""


def messages(place: Mapping[str, Any], key: str = "") -> Iterator[tuple[str, Any]]:
    """Every message by its dotted key: a text, or a table of variants with the name that they go by."""
    for name, each in place.items():
        if key or name not in NOT_SAID:
            dotted = f"{key}.{name}" if key else name
            if isinstance(each, Mapping) and "by" not in each:
                yield from messages(each, dotted)
            else:
                yield dotted, each


def texts_of(message: Any) -> list[str]:
    return [message] if isinstance(message, str) else [text for name, text in message.items() if name != "by"]


MESSAGES = dict(messages(catalogue.messages("en")))


def test_every_message_is_said_with_its_arguments_and_every_one_that_is_said_is_there() -> None:
    said = set[str]()
    for use in uses():
        assert use.key in MESSAGES, f"{use.where}: no message {use.key}"
        assert fields_of(MESSAGES[use.key]) == use.arguments, f"{use.where}: {use.key}"
        said.add(use.key)
    unsaid = MESSAGES.keys() - said
    assert not sorted(key for key in unsaid if not key.startswith((*BY_NAME, *NAMED_FOR_FIGURES))), "never said"


def test_every_question_of_new_has_its_words_and_no_other_is_there() -> None:
    english = catalogue.messages("en")
    assert list(english["labels"]["asked"]) == list(english["asked"]["why"]) == list(BY_KEY)
    assert list(english["asked"]["without"]) == [key for key, question in BY_KEY.items() if not question.needed]


def test_variants_by_a_kind_have_every_kind() -> None:
    by_kind = {key: set(each) - {"by"} for key, each in MESSAGES.items()
               if isinstance(each, Mapping) and not set(each) - {"by"} <= PLURALS}  # fmt: skip
    assert by_kind == {key: set(get_args(kind)) for key, kind in KINDS.items()}


@pytest.mark.parametrize("key", sorted(MESSAGES.keys()))
def test_a_message_is_whole_and_plain(key: str) -> None:
    for text in texts_of(MESSAGES[key]):
        assert found(CLAIMS, text) == []
        assert found(JARGON, text) == []
        assert found(GIVEN_UP, text) == []
        assert "  " not in text.strip()
        if key.startswith("labels."):
            assert not text.endswith((".", "!")), "a sentence among the labels"
        else:
            assert text.endswith(ENDS), "a fragment among the sentences"
            assert text[0].isupper() or text[0] in "{“", "a fragment among the sentences"


@pytest.mark.parametrize("path", CODE, ids=lambda path: str(path.relative_to(ROOT)))
def test_no_prose_in_code(path: Path) -> None:
    name = str(path.relative_to(ROOT))
    if not name.startswith(OTHERWISE):
        assert list(prose(path)) == []


@pytest.mark.parametrize("path", TEMPLATES, ids=lambda path: str(path.relative_to(ROOT)))
def test_no_words_in_a_template(path: Path) -> None:
    assert list(bare(path)) == []


@pytest.mark.parametrize("path", CODE, ids=lambda path: str(path.relative_to(ROOT)))
def test_nothing_is_said_while_a_module_loads(path: Path) -> None:
    """It would be said in the language spoken then."""
    tree = parsed(path)
    functions = [node for node in ast.walk(tree) if isinstance(node, ast.FunctionDef | ast.Lambda)]
    inside = {id(each) for function in functions for each in ast.walk(function)}
    early = [node.lineno for node in ast.walk(tree) if isinstance(node, ast.Call) and isinstance(node.func, ast.Name)
             and node.func.id in SPOKEN | {"term"} and id(node) not in inside]  # fmt: skip
    assert early == []


def test_the_search_for_prose_finds_some(tmp_path: Path) -> None:
    code = tmp_path / "code.py"
    code.write_text("#\nraise ValueError('an error of words')\nx = f'a text of {1} words'\n", encoding="utf-8")
    assert [text for _, text in prose(code)] == ["a text of {} words"]
    template = tmp_path / "page.html"
    template.write_text('<p title="a hint">{{ say("a.b") }} and more</p>')
    assert {text for _, text in bare(template)} == {"and more", "a hint"}
