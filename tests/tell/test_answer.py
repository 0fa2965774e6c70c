"""The answer in one paragraph: every name and number from the rows, nothing claimed that they do not show."""

from hypothesis import given
from hypothesis import strategies as st

from sim.case.quantities import System
from sim.plant.records import Figure
from sim.tell.comparison.answer import answer, side_by_side
from tests.study.made import FIGURES, POLICIES, made_case, made_results

AMOUNT = st.one_of(st.sampled_from([0.0, 1.0, 250.0]), st.floats(0.0, 1e5))
FOUR = st.tuples(*[AMOUNT] * 4)


def told(system: System = "si", **changed: tuple[Figure, ...]) -> str:
    return answer(made_case(), made_results(FIGURES | changed), system)


def test_the_paragraph_of_a_plain_comparison() -> None:
    assert told() == (
        "Compared: 4 ways to start a wash, each for 60 days on the same water and demand. "
        "Time over the limit: least with volume and volume with reserve (0 h), most with calendar (193 h). "
        "Water to drain: least with calendar (52.3 m3), most with volume (89.6 m3). "
        "Downtime: least with calendar (3.73 h), most with volume (6.40 h). "
        "None of them has the least of all three."
    )


def test_raw_and_dirty_water_that_reach_a_unit_are_told_last() -> None:
    text = told(bypass_kg=(0.025, 0.01, 0.0, None), downstream_solids_kg=(1.0,) * 4,
                downstream_over_min=(0.0, 12.0, 0.0, 0.0))  # fmt: skip
    assert "Solids in raw water sent on while washing: least with volume with reserve (0 g), most with cal" in text
    assert "Solids in dirty water sent on after washes: least with calendar (0.210 g), most with volume" in text
    assert text.endswith(
        "that the unit's feed was over its own limit: least with calendar, volume with reserve and pressure drop "
        "(0 min), most with volume (12 min)."
    )
    assert "dirty water" not in told()


def test_one_that_has_the_least_of_everything_is_named() -> None:
    text = told(breach_h=(0.0, 5.0, 6.0, 7.0))
    assert text.endswith("calendar has the least of all three.")


def test_figures_that_are_equal_for_all_judge_nobody() -> None:
    text = told(breach_h=(0.0,) * 4)
    assert "Time over the limit: 0 h with every one." in text
    assert text.endswith("calendar has the least of both.")
    text = told(breach_h=(0.0,) * 4, drain_m3=(1.0,) * 4)
    assert "has the least" not in text


def test_without_a_limit_the_solids_stand_first() -> None:
    text = told(breach_h=(None,) * 4)
    assert "the limit" not in text
    assert "Solids sent to service: least with volume (0.86 kg), most with calendar (1.59 kg)." in text


def test_units_are_those_asked_for() -> None:
    # 1 m3 = 264.172 gal: NIST SP 811, appendix B. 52.27 m3 are 13,808 gal, to four figures 13,810.
    assert "least with calendar (13,810 gal)" in told("us")


def test_one_run_is_compared_with_nobody() -> None:
    text = answer(made_case(), made_results()[:1], "si")
    assert text.startswith("60 days with calendar: 14 washes; 193 h over the limit; ")
    assert "least" not in text


@given(breach=FOUR, drain=FOUR, offline=FOUR)
def test_the_last_sentence_follows_from_the_three_rows(
    breach: tuple[Figure, ...], drain: tuple[Figure, ...], offline: tuple[Figure, ...]
) -> None:
    figures = {"breach_h": breach, "drain_m3": drain, "offline_h": offline}
    results = made_results(FIGURES | figures)
    judged = [row.best for row in side_by_side(results, "si") if row.best]
    winners = [name for place, name in enumerate(POLICIES) if all(place in best for best in judged)]
    last = answer(made_case(), results, "si").rpartition(". ")[2]
    if len(judged) < 2:
        assert "has the least" not in last
    else:
        assert last.startswith("None of them") != bool(winners)
        assert len(winners) > 3 or all(name in last for name in winners)
