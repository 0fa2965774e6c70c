"""A sweep gives at each point what the same case, changed by hand, gives; what it cannot take it refuses whole."""

import json
import math
from pathlib import Path

import pytest

from sim.case.load import load_case
from sim.plant.errors import StalledError
from sim.plant.simulate import simulate
from sim.study.errors import RequestError, SettingError
from sim.study.sweep import MOST_RUNS, Sweep, sweep
from sim.study.vary import read_all
from sim.tell.comparison.swept import chosen_figures, figure_row, idle_words, sweep_table, swept_pictures
from tests.cli.small import small_case

RINSE = "stage.sand.step.rinse.minutes"
EVERY = "policy.two nights.sand.every"


@pytest.fixture(scope="module")
def case(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return Path(small_case(tmp_path_factory.mktemp("case")))


@pytest.fixture(scope="module")
def pairs(case: Path) -> Sweep:
    return sweep(case, {RINSE: (0, 8), EVERY: ("1 d", "2 d", "3 d")})


def test_every_point_is_the_case_changed_by_hand(case: Path, pairs: Sweep) -> None:
    assert [tuple(point.settings.values()) for point in pairs.points] == [
        (0, "1 d"), (0, "2 d"), (0, "3 d"), (8, "1 d"), (8, "2 d"), (8, "3 d"),
    ]  # fmt: skip
    text = case.read_text(encoding="utf-8").replace("minutes = 8", "minutes = 0").replace('"2 d"', '"3 d"')
    by_hand = case.with_name("by_hand.toml")
    by_hand.write_text(text, encoding="utf-8")
    changed = load_case(by_hand)
    point = pairs.points[2]
    assert list(point.results) == [simulate(changed, name) for name in pairs.policies]
    assert pairs.points[4].results == tuple(simulate(load_case(case), name) for name in pairs.policies)


def test_water_to_drain_by_hand(pairs: Sweep) -> None:
    """9 min at 24 m3/h, and 8 min at 6 m3/h where the rinse is kept; every 2 d at 02:30 is 4 washes in 9 d."""
    drained = [point.results[0].site["drain_m3"] for point in pairs.points]
    assert drained[1] == pytest.approx(4 * 24.0 * 9 / 60)
    assert drained[4] == pytest.approx(4 * (24.0 * 9 / 60 + 6.0 * 8 / 60))


def test_json_has_keys_and_rows(pairs: Sweep) -> None:
    data = json.loads(json.dumps(pairs.to_json(), allow_nan=False))
    assert data["keys"] == [RINSE, EVERY]
    assert [row["settings"] for row in data["rows"]][1] == {RINSE: 0, EVERY: "2 d"}
    assert set(data["rows"][0]) == {"settings", "policies"}
    assert [set(each) for each in data["rows"][0]["policies"]] == [{"name", "site", "stages", "interval"}] * 2
    assert data["case"] == "A short one"
    assert data["days"] == 9.0


def test_the_long_table_has_every_figure_of_every_run(pairs: Sweep) -> None:
    table = sweep_table(pairs)
    assert list(table.columns) == [RINSE, EVERY, "policy", "stage", "kpi", "value"]
    one = table[(table[RINSE] == 0) & (table[EVERY] == "3 d") & (table["policy"] == "by volume")]
    site = pairs.points[2].results[1].site
    assert dict(zip(one.loc[one["stage"] == "", "kpi"], one.loc[one["stage"] == "", "value"], strict=True)) == site


def test_some_policies_and_one_key(case: Path) -> None:
    told: list[tuple[str, int, int]] = []
    found = sweep(case, {EVERY: ("1 d", "2 d")}, ["by volume"], 1, lambda *words: told.append(words))
    assert found.policies == ("by volume",)
    every: list[tuple[str, int, int]] = []
    sweep(case, {EVERY: ("1 d", "2 d")}, progress=lambda *words: every.append(words))
    assert [(place, count) for _, place, count in every] == [(0, 4), (1, 4), (2, 4), (3, 4)]
    assert told == [("every = 1 d: by volume", 0, 2), ("every = 2 d: by volume", 1, 2)]
    assert found.idle == (EVERY,)
    assert idle_words(found) == (f"{EVERY} changes no figure with this way to start a wash.",)
    assert sweep(case, {EVERY: ("1 d", "2 d")}).idle == ()


def test_a_key_that_only_matters_with_the_other_is_not_idle(pairs: Sweep) -> None:
    assert pairs.idle == ()
    assert idle_words(pairs) == ()


def test_figures_by_default_and_by_name(pairs: Sweep, case: Path) -> None:
    default = [kpi.key for kpi in chosen_figures(pairs, ())]
    assert default == ["over_limit_h", "drain_m3", "downtime_h", "mean_run_h", "dirty_water_kg"]
    assert [kpi.key for kpi in chosen_figures(pairs, ("washes", "drain_m3", "washes"))] == ["washes", "drain_m3"]
    text = case.read_text(encoding="utf-8").replace('limit = "0.6 mg/L"\n', "")
    free = case.with_name("free.toml")
    free.write_text(text, encoding="utf-8")
    unlimited = sweep(free, {RINSE: (8,)})
    assert chosen_figures(unlimited, ())[0].key == "solids_to_service_kg"
    (picture,) = swept_pictures(unlimited, chosen_figures(unlimited, ("over_limit_h",)), "si")
    assert all(math.isnan(value) for value in picture.table["value"])


def test_pictures_have_display_units_and_scales(pairs: Sweep) -> None:
    kpis = chosen_figures(pairs, ("drain_m3",))
    (si,), (us,) = (swept_pictures(pairs, kpis, system) for system in ("si", "us"))
    assert (si.measure.label, us.measure.label) == ("water to drain, m³", "water to drain, gal")
    # 231 cubic inches of 25.4 mm are a US gallon.
    assert (us.table["value"] / si.table["value"]).tolist() == pytest.approx([1 / (231 * 0.0254**3)] * 12)
    assert [axis.numbers for axis in si.axes] == [(0.0, 8.0), (1.0, 2.0, 3.0)]
    assert [axis.label for axis in si.axes] == ["rinse, min", "every, d"]
    assert figure_row(pairs, kpis[0], "si").texts == tuple(si.table["text"])


WRONG = {
    "a misspelt key": ({"stage.sand.step.rinse.minuts": (1,)}, ['unknown key "minuts"', '"minutes", the nearest']),
    "a stage that is not there": ({"stage.snad.limit": ("1 mg/L",)}, ['"snad"', 'try:     "sand"']),
    "a policy that is not there": ({"policy.two nigths.sand.every": ("1 d",)}, ['"two nigths"', '"two nights"']),
    "a policy's stage that is not there": ({"policy.two nights.sandd.every": ("1 d",)}, ['"sandd"', '"sand"']),
    "a table": ({"stage.sand": ("1 d",)}, ["stage.sand = 1 d", "a key of a table"]),
    "a value of another kind": ({RINSE: (1, "4 min")}, [f"{RINSE} = 4 min", "or 0, which leaves the step out"]),
    "a value out of range": ({RINSE: (-1, 3000)}, [f"{RINSE} = -1", f"{RINSE} = 3000"]),
    "what contradicts the rest": ({"stage.sand.vessel.height": ("0.5 m",)}, ["0.5 m, for layers of 0.8 m together"]),
    "no key": ({}, ["0 keys to vary"]),
    "three keys": ({RINSE: (1,), EVERY: ("1 d",), "title": ("a",)}, ["3 keys to vary", "one or 2"]),
    "no value": ({RINSE: ()}, [f"no value for {RINSE}"]),
    "a value twice": ({RINSE: (1, 2, 1.0)}, ["the value 1 twice"]),
    "too many runs": ({RINSE: tuple(range(1, 101)), EVERY: ("1 d", "2 d", "3 d")}, ["600 runs", f"{MOST_RUNS}"]),
}


@pytest.mark.parametrize(("vary", "said"), WRONG.values(), ids=WRONG)
def test_what_cannot_be_varied_is_refused_before_anything_runs(
    vary: dict[str, tuple[str, ...]], said: list[str], case: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("sim.study.sweep.simulate", None)
    with pytest.raises(RequestError) as caught:
        sweep(case, vary)
    for words in said:
        assert words in str(caught.value)


def test_eight_values_that_cannot_be_taken_are_told_and_the_rest_counted(case: Path) -> None:
    for count, rest in ((8, []), (11, ["and 3 more"])):
        with pytest.raises(RequestError) as caught:
            sweep(case, {RINSE: tuple(range(-count, 0))})
        lines = [line.strip() for line in str(caught.value).splitlines()]
        assert sum(line.startswith("allowed:") for line in lines) == 8
        assert [line for line in lines if line.endswith(" more")] == rest


def test_a_policy_that_is_not_there(case: Path) -> None:
    with pytest.raises(RequestError, match='did you mean "by volume"'):
        sweep(case, {RINSE: (1,)}, ["by volme"])


def test_a_run_that_fails_says_at_which_settings(case: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def stall(*_: object, **__: object) -> None:
        raise StalledError(5.0, "sand", "service")

    monkeypatch.setattr("sim.study.sweep.simulate", stall)
    with pytest.raises(SettingError, match=r"with stage\.sand\.step\.rinse\.minutes = 4 and two nights: at 5 s"):
        sweep(case, {RINSE: (4,)})


@pytest.mark.parametrize(
    ("texts", "values"),
    [
        (["a.b=1,2.5,true"], {"a.b": (1, 2.5, True)}),
        (["a=2 d,4 d", "b=ergun"], {"a": ("2 d", "4 d"), "b": ("ergun",)}),
        (['a="one, two",\'three\''], {"a": ("one, two", "three")}),
        (["policy.by x, or y.f.volume=3 m3"], {"policy.by x, or y.f.volume": ("3 m3",)}),
        (["a=0 kPa at 5.5 m3/h"], {"a": ("0 kPa at 5.5 m3/h",)}),
    ],
)
def test_what_is_typed_becomes_values(texts: list[str], values: dict[str, object]) -> None:
    assert read_all(texts) == values


@pytest.mark.parametrize("text", ["", "a", "=1", "a=", "a=,", "a=1,,2", "a=1,", "a=,1", "a=[1,2]", 'a={ b = 1 }'])
def test_what_is_typed_wrongly_is_refused(text: str) -> None:
    with pytest.raises(RequestError, match=r"^--vary "):
        read_all([text])


def test_the_same_key_twice() -> None:
    with pytest.raises(RequestError, match="the key a twice"):
        read_all(["a=1", "a=2"])
