"""In a language that no one speaks, a check leaves no plain word but a case's own, codes, units and citations."""

from pathlib import Path

import pytest

from sim.case.load import load_case
from sim.case.records import Case
from sim.review.findings import Cited
from sim.review.review import review
from sim.tell.listing import sources
from tests.cli.small import call
from tests.words.prose import ROOT
from tests.words.pseudo import plain_words, speaking_pseudo

CASES = sorted((ROOT / "cases").glob("*.toml"))


NUMBERS = {"HDBK"}
"""Parts of a handbook's number that have no letter with an accent."""


def cited(case: Case) -> list[str]:
    """Citations of constants as the catalogues have them, the longest first."""
    bands = [each.band.source.text for each in review(case) if isinstance(each.band.source, Cited)]
    return sorted({*bands, *sources(case.assumptions)}, key=len, reverse=True)


def names_of(case: Case) -> list[str]:
    """What the case itself says: names, keys, values as its file has them."""
    given = [each.key for each in (*case.assumptions, *case.remedies)]
    own = [case.title, *(each.name for each in (*case.stages, *case.policies))]
    return [*own, "true", "false", *(part for key in given for part in key.split("."))]


@pytest.mark.parametrize("path", CASES, ids=lambda path: path.stem)
@pytest.mark.parametrize("options", [(), ("--all",)], ids=["first", "all"])
def test_a_check_leaves_no_plain_word(path: Path, options: tuple[str, ...]) -> None:
    with speaking_pseudo():
        shown = call("check", path, *options).stdout.replace(str(path), "")
    case = load_case(path)
    for each in cited(case):
        shown = shown.replace(each, "")
    assert set(plain_words(shown, names_of(case))) <= NUMBERS
