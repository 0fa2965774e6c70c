"""Exact: what an answer may be, and the reason where it may not."""

from pathlib import Path

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from sim.case.quantities import System
from sim.case.series.waters import WATERS
from sim.case.units import FLOW, TURBIDITY
from sim.errors import RefusedValue
from sim.tell.questions import in_words
from sim.write.answers import Dosing, Given, Warmth, answers_of, clash, defaults, read, unanswered
from sim.write.questions import BY_KEY, QUESTIONS
from sim.write.writing import new_case
from tests.write.ten import TEN, TRAINS, WORDS, made

HOSTILE = [
    "", " ", "?", "nan", "inf NTU", "-1", "-0.5", "1e999 m3/h", "9**9**9 gal", "8 psi + 1 bar", "4 NTU\n[policy]",
    '5 NTU" # ', "\x1b[31m", "\x00", "x" * 100_000, "9" * 100_000, "1,500 m", "٣ m", "5 parsec",
    "..", "5..", "..5 degC", "30..5 degC", "5..99 degC", "-4..5 degC", "4 degC..60 degF", "nan..nan degC",
    "media:carbon", "media,,carbon", ",", "yes please", "1.5.2", "0x10", "1_0", "999999999", "2 to 5 parsec", "5 - 2",
]  # fmt: skip


@pytest.mark.parametrize("text", HOSTILE, ids=range(len(HOSTILE)))
@pytest.mark.parametrize("key", BY_KEY)
def test_what_will_not_do_is_refused_with_a_short_printable_reason(key: str, text: str) -> None:
    with pytest.raises(RefusedValue) as caught:
        read(key, text)
    for part in (caught.value.given, caught.value.allowed, caught.value.try_):
        assert part
        assert part.isprintable()
        assert len(part) < 300


@pytest.mark.parametrize(
    ("key", "text", "value"),
    [
        ("water", " Town With  Old Mains ", "town with old mains"),
        ("train", "media, carbon", ("media", "carbon")),
        ("train", "SOFTENER", ("softener",)),
        ("hours", "24", 24),
        ("days", "1", 1),
        ("coagulant", "YES", Dosing(True)),
        ("coagulant", "y", Dosing(True)),
        ("coagulant", "no", Dosing(False)),
        ("coagulant", "N", Dosing(False)),
        ("coagulant", "Alum 18mg/L", Dosing(True, "alum", "18 mg/L")),
        ("coagulant", "ferric  chloride 1.4 mg/L per NTU", Dosing(True, "ferric chloride", "1.4 mg/L per NTU")),
        ("train", "media,media, carbon", ("media", "media", "carbon")),
        ("units", "US", "us"),
        ("turbidity", " 4   NTU ", Given("4 NTU", 4.0, TURBIDITY)),
        ("flow", "3.6m3/h", Given("3.6 m3/h", 1e-3, FLOW)),
        ("depth", "usual", None),
        ("temperature", "6..21 degC", Warmth(6.0, 21.0, "degC")),
        ("temperature", "6 degC..21 degC", Warmth(6.0, 21.0, "degC")),
        ("temperature", " 43.5 .. 70 degF", Warmth(43.5, 70.0, "degF")),
        ("temperature", "14 degC", Warmth(14.0, 14.0, "degC")),
        ("temperature", "20 °C", Warmth(20.0, 20.0, "degC")),
        ("temperature", "20 C", Warmth(20.0, 20.0, "degC")),
        ("temperature", "4 to 20", Warmth(4.0, 20.0, "degC")),
        ("temperature", "4-20", Warmth(4.0, 20.0, "degC")),
        ("temperature", "4 \u2013 20 ºC", Warmth(4.0, 20.0, "degC")),
        ("temperature", "40 °F to 68 °F", Warmth(40.0, 68.0, "degF")),
        ("flow", "3,6 m³/h", Given("3.6 m3/h", 1e-3, FLOW)),
        ("flow", "3.6", Given("3.6 m3/h", 1e-3, FLOW)),
        ("turbidity", "4 ntu", Given("4 NTU", 4.0, TURBIDITY)),
        ("hours", "14 h", 14),
        ("days", "6 days", 6),
        ("train", "multimedia + Activated Carbon", ("media", "carbon")),
        ("train", "Multi-media filter; oxidizing and water softener", ("media", "oxidising", "softener")),
        ("coagulant", "none", Dosing(False)),
        ("coagulant", "alum 18", Dosing(True, "alum", "18 mg/L")),
    ],
)
def test_answers_in_plain_writing(key: str, text: str, value: object) -> None:
    assert read(key, text) == value


@pytest.mark.parametrize(
    ("key", "text", "reason"),
    [
        ("water", "rivver", '"river"'),
        ("train", "media,carbn", '"carbon"'),
        ("train", ",".join(["media"] * 7), "the first ones"),
        ("coagulant", "alum", "yes, where the dose is not known"),
        ("coagulant", "salt 18 mg/L", "yes, where the dose is not known"),
        ("diameter", "30", "is the unit the one that was meant?"),
        ("turbidity", "2-5 NTU", "the usual one, as in 5 NTU"),
        ("flow", "6 to 8", "the usual one, as in 6 m3/h"),
        ("diameter", "30 gpm", '"gpm" measures a flow'),
        ("flow", "25 gpms", '"gpm"'),
        ("temperature", "21..6 degC", "6..21 degC"),
        ("temperature", "4 °C to 60 °F", "as in 6..21 degC or 43..70 degF"),
        ("train", "sand", "one of these words"),
        ("temperature", "6..70 degC", "the temperature of the water, not of the air"),
        ("hours", "1.5", "a number such as 24"),
        ("hours", "14 d", "a number such as 24"),
        ("hours", "0", "1"),
        ("hours", "25", "24"),
        ("train", "media,", "media"),
        ("train", "media,,carbon", "media,carbon"),
        ("train", ",", "media"),
    ],
)
def test_the_reason_says_what_to_try(key: str, text: str, reason: str) -> None:
    with pytest.raises(RefusedValue) as caught:
        read(key, text)
    assert reason in caught.value.try_


@pytest.mark.parametrize(
    ("key", "alone", "system", "whole"),
    [
        ("diameter", "36", "us", "36 in"), ("diameter", "0.9", "si", "0.9 m"),
        ("temperature", "43-70", "us", "43..70 degF"),
        ("hardness", "13", "us", "13 gpg"), ("oxidant", "air 20", "si", "air 20 min"), ("pH", "7", "us", "7"),
    ],
)  # fmt: skip
def test_a_number_alone_is_in_the_unit_of_the_example(key: str, alone: str, system: System, whole: str) -> None:
    assert read(key, alone, system) == read(key, whole)


def test_an_exponent_is_part_of_a_number_and_no_range() -> None:
    assert read("chlorine", "2e-1 mg/L").value == read("chlorine", "0.2 mg/L").value == 0.2


def test_what_means_the_same_writes_the_same_bytes() -> None:
    typed = made(temperature="6 to 21 °C", diameter='30"', train="Multimedia; activated carbon", turbidity="4")
    assert typed.text == made(temperature="6..21 degC", train="media,carbon").text


def test_what_is_allowed_is_said_in_the_unit_of_the_answer() -> None:
    """Liquid water as the program knows it, 0 to 50 degC: by hand 32 to 122 degF."""
    with pytest.raises(RefusedValue) as caught:
        read("temperature", "40..200 degF")
    assert caught.value.allowed == "32 to 122 degF"
    with pytest.raises(RefusedValue) as caught:
        read("train", "media, softner")
    assert caught.value.given == '"softner"'


def test_every_example_and_default_is_an_answer() -> None:
    for question in QUESTIONS:
        for text in question.examples.values():
            read(question.key, text)
    texts = defaults({"turbidity": read("turbidity", "0.01 NTU")})
    assert {key for key, question in BY_KEY.items() if not question.needed} == set(texts)
    for key, text in texts.items():
        read(key, text)


def test_the_kinds_of_water_are_named_in_the_question() -> None:
    assert all(kind in in_words("water") for kind in WATERS)


def test_diameter_and_flow_have_to_go_together() -> None:
    """By hand: 900 gpm through 30 in, 204.4 m3/h through 0.456 m2, are 448 m/h."""
    values = {"diameter": read("diameter", "30 in"), "flow": read("flow", "900 gpm")}
    against = clash(values)
    assert against is not None
    assert against.keys == ("diameter", "flow")
    assert against.refused.given == "900 gpm through a filter of 30 in: 448 m/h"
    in_us = clash(values | {"units": "us"})
    assert in_us is not None
    assert in_us.refused.given == "900 gpm through a filter of 30 in: 183 gpm/ft2"
    assert in_us.refused.allowed == "0.205 gpm/ft2 to 20.5 gpm/ft2; 2.05 gpm/ft2 to 10.2 gpm/ft2 are common"
    assert clash(values | {"flow": read("flow", "25 gpm")}) is None
    assert clash({"flow": values["flow"]}) is None


def test_what_is_needed_and_not_there() -> None:
    assert unanswered({}) == [
        "water", "train", "diameter", "flow", "hours", "turbidity", "temperature", "coagulant",
    ]  # fmt: skip
    assert unanswered({key: read(key, text) for key, text in (TEN | WORDS).items()}) == []


def scaled(low: float, high: float, unit: str) -> st.SearchStrategy[str]:
    return st.floats(low, high).map(lambda value: f"{value:.4g} {unit}")


DRAWN = given(
    water=st.sampled_from(sorted(WATERS)),
    train=st.sampled_from([*TRAINS, "softener,media", "oxidising"]),
    rate=st.floats(0.6, 45.0),
    diameter=st.floats(0.06, 15.0),
    hours=st.integers(1, 24),
    days=st.integers(1, 7),
    turbidity=scaled(0.01, 190.0, "NTU") | scaled(0.01, 390.0, "mg/L"),
    limit=st.none() | scaled(0.001, 20.0, "NTU") | scaled(0.001, 20.0, "mg/L"),
    warmth=st.tuples(st.integers(0, 50), st.integers(0, 50)).map(sorted),
    coagulant=st.sampled_from(["yes", "no"]),
    depth=st.none() | scaled(0.2, 3.0, "m") | scaled(8.0, 110.0, "in"),
    backwash=st.none() | scaled(0.01, 500.0, "gpm"),
    units=st.sampled_from(["si", "us"]),
)


def make_a_case(drawn: dict[str, object]) -> None:
    """Property: the file is read back, and its triggers are in order, whatever the numbers."""
    diameter, rate = float(str(drawn.pop("diameter"))), float(str(drawn.pop("rate")))
    low, high = drawn.pop("warmth")  # type: ignore[misc]
    texts = {key: str(value) for key, value in drawn.items() if value is not None}
    texts |= {"diameter": f"{diameter:.6g} m", "temperature": f"{low}..{high} degC"}
    texts["flow"] = f"{rate * 3.14159265 * diameter**2 / 4.0 * 1000.0:.6f} L/h"
    values = {key: read(key, text) for key, text in texts.items()}
    assert clash(values) is None
    new = new_case(answers_of(values), Path("drawn.toml"))
    assert len(new.case.policies) == 4
    assert all(len(line) <= 400 for line in new.text.split("\n"))


@DRAWN
@settings(max_examples=15)
@example(
    water="clear well", train="media", rate=8.125, diameter=0.0625, hours=1, days=1, turbidity="27 NTU",
    limit="8.125 NTU", warmth=[0, 0], coagulant="yes", depth="8.125 in", backwash=None, units="us",
)  # fmt: skip
def test_answers_that_will_do_make_a_case(**drawn: object) -> None:
    make_a_case(drawn)


@pytest.mark.long
@DRAWN
def test_many_answers_that_will_do_make_a_case(**drawn: object) -> None:
    make_a_case(drawn)


@pytest.mark.parametrize(("key", "text", "advice"), [
    ("turbidity", "4 ppm", '"mg/L" in place of "ppm", which is the same in water'),
    ("limit", "300 ppb", '"ug/L" in place of "ppb", which is the same in water'),
    ("depth", "3 ppm", 'one number and one unit, as in "0.75 m"'),
])  # fmt: skip
def test_parts_in_a_million_of_water_are_named_as_a_concentration(key: str, text: str, advice: str) -> None:
    """A litre of water weighs a kilogram: by definition of the litre until 1964, to 0.5 % from 0 to 30 degC."""
    with pytest.raises(RefusedValue) as refused:
        read(key, text)
    assert refused.value.try_ == advice
