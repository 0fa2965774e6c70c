"""A verdict says what the rows say and no more."""

import re

from hypothesis import given
from hypothesis import strategies as st

from sim.plant.records import Figure
from sim.tell.comparison.verdict import verdicts
from sim.tell.kpis import KPIS
from sim.tell.present import row
from tests.study.made import FIGURES, POLICIES, made_case, made_results

TOLD = {
    "breach_h": "over the limit",
    "solids_to_service_kg": "of solids sent to service",
    "drain_m3": "of water to drain",
    "unmet_m3": "of demand not met",
}
AMOUNT = st.one_of(st.sampled_from([0.0, 1.0, 1.0000001, 250.0]), st.floats(0.0, 1e5))
FOUR = st.tuples(*[AMOUNT] * 4)


def with_figures(**changed: tuple[Figure, ...]) -> tuple[str, ...]:
    return verdicts(made_case(), made_results(FIGURES | changed), "si")


def test_the_sentences_of_a_plain_comparison() -> None:
    assert with_figures(unmet_m3=(0.0,) * 4) == (
        "calendar: 14 washes; 193 h over the limit, the most; 52.3 m3 of water to drain, the least",
        "volume: 24 washes; 0 h over the limit; 89.6 m3 of water to drain, the most",
        "volume with reserve: 19 washes; 0 h over the limit; 70.9 m3 of water to drain",
        "pressure drop: 16 washes; 47 h over the limit; 59.7 m3 of water to drain",
    )


def test_demand_not_met_is_told_only_where_there_is_some() -> None:
    assert "of demand not met" not in " ".join(with_figures(unmet_m3=(0.0,) * 4))
    assert all("of demand not met" in each for each in with_figures())


def test_what_reached_the_unit_is_told_of_those_that_sent_it_and_of_no_others() -> None:
    sentences = with_figures(
        bypass_kg=(0.0, 0.025, None, 0.01), downstream_over_min=(0.0, 12.0, 0.0, 0.0),
        early_triggers=(0, 0, 0, 7), missed_triggers=(0, 0, 3, 0),
    )  # fmt: skip
    assert "raw water" not in sentences[0]
    assert "; 25 g of solids in raw water sent on while washing, the most; 12 min of feed" in sentences[1]
    assert sentences[2].endswith("3 times past the set point without a wash, the most")
    assert "; 10 g of solids in raw water sent on while washing; 7 set off by a spike alone" in sentences[3]


def test_without_a_limit_the_solids_speak() -> None:
    sentences = with_figures(breach_h=(None,) * 4)
    assert "the limit" not in " ".join(sentences)
    assert sentences[0].startswith("calendar: 14 washes; 1.59 kg of solids sent to service, the most; ")


def test_one_policy_is_compared_with_nobody() -> None:
    (sentence,) = verdicts(made_case(), made_results()[:1], "si")
    assert "the most" not in sentence
    assert "the least" not in sentence


def test_a_single_wash_is_no_plural() -> None:
    assert with_figures(washes=(1, 24, 19, 16))[0].startswith("calendar: 1 wash;")


@given(breach=FOUR, solids=FOUR, drain=FOUR, unmet=FOUR, limit=st.booleans())
def test_the_most_and_the_least_stand_alone_in_their_row(
    breach: tuple[Figure, ...],
    solids: tuple[Figure, ...],
    drain: tuple[Figure, ...],
    unmet: tuple[Figure, ...],
    limit: bool,
) -> None:
    values: dict[str, tuple[Figure, ...]] = {
        "breach_h": breach if limit else (None,) * 4,
        "solids_to_service_kg": solids,
        "drain_m3": drain,
        "unmet_m3": unmet,
    }
    for place, sentence in enumerate(with_figures(**values)):
        name, _, facts = sentence.partition(": ")
        assert name == POLICIES[place]
        for fact in facts.split("; ")[1:]:
            key = next(key for key, words in TOLD.items() if words in fact)
            shown = row(KPIS[key], [{key: value} for value in values[key]], "si")
            assert re.match(r"[<0-9.,]+", fact).group() == shown.texts[place]  # type: ignore[union-attr]
            least = values[key][place] == min(values[key]) and shown.texts.count(shown.texts[place]) == 1
            most = values[key][place] == max(values[key]) and shown.texts.count(shown.texts[place]) == 1
            assert fact.endswith(", the least") == least
            assert fact.endswith(", the most") == most
