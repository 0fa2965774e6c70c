"""Settings of a case changed by their dotted keys."""

from pathlib import Path

import pytest

from sim.case.load import load_case
from sim.case.trigger.records import Calendar
from sim.errors import CaseError, RefusedValue

REFERENCE = Path(__file__).parents[2] / "cases" / "reference.toml"


def test_every_kind_of_place_can_be_reached() -> None:
    case = load_case(
        REFERENCE,
        {
            "run.length": "10 d",
            "stage.filter.layer.1.depth": "0.30 m",
            "stage.filter.step.rinse.minutes": 4,
            "stage.0.limit": "0.7 mg/L",
            "stage.filter.ripening.share": 0.4,
            "policy.calendar.filter.every": "3 d",
        },
    )
    stage = case.stages[0]
    assert case.run.length == 10 * 86_400.0
    assert (stage.layers[1].depth, stage.steps[1].seconds, stage.limit) == (0.30, 240.0, 0.7)
    assert stage.ripening is not None
    assert stage.ripening.share == 0.4
    trigger = case.policies[0].triggers[0][1]
    assert isinstance(trigger, Calendar)
    assert trigger.every == 3 * 86_400.0


def test_names_may_stand_in_quotes_and_a_layer_by_its_medium() -> None:
    case = load_case(
        REFERENCE,
        {"stage.filter.layer.sand.depth": "0.30 m", 'policy."pressure drop".filter.above': "9 kPa",
         "policy.'volume'.\"filter\".volume": "111 m3"},
    )  # fmt: skip
    assert [layer.depth for layer in case.stages[0].layers if layer.medium == "sand"] == [0.30]
    triggers = {policy.name: policy.triggers[0][1] for policy in case.policies}
    assert (triggers["pressure drop"].above, triggers["volume"].volume) == (9e3, 111.0)


def test_the_file_itself_is_not_changed_and_the_hash_tells_cases_apart() -> None:
    before = REFERENCE.read_bytes()
    changed = load_case(REFERENCE, {"run.length": "10 d"})
    assert REFERENCE.read_bytes() == before
    assert changed.source_hash != load_case(REFERENCE).source_hash


@pytest.mark.parametrize(
    ("key", "said"),
    [
        ("stage.filtr.limit", '"filter"'),
        ("stage.filter.layer.7.depth", "1"),
        ("title.of.it", "a key of a table"),
    ],
)
def test_a_key_that_leads_nowhere_is_refused(key: str, said: str) -> None:
    with pytest.raises((RefusedValue, CaseError)) as caught:
        load_case(REFERENCE, {key: "1 m"})
    assert said in str(caught.value) or "title" in str(caught.value)


def test_a_value_that_does_not_suit_its_key_is_a_problem_of_the_case() -> None:
    with pytest.raises(CaseError, match="depth"):
        load_case(REFERENCE, {"stage.filter.layer.0.depth": "3 psi"})
