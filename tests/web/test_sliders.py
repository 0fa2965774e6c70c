"""Which settings can be moved, how far, and what they change in the case."""

import tomllib
from pathlib import Path
from typing import Any

import pytest

from sim.case import units
from sim.case.dotted import with_settings
from sim.case.load import read_case
from sim.case.quantities import System
from sim.case.units import parse_quantity
from sim.web.carried import every_slider, written_in
from sim.web.errors import Refused
from sim.web.shelf import DEMO
from sim.web.sliders import Slider, in_other_units, rinse_sliders, settings_of, start_sliders
from tests.web.serving import CASES

SHIPPED = [DEMO, *sorted(CASES.glob("*.toml"))]
SYSTEMS: list[System] = ["si", "us"]
EVERY = "policy.calendar.twin bed.every"


def data_of(path: Path) -> dict[str, Any]:
    return tomllib.loads(path.read_text(encoding="utf-8"))


def slider(data: dict[str, Any], key: str, system: System = "si") -> Slider:
    return next(each for each in start_sliders(data, system) if each.key == key)


@pytest.mark.parametrize("system", SYSTEMS)
@pytest.mark.parametrize("path", SHIPPED, ids=lambda path: path.stem)
def test_every_slider_stands_within_its_range_and_changes_nothing_there(path: Path, system: System) -> None:
    data = data_of(path)
    found = start_sliders(data, system)
    policies = data["policy"]
    assert len(found) >= len(policies) + 2  # one for each way to start a wash, and the water's
    assert len({each.key for each in found}) == len(found)
    for each in found:
        assert each.low <= each.value <= each.high
        assert 0.0 < each.step <= (each.high - each.low) / 10.0
    assert settings_of(found, {each.key: repr(each.value) for each in found}, data) == {}


@pytest.mark.parametrize("system", SYSTEMS)
@pytest.mark.parametrize("end", ["low", "high"])
@pytest.mark.parametrize("path", SHIPPED, ids=lambda path: path.stem)
def test_the_case_can_be_read_at_either_end_of_every_slider(path: Path, end: str, system: System) -> None:
    text, data = path.read_text(encoding="utf-8"), data_of(path)
    for each in start_sliders(data, system):
        value = getattr(each, end)
        if each.value == value or ("reserve" in each.key and "volume" in each.label) or each.key.endswith("reserve"):
            continue  # a reserve has to stay below its volume, so one of the two cannot move that far alone
        settings = settings_of(start_sliders(data, system), {each.key: repr(value)}, data)
        assert settings, each.key
        read_case(text, path, settings)


def test_units_are_those_of_the_trade_and_agree() -> None:
    """Exact: 1 gal = 3.785411784 L, 1 psi = 6.894757293 kPa (NIST SP 811, appendix B)."""
    data = data_of(DEMO)
    volume = slider(data, "policy.volume.twin bed.volume", "us")
    assert volume.unit == "gal"
    assert volume.value == pytest.approx(190.0 / 3.785411784e-3, rel=1e-5)
    above = slider(data, "policy.pressure drop.twin bed.above", "us")
    assert above.unit == "psi"
    assert above.value == pytest.approx(42.0 / 6.894757293, rel=1e-5)


def test_a_moved_slider_keeps_its_meaning_when_the_units_change() -> None:
    data = data_of(DEMO)
    key = "policy.volume.twin bed.volume"
    si, us = slider(data, key), slider(data, key, "us")
    there = in_other_units(si, us, "200")
    assert parse_quantity(f"{there} gal", units.VOLUME) == pytest.approx(200.0, rel=1e-5)
    assert in_other_units(slider(data, EVERY), slider(data, EVERY, "us"), "2.5") == "2.5"


def test_settings_name_the_keys_of_the_file() -> None:
    data = data_of(DEMO)
    asked = {EVERY: "2.5", "feed.turbidity.storms.per_year": "30"}
    assert settings_of(start_sliders(data, "si"), asked, data) == {
        EVERY: "2.5 d",
        "feed.turbidity.storms.per_year": 30.0,
    }


def test_a_steady_feed_can_have_storms_and_keeps_its_level() -> None:
    path = CASES / "reference.toml"
    data = data_of(path)
    settings = settings_of(start_sliders(data, "si"), {"storms": "12", "feed.suspended_solids": "8"}, data)
    feed = read_case(path.read_text(encoding="utf-8"), path, settings).feed.solids
    assert feed.median == 8.0  # type: ignore[union-attr]
    assert feed.storms.per_year == 12.0  # type: ignore[union-attr]
    assert feed.fast.spread == 0.0  # type: ignore[union-attr]


def test_a_feed_of_hours_is_scaled_hour_by_hour() -> None:
    path = CASES / "parts_hall.toml"
    data = data_of(path)
    key = next(each.key for each in start_sliders(data, "si") if each.form == "scaled")
    case = read_case(path.read_text(encoding="utf-8"), path, {})
    twice = read_case(
        path.read_text(encoding="utf-8"), path, settings_of(start_sliders(data, "si"), {key: "200"}, data)
    )
    for one, other in zip(case.feed.solids.hourly, twice.feed.solids.hourly, strict=True):  # type: ignore[union-attr]
        assert other == pytest.approx(2.0 * one, rel=1e-12)


def test_each_of_several_triggers_has_its_sliders() -> None:
    data = data_of(DEMO)
    data["policy"]["either"] = {
        "twin bed": {
            "any_of": [
                {"start_on": "volume", "volume": "200 m3"},
                {"start_on": "pressure drop", "above": "40 kPa", "hold": "3 min"},
            ]
        }
    }
    keys = [each.key for each in start_sliders(data, "si") if each.group == "either"]
    assert keys == [f"policy.either.twin bed.any_of.{end}" for end in ("0.volume", "1.above", "1.hold")]
    settings_of(start_sliders(data, "si"), {keys[0]: "150"}, data)


def test_the_rinse_can_be_left_out() -> None:
    data = data_of(DEMO)
    found = {each.label: each for each in rinse_sliders(data, "twin bed", "si")}
    assert set(found) == {"backwash", "rinse", "temperature", "turbidity of the feed"}
    assert found["rinse"].low == 0.0
    case = read_case(DEMO.read_text(encoding="utf-8"), DEMO, {found["rinse"].key: 0.0})
    assert [step.do for step in case.stages[0].steps] == ["backwash", "settle"]


@pytest.mark.parametrize(
    "text", ["nan", "inf", "1_0", "0x4", "4 d", "", " 4", "\u0664", "1e400", "99", "-1", "4" * 50]
)
def test_a_value_that_is_no_number_of_the_range_is_refused_in_words(text: str) -> None:
    with pytest.raises(Refused, match=r"calendar, a wash every takes a number from 0\.5 to 16 d") as refused:
        slider(data_of(DEMO), EVERY).read(text)
    assert refused.value.status == 422


def test_a_setting_that_no_slider_has_is_refused() -> None:
    data = data_of(DEMO)
    with pytest.raises(Refused, match="no setting called"):
        settings_of(start_sliders(data, "si"), {"run.length": "9000 d"}, data)


@pytest.mark.parametrize("system", SYSTEMS)
@pytest.mark.parametrize("path", SHIPPED, ids=lambda path: path.stem)
def test_every_slider_that_is_moved_is_written_into_the_text_as_the_page_runs_it(path: Path, system: System) -> None:
    text, data = path.read_text(encoding="utf-8"), data_of(path)
    sliders = every_slider(data, system)
    assert {each.key for each in start_sliders(data, system)} <= {each.key for each in sliders}
    for each in sliders:
        value = each.high if each.value != each.high else each.low
        settings = settings_of(sliders, {each.key: repr(value)}, data)
        written = tomllib.loads(written_in(text, settings))
        assert written == with_settings(data, settings), each.key
        assert settings == {} or written != data


def test_what_is_written_keeps_the_comments_and_a_blank_price_leaves_its_key_out() -> None:
    text = DEMO.read_text(encoding="utf-8")
    changed = written_in(text, {"policy.pressure drop.twin bed.above": "39.0 kPa", "prices.water": None})
    assert "# top first" in changed
    assert 'above = "39.0 kPa"' in changed
    assert "water" not in tomllib.loads(changed)["prices"]
    assert len(changed.splitlines()) == len(text.splitlines()) - 1
