"""Which settings can be moved, how far, and what they change in the case."""

import tomllib
from dataclasses import replace
from pathlib import Path
from typing import Any, get_args

import pytest

from plots.words.catalogue import messages
from sim.case import units
from sim.case.dotted import parts_of, with_settings
from sim.case.load import read_case
from sim.case.quantities import System
from sim.case.units import parse_quantity
from sim.study.decide.knobs import knobs_of
from sim.study.settable import TriggerPart
from sim.web import rinse
from sim.web.carried import every_slider
from sim.web.case_text import written_in
from sim.web.errors import Refused
from sim.web.serve import first_case
from sim.web.shelf import DEMO, Held, Stand
from sim.web.sliders import Slider, in_other_units, settings_of
from sim.web.start import sliders as start_sliders
from tests.web.serving import CASES

SHIPPED = [DEMO, *sorted(CASES.glob("*.toml"))]
SYSTEMS: list[System] = ["si", "us"]
read_in_both = pytest.mark.parametrize(("path", "system"), [
    pytest.param(path, system, id=f"{path.stem}-{system}",
                 marks=[] if system == "si" or path == DEMO else pytest.mark.long)
    for path in SHIPPED for system in SYSTEMS
])  # fmt: skip
EVERY = "policy.calendar.twin bed.every"


def data_of(path: Path) -> dict[str, Any]:
    return tomllib.loads(path.read_text(encoding="utf-8"))


def slider(key: str, system: System = "si") -> Slider:
    return next(each for each in start_sliders(first_case(DEMO), system) if each.key == key)


def settings_at(path: Path, asked: dict[str, str]) -> dict[str, Any]:
    return settings_of(start_sliders(first_case(path), "si"), Stand(first_case(path), tuple(asked.items()), "si"))


@pytest.mark.parametrize("system", SYSTEMS)
@pytest.mark.parametrize("path", SHIPPED, ids=lambda path: path.stem)
def test_every_slider_stands_within_its_range_and_changes_nothing_there(path: Path, system: System) -> None:
    data = data_of(path)
    found = start_sliders(first_case(path), system)
    policies = data["policy"]
    assert len(found) >= len(policies) + 2  # one for each way to start a wash, and the water's
    assert len({each.key for each in found}) == len(found)
    for each in found:
        assert each.low <= each.value <= each.high
        assert 0.0 < each.step <= (each.high - each.low) / 10.0
    own = tuple((each.key, repr(each.value)) for each in found)
    assert settings_of(found, Stand(first_case(path), own, system)) == {}


@pytest.mark.parametrize("end", ["low", "high"])
@read_in_both
def test_the_case_can_be_read_at_either_end_of_every_slider(path: Path, end: str, system: System) -> None:
    text = path.read_text(encoding="utf-8")
    found = start_sliders(first_case(path), system)
    for each in found:
        value = getattr(each, end)
        if each.value == value or ("reserve" in each.key and each.key.endswith(("volume", "reserve"))):
            continue  # a reserve has to stay below its volume, so one of the two cannot move that far alone
        settings = settings_of(found, Stand(first_case(path), ((each.key, repr(value)),), system))
        assert settings, each.key
        read_case(text, path, settings)


@pytest.mark.parametrize("path", SHIPPED, ids=lambda path: path.stem)
def test_a_slider_moves_over_what_a_search_tries(path: Path) -> None:
    """The same range for the same setting: in whole steps, out to the case's own value."""
    case = read_case(path.read_text(encoding="utf-8"), path, {})
    found = {each.key: each for each in start_sliders(first_case(path), "si")}
    compared = 0
    for policy in case.policies:
        for knob in knobs_of(replace(case, use="process"), policy, frozenset()):
            if knob.part == "at":
                continue
            each = found[knob.key(policy.name)]
            low, high = (min(knob.low, knob.present), max(knob.high, knob.present))
            room = 1.01 * each.step * each.scale.factor + 0.02 * high  # what a search tries is rounded to 2 %
            assert each.scale.to_si(each.low) == pytest.approx(low, abs=room)
            assert each.scale.to_si(each.high) <= high + room
            assert knob.part == "above" or each.scale.to_si(each.high) == pytest.approx(high, abs=room)
            compared += 1
    assert compared >= 2
    every = slider(EVERY)
    assert (every.low, every.high, every.step) == (1.0, 8.0, 0.5)  # its longest run is 8 d


def test_every_setting_of_every_trigger_has_a_name() -> None:
    assert set(get_args(TriggerPart)) <= messages("en")["terms"]["slider"].keys()


def test_a_slider_can_be_moved_where_the_plant_leaves_a_search_nothing_to_try() -> None:
    """The longest run is shorter than a day, and the vessel is rated for less than its clean bed takes."""
    text = DEMO.read_text(encoding="utf-8")
    tight = {
        "stage.twin bed.longest_run": "5 h", "stage.twin bed.vessel.pressure_rating": "10 kPa",
        "policy.pressure drop.twin bed.above": "9 kPa",
    }  # fmt: skip
    held = Held(written_in(text, {
        (part[0], 0, *part[2:]) if (part := tuple(parts_of(key)))[0] == "stage" else part: value
        for key, value in tight.items()
    }), DEMO.name)  # fmt: skip
    found = start_sliders(held, "si")
    assert len(found) == len(start_sliders(first_case(DEMO), "si"))
    for each in found:
        assert each.low <= each.value <= each.high  # type: ignore[operator]
        assert 0.0 < each.step <= (each.high - each.low) / 10.0


def test_units_are_those_of_the_trade_and_agree() -> None:
    """To three figures: 1 gal = 3.785411784 L, 1 psi = 6.894757293 kPa (NIST SP 811, appendix B)."""
    volume = slider("policy.volume.twin bed.volume", "us")
    assert volume.unit == "gal"
    assert volume.value == pytest.approx(190.0 / 3.785411784e-3, abs=50.0)
    above = slider("policy.pressure drop.twin bed.above", "us")
    assert above.unit == "psi"
    assert above.value == pytest.approx(42.0 / 6.894757293, abs=0.005)


def test_a_moved_slider_keeps_its_meaning_when_the_units_change() -> None:
    key = "policy.volume.twin bed.volume"
    ((_, there),) = in_other_units((slider(key),), (slider(key, "us"),), ((key, "200"),))
    assert parse_quantity(f"{there} gal", units.VOLUME) == pytest.approx(200.0, rel=1e-5)
    asked = ((EVERY, "2.5"),)
    assert in_other_units((slider(EVERY),), (slider(EVERY, "us"),), asked) == asked


def test_settings_name_the_keys_of_the_file() -> None:
    assert settings_at(DEMO, {EVERY: "2.5", "feed.turbidity.storms.per_year": "30"}) == {
        EVERY: "2.5 d",
        "feed.turbidity.storms.per_year": 30.0,
    }


def test_a_steady_feed_can_have_storms_and_keeps_its_level() -> None:
    path = CASES / "reference.toml"
    settings = settings_at(path, {"storms": "12", "feed.suspended_solids": "8"})
    feed = read_case(path.read_text(encoding="utf-8"), path, settings).feed.solids
    assert feed.median == 8.0  # type: ignore[union-attr]
    assert feed.storms.per_year == 12.0  # type: ignore[union-attr]
    assert feed.fast.spread == 0.0  # type: ignore[union-attr]


def test_a_feed_of_hours_is_scaled_hour_by_hour() -> None:
    path = CASES / "parts_hall.toml"
    key = next(each.key for each in start_sliders(first_case(path), "si") if each.form == "scaled")
    case = read_case(path.read_text(encoding="utf-8"), path, {})
    twice = read_case(path.read_text(encoding="utf-8"), path, settings_at(path, {key: "200"}))
    for one, other in zip(case.feed.solids.hourly, twice.feed.solids.hourly, strict=True):  # type: ignore[union-attr]
        assert other == pytest.approx(2.0 * one, rel=1e-12)


def test_each_of_several_triggers_has_its_sliders() -> None:
    either = """
[policy.either."twin bed"]
any_of = [
    { start_on = "volume", volume = "200 m3" },
    { start_on = "pressure drop", above = "40 kPa", hold = "3 min" },
]
"""
    held = Held(DEMO.read_text(encoding="utf-8") + either, DEMO.name)
    found = start_sliders(held, "si")
    keys = [each.key for each in found if each.group == "either"]
    assert keys == [f"policy.either.twin bed.any_of.{end}" for end in ("0.volume", "1.above", "1.hold")]
    assert settings_of(found, Stand(held, ((keys[0], "150"),), "si")) == {keys[0]: "150.0 m3"}


def test_the_rinse_can_be_left_out() -> None:
    found = {each.label: each for each in rinse.sliders(first_case(DEMO), "twin bed", "si")}
    assert set(found) == {"backwash", "rinse", "temperature", "turbidity of the feed"}
    assert found["rinse"].low == 0.0
    case = read_case(DEMO.read_text(encoding="utf-8"), DEMO, {found["rinse"].key: 0.0})
    assert [step.do for step in case.stages[0].steps] == ["backwash", "settle"]


@pytest.mark.parametrize(
    "text", ["nan", "inf", "1_0", "0x4", "4 d", "", " 4", "\u0664", "1e400", "99", "-1", "4" * 50]
)
def test_a_value_that_is_no_number_of_the_range_is_refused_in_words(text: str) -> None:
    with pytest.raises(Refused, match=r"calendar, time between washes takes a number from 1 to 8 d") as refused:
        slider(EVERY).read(text)
    assert refused.value.status == 422


def test_a_setting_that_no_slider_has_is_refused() -> None:
    with pytest.raises(Refused, match="no setting called"):
        settings_at(DEMO, {"run.length": "9000 d"})


@read_in_both
def test_every_slider_that_is_moved_is_written_into_the_text_as_the_page_runs_it(path: Path, system: System) -> None:
    text, data = path.read_text(encoding="utf-8"), data_of(path)
    held = first_case(path)
    sliders = every_slider(held, system)
    assert {each.key for each in start_sliders(held, system)} <= {each.key for each in sliders}
    for each in sliders:
        value = each.high if each.value != each.high else each.low
        settings = settings_of(sliders, Stand(held, ((each.key, repr(value)),), system))
        written = tomllib.loads(written_in(text, {tuple(parts_of(key)): new for key, new in settings.items()}))
        assert written == with_settings(data, settings), each.key
        assert settings == {} or written != data


def test_what_is_written_keeps_the_comments_and_a_blank_price_leaves_its_key_out() -> None:
    text = DEMO.read_text(encoding="utf-8")
    changed = written_in(text, {
        ("policy", "pressure drop", "twin bed", "above"): "39.0 kPa", ("prices", "water"): None,
    })  # fmt: skip
    assert "# top first" in changed
    assert 'above = "39.0 kPa"' in changed
    assert "water" not in tomllib.loads(changed)["prices"]
    assert len(changed.splitlines()) == len(text.splitlines()) - 1
