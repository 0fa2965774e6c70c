"""Exact: what stands in the file that is written."""

import re
import tomllib
from itertools import product
from pathlib import Path

import pytest

from sim.case.load import read_case
from sim.case.records import Case
from sim.case.series.waters import WATERS
from sim.case.stage.records import Stage
from sim.case.units import HOUR
from sim.review.review import review
from tests.review.made import all_of
from tests.write.ten import TRAINS, made

ASSUMED = re.compile(r"# assumed: (?P<low>[^/]+) / (?P<typical>[^/]+) / (?P<high>[^,]+), (?P<source>.+)")
LEFT_OUT = re.compile(r"^# (?P<line>[a-z_]+ = .*?) *# assumed: ", re.MULTILINE)
KNOWN_SOURCES = ("from memory", "Davis", "where the case does not say", "MIL-HDBK", "Wisconsin", "at most 1")


def assumed_lines(text: str) -> list[str]:
    return [line for line in text.split("\n") if "# assumed:" in line and "low / typical / high" not in line]


@pytest.mark.parametrize("units", ["si", "us"])
@pytest.mark.parametrize("train", TRAINS)
def test_every_assumed_line_has_low_typical_high_and_a_source(train: str, units: str) -> None:
    lines = assumed_lines(made(train=train, units=units, limit=None, depth=None, backwash=None).text)
    assert len(lines) > 20
    for line in lines:
        found = ASSUMED.search(line)
        assert found is not None, line
        assert any(source in found["source"] for source in KNOWN_SOURCES), line
        numbers = [re.match("[0-9.e+-]+", found[name]) for name in ("low", "typical", "high")]
        if all(numbers):
            low, typical, high = (float(number[0]) for number in numbers if number)
            assert low <= typical <= high, line
            assert high > low, line
            assert typical != 0.0 or low == 0.0, line
        else:
            assert line.startswith(("# law", "# growth"))


@pytest.mark.parametrize("units", ["si", "us"])
@pytest.mark.parametrize("train", TRAINS)
def test_left_out_lines_are_what_the_program_assumes_and_nothing_else(train: str, units: str) -> None:
    """Put in effect, all of them together change nothing but that nothing is assumed any more, beside the temperature
    at which a gain, once it is given, holds."""
    new = made(train=train, units=units, water="pretreated reuse")  # whose deposit makes others give way
    given = LEFT_OUT.sub(lambda found: found["line"] + "  # ", new.text)
    assert len(LEFT_OUT.findall(new.text)) == len(new.case.assumptions)
    assert new.case.constants == len(new.case.assumptions) + len(
        new.case.stages
    )  # each stage says if it is coagulated
    case = read_case(given, Path("given.toml"), {})
    left = {f"stage.{each.name}.reference_temperature" for each in case.stages}
    assert {each.key for each in case.assumptions} == left
    assert near(case, new.case)


def near(one: Case, other: Case) -> bool:
    """Whether the stages of two cases are the same, but for the rounding of figures in the file: a half in a hundred
    of a grain size is up to one of what goes with its power."""
    return all(
        numbers(left) == pytest.approx(numbers(right), rel=1e-2)
        for left, right in zip(one.stages, other.stages, strict=True)
    )


def numbers(value: object) -> list[float]:
    """Every number in a record, in order."""
    if isinstance(value, int | float):
        return [float(value)]
    if isinstance(value, tuple):
        return [number for each in value for number in numbers(each)]
    fields = getattr(value, "__dataclass_fields__", {})
    return [number for name in fields for number in numbers(getattr(value, name))]


def test_numbers_of_a_record_are_found() -> None:
    stage = made().case.stages[0]
    assert isinstance(stage, Stage)
    assert {stage.vessel.diameter, stage.unfilterable, stage.layers[1].porosity} <= set(numbers(stage))


def test_each_left_out_line_can_be_put_in_effect_by_itself() -> None:
    new = made(train="media,carbon")
    for found in LEFT_OUT.finditer(new.text):
        text = new.text[: found.start()] + new.text[found.start() + 2 :]
        case = read_case(text, Path("given.toml"), {})
        (gone,) = {each.key for each in new.case.assumptions} - {each.key for each in case.assumptions}
        assert gone.rpartition(".")[2] == found["line"].split(" = ")[0]


def test_what_was_answered_stands_in_the_file_as_it_was_written() -> None:
    text = made(turbidity="4.5 NTU", limit="0.35 NTU").text
    for line in (
        'water = "river"', 'turbidity = "4.5 NTU"', 'limit = "0.35 NTU"', 'diameter = "30 in"', "coagulated = true",
        'temperature = { mean = "13 degC", swing = "6 degC", highest_on = 2027-07-25 }',
        "weekday = [1.0, 1.0, 1.0, 1.0, 1.0, 1.0, 0.0]",
    ):  # fmt: skip
        assert f"\n{line}" in text
    data = tomllib.loads(text)
    assert data["demand"]["hourly"] == ["0 gpm"] * 6 + ["25 gpm"] * 12 + ["0 gpm"] * 6
    assert "NTU" in data["stage"][0]["limit"]


def test_solids_may_be_given_in_place_of_turbidity() -> None:
    text = made(turbidity="7 mg/L", limit="1 mg/L").text
    assert '\nsuspended_solids = "7 mg/L"' in text
    assert "solids_per_turbidity" not in text


def test_one_temperature_stays_all_year() -> None:
    assert '\ntemperature = "14 degC"' in made(temperature="14 degC").text
    assert '\ntemperature = "57 degF"' in made(temperature="57..57 degF").text


def test_limit_that_nobody_gave_is_marked() -> None:
    """A fifth of 4 NTU."""
    (line,) = [line for line in made(limit=None).text.split("\n") if line.startswith("limit")]
    assert re.match(r'limit = "0.8 NTU" +# assumed: 0.4 / 0.8 / 1.6 NTU, ', line)


def test_depth_is_shared_between_the_layers() -> None:
    """By hand: 0.8 m in the usual proportion of 0.50 to 0.25 m."""
    stage = made().case.stages[0]
    assert [layer.depth for layer in stage.layers] == pytest.approx([0.8 * 2 / 3, 0.8 / 3], rel=1e-3)
    assert stage.vessel.height >= 1.5 * 0.8


@pytest.mark.parametrize(("units", "step"), [("si", 0.01), ("us", 0.0254)])
def test_usual_depths_are_whole_centimetres_or_inches(units: str, step: float) -> None:
    for stage in made(train="softener,carbon,oxidising,media", units=units, depth=None).case.stages:
        for layer in stage.layers:
            assert layer.depth / step == pytest.approx(round(layer.depth / step), abs=1e-9)


def test_backwash_is_as_given_but_no_more_than_the_media_stand() -> None:
    """By hand: 8 gpm/ft2, the most for a softener (MIL-HDBK-1164), through 30 in: 8 x 4.909 ft2 = 39.3 gpm."""
    media, softener = made(train="media,softener", backwash="60 gpm").case.stages
    assert media.steps[0].flow * 15850.323 == pytest.approx(60.0, rel=1e-3)
    assert softener.steps[0].flow * 15850.323 == pytest.approx(39.27, rel=1e-3)
    assert "60 gpm would be too much for these media" in made(train="media,softener", backwash="60 gpm").text


WIDEST, *NARROWER = "0..30 degC", "6..21 degC", "33..70 degF"


LONGEST_TRAIN = "softener,carbon,oxidising,media"
QUICK = [*((water, LONGEST_TRAIN) for water in WATERS), *(("river", train) for train in TRAINS)]


@pytest.mark.parametrize(("water", "train", "temperature"), [
    pytest.param(*each, marks=[] if each[:2] in QUICK and each[2] == WIDEST else pytest.mark.long)
    for each in product(WATERS, [*TRAINS, LONGEST_TRAIN], [WIDEST, *NARROWER])
])  # fmt: skip
def test_check_stops_for_nothing_but_the_air_gap_that_nobody_has_stated(
    water: str, train: str, temperature: str
) -> None:
    all_changes: list[dict[str, str | None]] = [
        {}, {"depth": None, "backwash": None}, {"backwash": "60 m3/h"}, {"depth": "2.5 m"}
    ]  # fmt: skip
    for changes in all_changes[: 1 if train == LONGEST_TRAIN and temperature == WIDEST else None]:
        new = made(water=water, train=train, temperature=temperature, **changes)
        stops = [finding.name for finding in review(new.case) if finding.level == "stop"]
        assert stops == ["air_gap_unknown"]
        line = next(line for line in new.text.split("\n") if line.startswith("## air_gap = true"))
        looked = read_case(new.text.replace(line, "air_gap = true"), Path("looked.toml"), {})
        assert not [finding for finding in review(looked) if finding.level == "stop"]


def test_a_vessel_is_higher_where_cold_water_lifts_the_bed_far() -> None:
    """Resin under 7 gpm/ft2: usual is 1.7 times the bed; cold water is more viscous and lifts it further."""
    usually = {"depth": None, "backwash": None}
    cold, warm = (made(train="softener", temperature=each, **usually) for each in ("3 degC", "30 degC"))
    height, usual = cold.case.stages[0].vessel.height, warm.case.stages[0].vessel.height
    assert height > usual >= 1.7 * 0.9
    assert "higher here" in cold.text
    assert "higher here" not in made(train="carbon", temperature="30 degC", **usually).text


def test_usual_backwash_of_media_is_that_of_pressure_filters() -> None:
    """15-20 gpm/ft2: MIL-HDBK-1005/9A, oily waste; 4.909 ft2 under 30 in."""
    flow = made(backwash=None).case.stages[0].steps[0].flow * 15850.323
    assert 15.0 <= flow / 4.909 <= 20.0


@pytest.mark.parametrize("train", ["media", "oxidising", "carbon"])
@pytest.mark.parametrize("temperature", ["6..21 degC", "12 degC"])
def test_usual_backwash_expands_the_bed_in_cold_and_warm_water(train: str, temperature: str) -> None:
    """15 or 20 to 50 %: common practice, from memory."""
    case = made(train=train, temperature=temperature, depth=None, backwash=None).case
    shares = all_of(case, "expansion")
    assert shares
    assert {each.level for each in shares} == {"fine"}


def test_rinse_displaces_a_vessel_at_least_once() -> None:
    """One tank volume at least: common practice, no source."""
    for stage in made(train="oxidising,carbon,softener").case.stages:
        water = stage.vessel.area * (stage.vessel.height - sum(x.depth * (1 - x.porosity) for x in stage.layers))
        assert water < stage.steps[2].seconds * stage.steps[2].flow < 2.5 * water


@pytest.mark.parametrize("hours", ["1", "9", "14", "20", "24"])
def test_washes_of_a_train_are_staggered_and_outside_the_hours_of_use(hours: str) -> None:
    case = made(train="media,carbon,softener", hours=hours).case
    starts = [trigger.at / HOUR for _, trigger in case.policies[0].triggers]  # type: ignore[union-attr,operator]
    lengths = [sum(step.seconds for step in stage.steps) / HOUR for stage in case.stages]
    ends = [start + length for start, length in zip(starts, lengths, strict=True)]
    assert all((later - end) % 24.0 < 1.0 for later, end in zip(starts[1:], ends, strict=False))
    if int(hours) <= 20:
        used = [hour for hour, flow in enumerate(case.demand.flow.hourly) if flow > 0.0]  # type: ignore[union-attr]
        assert len(used) == int(hours)
        assert all(int(hour % 24.0) not in used for hour in [*starts, *ends])


def test_what_is_not_followed_is_said_in_the_file_and_to_the_person() -> None:
    new = made(train="oxidising,carbon,softener")
    assert new.text.count("followed as a filter of solids alone") == 3
    remarks = "\n".join(new.remarks)
    for name in ("oxidising", "carbon", "softener"):
        assert f"{name}: followed as a filter of solids alone: " in remarks
    assert "as a filter of solids" not in made(train="media").text


@pytest.mark.parametrize("kind", WATERS)
def test_random_weather_can_be_put_in_place_of_the_value(kind: str) -> None:
    text, water = made(water=kind).text, WATERS[kind]
    (line,) = [line for line in text.split("\n") if line.startswith("# or  ")]
    given = next(line for line in text.split("\n") if line.startswith("turbidity = "))
    case = read_case(text.replace(given, "").replace(line, line.removeprefix("# or  ")), Path("stormy.toml"), {})
    assert case.is_random
    storms = case.feed.solids.storms  # type: ignore[union-attr]
    assert storms is not None
    assert storms.per_year == pytest.approx(water.storms_a_year.value)
    assert storms.length == pytest.approx(water.storm_length.value)


def test_lines_for_later_are_no_part_of_the_case() -> None:
    text = made().text
    bare = "\n".join(line for line in text.split("\n") if not line.startswith("#"))
    assert tomllib.loads(bare) == tomllib.loads(text)


def test_the_known_run_offered_is_the_one_that_is_assumed() -> None:
    """Put in effect it solves the typical gain, to the two figures of the pressure that it gains."""
    text = made(coagulant="yes").text
    assert text.count("\n## known_run = ") == 1
    case = read_case(text.replace("\n## known_run = ", "\nknown_run = "), Path("known.toml"), {})
    assert [each.key.rpartition(".")[2] for each in case.solved] == ["head_loss_gain"] * 2
    assert [each.value for each in case.solved] == pytest.approx([5.0, 5.0], rel=0.05)


# Grain sizes are in mm in both: so the trade has them.
SI_UNITS = re.compile(r"[0-9] ?(um|cm|m3/h|m3|m/h|m|L/h|L|kPa|Pa|bar|degC|kg/m3|kg|g|1/m)\b")
US_UNITS = re.compile(r"[0-9] ?(in|ft|gal/ft2|gal|gpm/ft2|gpm|psi|degF|lb/ft3|lb|1/ft)\b")
FIGURES_OF_SOURCES = ("2-4 psi clean and 8-12 psi loaded", "15-20 gpm/ft2", "8-10 gpm/ft2", "6-8 gpm/ft2")
IN_US = {"units": "us", "depth": "32 in", "backwash": "84 gpm", "temperature": "45..66 degF"}
IN_SI = {"units": "si", "diameter": "0.8 m", "flow": "6 m3/h"}


@pytest.mark.parametrize(("train", "coagulant"), [
    *((train, "yes") for train in [*TRAINS, "media,media,carbon"]), ("media", "no"),
    *(pytest.param(train, "no", marks=pytest.mark.long) for train in [*TRAINS[1:], "media,media,carbon"]),
])  # fmt: skip
def test_file_and_words_are_in_the_units_asked_for(train: str, coagulant: str) -> None:
    for changes, foreign in ((IN_US, SI_UNITS), (IN_SI, US_UNITS)):
        for usual in ({}, {"depth": None, "backwash": None, "limit": None}, {"limit": "0.1 NTU"}):
            new = made(train=train, coagulant=coagulant, **{**changes, **usual})
            said = "\n".join((new.text, *new.first, *new.remarks)).replace("mg/L", "")
            for figure in FIGURES_OF_SOURCES:
                said = said.replace(figure, "")
            assert [found[0] for found in foreign.finditer(said)] == []


def test_a_foreign_unit_is_found() -> None:
    assert SI_UNITS.findall("limit 9.87 bar, 12 m/h and 15 degC, 30 in") == ["bar", "m/h", "degC"]
    assert US_UNITS.findall("2 psi, 12 m/h, 30 in and 5 gpm/ft2") == ["psi", "in", "gpm/ft2"]


def test_a_kind_that_comes_again_is_numbered() -> None:
    case = made(train="media,carbon,media,media,softener,carbon").case
    names = [stage.name for stage in case.stages]
    assert names == ["media 1", "carbon 1", "media 2", "media 3", "softener", "carbon 2"]
    assert all([name for name, _ in policy.triggers] == names for policy in case.policies)


def test_a_dose_that_is_given_stands_in_the_feed() -> None:
    data = tomllib.loads(made(coagulant="alum 18 mg/L").text)
    assert data["feed"]["coagulant"] == {"product": "alum", "dose": "18 mg/L"}
    assert "coagulated" not in data["stage"][0]


def test_a_dose_that_nobody_knows_can_be_put_in() -> None:
    text = made(coagulant="yes").text
    assert "\n## [feed.coagulant]" in text
    assert "\ncoagulated = true" in text
    assert "feed.coagulant" not in made(coagulant="no").text


def test_minutes_are_not_the_check_values_of_the_trade() -> None:
    """12 min of backwash with 5 min of rinse, a hold of 2 min: common practice, for bands and never defaults."""
    case = made(train="media,carbon,softener").case
    for stage in case.stages:
        minutes = [step.seconds / 60.0 for step in stage.steps]
        assert 8.0 <= minutes[0] <= 18.0
        assert (minutes[0], minutes[2]) != (12.0, 5.0)
    holds = {trigger.hold for _, trigger in case.policies[3].triggers}  # type: ignore[union-attr]
    assert 120.0 not in holds
