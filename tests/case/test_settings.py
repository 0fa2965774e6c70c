"""Settings of a case changed by their dotted keys."""

from pathlib import Path

import pytest
import tomlkit
from hypothesis import given
from hypothesis import strategies as st

from sim.case.dotted import parts_of
from sim.case.load import load_case
from sim.case.trigger.records import Calendar
from sim.case.values import Text
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


def name_as_a_case_takes_it(name: str) -> bool:
    try:
        return Text(60, like="filter", without=".=").parse(name) == name
    except RefusedValue:
        return False


marks = st.sampled_from("\"'\\#[]{},ä ")
names = st.lists(marks | st.characters(), min_size=1, max_size=8).map("".join).filter(name_as_a_case_takes_it)


@given(names, names)
def test_a_key_reads_back_as_its_parts_with_any_name_as_it_is_or_in_quotes_as_toml_has_it(one: str, two: str) -> None:
    parts = ["policy", one, two, "above"]
    assert parts_of(".".join(parts)) == parts
    assert parts_of(f"policy.{tomlkit.item(one).as_string()}. {tomlkit.item(two).as_string()} .above") == parts


@pytest.mark.parametrize("name", ["'old'", '"old" bed', "+1", "-1", "@SUM(A1)"])
def test_a_name_that_a_key_or_a_spreadsheet_would_read_otherwise_is_refused(name: str) -> None:
    assert not name_as_a_case_takes_it(name)


def test_quotes_against_the_rules_of_toml_are_refused() -> None:
    with pytest.raises(RefusedValue, match="in quotes as in a TOML file"):
        parts_of(r'stage."a\q".limit')


@pytest.mark.parametrize("key", [r'stage.12" bed.layer.sand.depth', r'stage."12\" bed".layer.sand.depth'])
def test_a_stage_with_a_quote_mark_in_its_name_is_reached(tmp_path: Path, key: str) -> None:
    path = tmp_path / "case.toml"
    path.write_text(renamed('12" bed'), encoding="utf-8")
    assert load_case(path, {key: "0.30 m"}).stages[0].layers[1].depth == 0.30


def renamed(name: str) -> str:
    """The reference case with another name of its filter."""
    document = tomlkit.parse(REFERENCE.read_text("utf-8"))
    document["stage"][0]["name"] = name  # type: ignore[index]
    for policy in document["policy"].values():  # type: ignore[union-attr]
        policy[name] = policy.pop("filter")
    return tomlkit.dumps(document)
