"""The form of a case: complete, and faithful to the file."""

import re
import tomllib
from collections.abc import Iterator
from pathlib import Path

import pytest

from sim.case import units
from sim.case.load import load_case, read_case
from sim.case.values import Quantity
from sim.tell.limits import limits_in
from sim.web.errors import Refused
from sim.web.form import Field, Group, edited, form_of
from sim.web.plant import plant_form
from sim.web.shelf import DEMO, Held
from tests.web.serving import CASES

SHIPPED = [DEMO, *sorted(CASES.glob("*.toml"))]


def groups(path: Path) -> tuple[Group, ...]:
    return form_of(tomllib.loads(path.read_text(encoding="utf-8")), load_case(path), "si")


def fields(path: Path) -> Iterator[Field]:
    for group in groups(path):
        yield from group.given
        yield from group.left_out


def values(path: Path) -> dict[str, str]:
    return {each.path: each.value for each in fields(path)}


@pytest.mark.parametrize("path", SHIPPED, ids=lambda path: path.stem)
def test_every_value_of_the_file_stands_in_the_form(path: Path) -> None:
    def leaves(data: object, name: str) -> Iterator[str]:
        if isinstance(data, dict):
            for key, value in data.items():
                yield from leaves(value, f"{name}.{key}" if name else key)
        elif isinstance(data, list) and data and isinstance(data[0], dict):
            for place, value in enumerate(data):
                yield from leaves(value, f"{name}.{place}")
        else:
            yield name

    told = {name for name, value in values(path).items() if value}
    assert told == set(leaves(tomllib.loads(path.read_text(encoding="utf-8")), ""))


@pytest.mark.parametrize("path", SHIPPED, ids=lambda path: path.stem)
def test_a_form_that_nobody_touched_changes_nothing(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    assert tomllib.loads(edited(text, values(path))) == tomllib.loads(text)


def test_every_field_says_what_it_takes_and_where_its_default_is_from() -> None:
    found = list(fields(DEMO))
    assert len(found) > 100
    assert all(each.allowed for each in found)
    assert all(each.default for each in found if not each.value)
    known = {each.path: each.default or "" for each in found}
    told = known["stage.0.layer.0.ultimate_deposit"]
    assert told.startswith("Left out, so 12 kg/m3 is used; usual is 6 to 18 kg/m3 (")
    assert "M. L. Davis" in known["stage.0.layer.1.porosity"]
    assert known["stage.0.cells"] == "Left out, so 20 is used."
    assert known["stage.0.ripening"] == "Left out, so usual values are used for share and volume."
    assert "12 h" in known["feed.turbidity.memory"]


def test_each_assumed_constant_is_told_at_its_field() -> None:
    case = load_case(DEMO)
    told = " ".join(each.default or "" for each in fields(DEMO))
    assert len(case.assumptions) > 15
    for assumption in case.assumptions:
        assert assumption.source in told or assumption.key.rpartition(".")[2] in told


def test_an_edit_keeps_comments_and_changes_only_its_key() -> None:
    text = DEMO.read_text(encoding="utf-8")
    changed = edited(text, {"stage.0.layer.1.depth": "0.35 m", "stage.0.layer.1.sphericity": "0.78"})
    assert "# top first" in changed
    assert "# buckets are filled" in changed
    before, after = tomllib.loads(text), tomllib.loads(changed)
    layer = before["stage"][0]["layer"][1]
    layer["depth"], layer["sphericity"] = "0.35 m", 0.78
    assert after == before


def test_values_become_what_the_file_would_hold() -> None:
    text = DEMO.read_text(encoding="utf-8")
    changed = tomllib.loads(
        edited(
            text,
            {
                "run.start": "2027-05-01T00:00:00",
                "policy.calendar.twin bed.at": "21:15:00",
                "stage.0.coagulated": "false",
                "stage.0.tanks": "4",
                "demand.weekday": "1, 1, 1, 1, 1, 0.5, 0.25",
                "stage.0.step.0.water": "filtered",
                "stage.0.limit": "",
            },
        )
    )
    assert str(changed["run"]["start"]) == "2027-05-01 00:00:00"
    assert str(changed["policy"]["calendar"]["twin bed"]["at"]) == "21:15:00"
    assert changed["stage"][0]["coagulated"] is False
    assert changed["stage"][0]["tanks"] == 4
    assert changed["demand"]["weekday"][-1] == 0.25
    assert changed["stage"][0]["step"][0]["water"] == "filtered"
    assert "limit" not in changed["stage"][0]
    read_case(edited(text, {"stage.0.tanks": "4"}), DEMO, {})


@pytest.mark.parametrize(
    "name",
    ["stage", "stage.0.vessel", "nothing", "stage.9.name", "run.start.x", "policy.calendar", "__class__.x", ""],
)
def test_a_field_that_is_none_is_refused(name: str) -> None:
    with pytest.raises(Refused):
        edited(DEMO.read_text(encoding="utf-8"), {name: "1"})


@pytest.mark.parametrize("path", SHIPPED, ids=lambda path: path.stem)
def test_limits_stand_in_the_units_of_the_page_and_are_taken_as_shown(path: Path) -> None:
    data, case = tomllib.loads(path.read_text(encoding="utf-8")), load_case(path)
    shown = [each.allowed for group in form_of(data, case, "us") for each in (*group.given, *group.left_out)]
    limits = " ".join(part for text in shown for part in text.split(";") if "units:" not in part)
    assert not re.search(r"\d (m|cm|m3|m3/h|kPa|bar|degC|kg|m2|m/h)\b", limits)
    assert "32 degF to 122 degF" in limits  # 0 and 50 degC


@pytest.mark.parametrize(
    "rule", [Quantity(units.LENGTH, "1 cm", "20 m"), Quantity(units.RATE, "0.1 m/h", "200 m/h"),
             Quantity(units.PRESSURE, "1 kPa", "100 bar"), Quantity(units.TEMPERATURE, "0 degC", "50 degC")]
)  # fmt: skip
def test_the_limits_shown_are_themselves_allowed_and_close(rule: Quantity) -> None:
    low, high = limits_in("us", rule)
    assert rule.read(low) == pytest.approx(rule.least, rel=0.01, abs=1e-9)
    assert rule.read(high) == pytest.approx(rule.most, rel=0.01)
    assert limits_in("si", rule) == (rule.low, rule.high)


def test_yes_or_no_is_a_choice() -> None:
    known = {each.path: each for each in fields(DEMO)}
    assert known["stage.0.coagulated"].words == ("true", "false")
    assert known["stage.0.coagulated"].value == ""  # the coagulant of its feed tells


def test_a_coagulant_is_set_by_its_product_and_its_dose() -> None:
    known = {each.path: each for each in fields(DEMO)}
    assert "ferric chloride" in known["feed.coagulant.product"].words
    assert known["feed.coagulant.dose"].value == "2.6 mg/L"
    told = {"feed.coagulant.product": "iron", "feed.coagulant.dose": "0.4 mg/L per NTU"}
    case = read_case(edited(DEMO.read_text(encoding="utf-8"), told), DEMO, {})
    assert case.feed.coagulant is not None
    assert case.feed.coagulant.adds_per_solids > 0.0


def test_what_says_stop_is_told_apart_from_what_is_to_be_looked_at() -> None:
    """A polyamide membrane behind water with chlorine: the review stops there."""
    unit = '[downstream]\nmembrane = "polyamide"\n'
    text = DEMO.read_text(encoding="utf-8").replace("[drain]", f"{unit}[drain]", 1)
    text = text.replace('use = "process"', 'use = "membrane"', 1)
    text = text.replace("[feed]\n", '[feed]\noxidant = "chlorine"\n', 1)
    found = plant_form(Held(text, "a.toml"), "si", lambda _: None)
    everywhere = [each for told in (found.site, *(each.told for each in found.filters)) for each in told]
    stops = [each for each in everywhere if each.stops]
    assert {each.level for each in stops} == {"stop"}
    assert {each.level for each in everywhere if not each.stops} == {"look"}
    assert "chlorine" in " ".join(line for each in stops for line in each.lines)


def test_a_finding_stands_at_the_filter_that_it_is_about() -> None:
    found = plant_form(Held.of(DEMO), "si", lambda _: None)
    (bed,) = found.filters
    assert bed.about.startswith("stage twin bed: anthracite and sand")
    assert bed.starts == "every 4 d, at 20:30; longest run 8 d"
    assert any("rinse replaces" in each.lines[0] for each in bed.told)
    assert found.tally == f"0 stop, {len(bed.told) + len(found.site)} look, 29 fine"
