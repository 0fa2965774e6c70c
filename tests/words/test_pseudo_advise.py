"""In a language that no one speaks, `advise` has no plain word but those of the case."""

from dataclasses import replace
from pathlib import Path

import pytest

from plots.inputs import TextTable
from sim.case.load import load_case
from sim.study.decide.advice import Advice, Wishes, advise
from sim.study.decide.limits import Limit
from sim.study.decide.seasons import Seasons, seasons_of
from sim.study.decide.trials import Bench
from sim.study.many.workers import local
from sim.tell.decision.advice_words import answer, cautions, remarks, season_words, sentences
from sim.tell.decision.decision_tables import a_year, advice_tables
from sim.tell.decision.unusual_words import unusual_in_short, unusual_words
from tests.cli.small import call
from tests.decide.steady import steady
from tests.words.pseudo import plain_words, speaking_pseudo

NAMES = ("Steady feed, linear costs", "calendar", "volume", "pressure", "sand", "shells")
KEYS = {"porosity", "sphericity", "tanks"}  # of constants that the case leaves out
SOURCES = {"Trussell", "AWWA", "abstract"}


@pytest.fixture(scope="module")
def studied(tmp_path_factory: pytest.TempPathFactory) -> tuple[Advice, Seasons, Advice]:
    """A study with settings by season, and one of which no setting keeps the limits."""
    path = steady(tmp_path_factory.mktemp("pseudo"), days=30)
    case = load_case(path)
    with local(1) as crew:
        bench = Bench(path=path, case=case, crew=crew, seed=1, replicates=1)
        advice = advise(bench, Wishes(limits=(Limit("pressure_kpa", 12.0),), coarse=True))
        assert advice.chosen is not None
        seasons = seasons_of(bench, advice, advice.chosen)
        return advice, seasons, advise(bench, Wishes(limits=(Limit("pressure_kpa", 2.0),), coarse=True))


def left(*texts: str) -> set[str]:
    return {word for text in texts for word in plain_words(text, NAMES)} - KEYS - SOURCES


def texts_of(table: TextTable) -> list[str]:
    return [table.caption, *(each.head for each in table.columns), *(text for row in table.rows for text in row)]


def test_sentences_and_tables_leave_no_plain_word(studied: tuple[Advice, Seasons, Advice]) -> None:
    advice, seasons, none = studied
    drunk = replace(advice, case=replace(advice.case, use=None))
    assert none.chosen is None
    with speaking_pseudo():
        for each in (advice, drunk, none):
            assert left(*answer(each, "si"), *sentences(each, "us"), *remarks(each, "si"), *cautions(each)) == set()
            assert left(*unusual_words(each, "si"), *unusual_in_short(each), a_year(each)) == set()
            assert left(*(text for table in advice_tables(each, "si") for text in texts_of(table))) == set()
        assert left(*season_words(advice, seasons, "si")) == set()


def test_the_screen_leaves_no_plain_word(tmp_path: Path) -> None:
    path = str(steady(tmp_path, days=7))
    with speaking_pseudo():
        shown = call("advise", path, "--pressure", "12 kPa", "--no-ranges", "--coarse", "--all").output
    assert left(shown) == set()
