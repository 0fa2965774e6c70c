"""Every finding has its messages, and every message of the review is said: they go by the names of findings."""

from collections.abc import Iterator
from typing import Any, get_args

import pytest

from plots.words.catalogue import fields_of, messages
from sim.case.load import load_case
from sim.case.records import Case
from sim.case.series.records import Oxidant
from sim.review.findings import Cited, Facts, Finding, FindingName, Source
from sim.review.review import review
from tests.review.chemical_designs import CHEMICAL_CASES
from tests.review.designs import CASES as PLAIN_CASES
from tests.review.train_designs import TRAIN_CASES
from tests.words.prose import ROOT

NAMES = get_args(FindingName)
ENGLISH = messages("en")
LABELS, SENTENCES, SOURCES = (ENGLISH["labels"]["check"], ENGLISH["check"], ENGLISH["labels"]["source"])
OF_ALL = {"more", "kept", "not_shown"}
"""What is said of no finding alone."""


def cases() -> Iterator[Case]:
    yield from (case for case, _ in (PLAIN_CASES | TRAIN_CASES | CHEMICAL_CASES).values())
    yield from map(load_case, sorted((ROOT / "cases").glob("*.toml")))


FINDINGS: list[Finding] = [finding for case in cases() for finding in review(case)]


def test_every_name_is_met_and_has_its_messages_and_no_other_is_there() -> None:
    """A finding with a figure has a label, one without a sentence."""
    assert {each.name for each in FINDINGS} == set(NAMES)
    figured = {each.name for each in FINDINGS if each.measure is not None}
    assert LABELS.keys() == figured
    own = {name: each for name, each in SENTENCES.items() if name not in OF_ALL}
    assert {name for name, each in own.items() if "what" in each} == set(NAMES) - figured
    assert own.keys() <= set(NAMES)


def test_every_advice_has_its_message_and_every_message_is_advice() -> None:
    """Each of them is met by a small design or a case that comes along."""
    met = {(each.name, each.advice) for each in FINDINGS if each.advice not in (None, "kept")}
    told = {(name, advice) for name in NAMES for advice in SENTENCES.get(name, {}) if advice != "what"}
    assert met == told


@pytest.mark.parametrize("name", NAMES)
def test_what_was_looked_at_takes_what_the_finding_names_and_advice_takes_nothing(name: str) -> None:
    (facts,) = {frozenset(each.facts) for each in FINDINGS if each.name == name}
    message: Any = LABELS[name] if name in LABELS else SENTENCES[name]["what"]
    assert fields_of(message) == facts
    for advice, text in SENTENCES.get(name, {}).items():
        assert advice == "what" or not fields_of(text)


def test_every_source_and_every_oxidant_has_its_words() -> None:
    assert SOURCES.keys() == set(get_args(Source))
    assert {each.band.source for each in FINDINGS if not isinstance(each.band.source, Cited)} == SOURCES.keys()
    assert ENGLISH["terms"]["oxidant"].keys() == set(get_args(Oxidant)) - {"none"}


def test_facts_are_those_that_messages_take() -> None:
    assert set(Facts.__annotations__) == {fact for each in FINDINGS for fact in each.facts}
