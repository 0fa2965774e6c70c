"""Nothing that a study of worth says is without a message: in a language that no one speaks no word stays plain."""

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest

from sim.case.load import load_case
from sim.case.records import Case
from sim.study.decide.advice import Wishes
from sim.study.decide.ends import TODAY, Ends, ends_of
from sim.study.decide.limits import Limit
from sim.study.decide.payback import Payback, payback
from sim.study.decide.trials import Bench
from sim.study.many.intervals import Interval
from sim.study.many.workers import local
from sim.tell.decision.decision_report import facts, rests_on, simulated
from sim.tell.decision.files_of_decision import stacked_bars, tornado, tradeoff
from sim.tell.decision.given import given_table
from sim.tell.decision.needs_words import days_words
from sim.tell.decision.payback_screen import payback_screen
from sim.tell.decision.payback_words import answer, paid_words, remarks, turning_words
from sim.tell.decision.sure_words import payback_ranges
from tests.cli.small import call
from tests.decide.steady import changeable, steady
from tests.words.pseudo import plain_words, speaking_pseudo, words_of

WITH_RANGE = 'meter = { price = { typical = "100 each", low = "5 each", high = "400 each" }, life = "4 years" }'
BY_PATTERN = ("days", "years", "year", "and", "or")
"""Lengths of time and lists are written by patterns, which the language leaves alone."""


@pytest.fixture(scope="module")
def path(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = steady(tmp_path_factory.mktemp("pseudo"), days=14)
    text = path.read_text(encoding="utf-8").replace('meter = { price = "100 each" }', WITH_RANGE)
    path.write_text(text, encoding="utf-8")
    return path


@pytest.fixture(scope="module")
def study(path: Path) -> Iterator[tuple[Payback, Ends]]:
    with local(1) as crew:
        bench = Bench(path=path, case=load_case(path), crew=crew, seed=1, replicates=1)
        found = payback(bench, Wishes(coarse=True, limits=(Limit("over_limit_h", 20.0),)))
        settings = {each.name: each.tried.candidate for each in found.bars[1:]}
        yield found, ends_of(bench, settings | {TODAY: found.advice.today.candidate})


def names(case: Case) -> tuple[str, ...]:
    """What the user has named, in the words of a case."""
    currency = case.prices.currency if case.prices else ""
    media = [layer.medium for stage in case.stages for layer in stage.layers]
    named = (case.title, currency, *(each.name for each in (*case.stages, *case.policies)), *media)
    return (*(each for each in named if each), *BY_PATTERN)


def variants(found: Payback) -> Iterator[Payback]:
    """The same with every verdict, with an interval, without a calendar, without prices."""
    yield found
    for verdict in ("pays", "does not pay", "not sure", "open", "idle"):
        changed = [replace(each, verdict=verdict, saving=Interval(40.0, 10.0, 70.0), water=Interval(5.0, 2.0, 8.0))
                   for each in found.decided]  # fmt: skip
        yield replace(found, decided=tuple(changed))
    for yearly in (-500.0, 0.0):
        changed = [replace(each, verdict="does not pay", worth=replace(each.worth, saving=yearly))
                   for each in found.decided]  # fmt: skip
        yield replace(found, decided=tuple(changed))
    lost = replace(found.advice.policies[0], best=None)
    yield replace(found, advice=replace(found.advice, policies=(lost, *found.advice.policies[1:])))
    yield replace(found, decided=(), bars=found.bars[:2])


def test_no_plain_word_of_what_a_device_is_worth(study: tuple[Payback, Ends]) -> None:
    found, ends = study
    with speaking_pseudo():
        for each in variants(found):
            said = [*answer(each, "si"), *remarks(each), *payback_ranges(each, ends, "us").order[:1]]
            said += [sentence for one in each.decided for sentence in turning_words(each, one, "us")]
            said += [paid_words(one, each.prices) for one in each.decided]
            for text in said:
                assert plain_words(text, names(each.case)) == [], text


def test_no_plain_word_on_the_screen_and_in_the_figures(study: tuple[Payback, Ends]) -> None:
    found, ends = study
    with speaking_pseudo():
        table = payback_screen(found, "si", ends).table
        said = [each.head for each in table.columns] + [row[0] for row in table.rows]
        said += [simulated(found.advice), rests_on(found, 365.0), *(name for name, _ in facts(found.advice))]
        bars, scatter = stacked_bars(found, "si"), tradeoff(found.advice, "us")
        said += [*bars.bars, *bars.parts, *bars.texts, bars.measure.label, scatter.x.label, scatter.y.label]
        for each in (tornado(found, one, "si") for one in found.decided if one.swings):
            said += [each.measure.label, *(text for row in each.rows for text in (row[0], *row[3:]))]
    for text in said:
        assert plain_words(text, names(found.case)) == [], text


def test_no_plain_word_of_what_was_given(path: Path, tmp_path: Path) -> None:
    with speaking_pseudo():
        for case in (load_case(path), load_case(changeable(tmp_path)), replace(load_case(path), prices=None)):
            table = given_table(case, "us")
            said = [table.caption, *(each.head for each in table.columns)]
            said += [text for row in table.rows for text in row]
            said += [days_words(case, device) for device in ("meter", "switch")]
            for text in said:
                assert plain_words(text, names(case)) == [], text


def test_no_plain_word_in_the_command(path: Path) -> None:
    with speaking_pseudo():
        shown = call("payback", str(path), "--coarse", "--all").stdout
    case = load_case(path)
    assert set(plain_words(shown, names(case))) <= words_of(case)
