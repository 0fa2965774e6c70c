"""What changed between two cases: each change alone, the largest first, nothing where nothing changed."""

from pathlib import Path

import pytest

from sim.case.load import load_case
from sim.plant.simulate import simulate
from sim.study.changes import FIGURES, Against, against
from sim.study.errors import RequestError
from sim.tell.kpis import CARD
from tests.cli.small import small_text

WAY = "two nights"
CALENDAR = 'start_on = "calendar"\nevery = "2 d"\nat = 02:30:00'


def held(tmp_path: Path, *moves: tuple[str, str], old: str | None = None, way: str = WAY) -> Against:
    """The short case with some of its text replaced, against the short case."""
    text = small_text()
    (tmp_path / "old.toml").write_text(old or text, encoding="utf-8")
    for was, now in moves:
        assert was in text
        text = text.replace(was, now)
    (tmp_path / "new.toml").write_text(text, encoding="utf-8")
    return against(tmp_path / "old.toml", tmp_path / "new.toml", way)


def keys(found: Against) -> list[tuple[str, ...]]:
    return [tuple(each.key for each in effect.changes) for effect in found.effects]


def test_the_figures_are_those_of_the_card() -> None:
    assert FIGURES == CARD


@pytest.mark.parametrize("moves", [
    (), (("A short one", "Another"), ('"0.9 m"', '"900 mm"')), (('volume = "360 m3"', 'volume = "300 m3"'),),
])  # fmt: skip
def test_what_a_run_cannot_tell_apart_is_no_change(moves: tuple[tuple[str, str], ...], tmp_path: Path) -> None:
    found = held(tmp_path, *moves)
    assert found.effects == ()
    assert found.was == found.now


def test_each_change_is_made_alone_and_the_largest_stands_first(tmp_path: Path) -> None:
    found = held(tmp_path, ("minutes = 8", "minutes = 4"), ("minutes = 9", "minutes = 18"))
    assert keys(found) == [("stage.sand.step.backwash.minutes",), ("stage.sand.step.rinse.minutes",)]
    longer, shorter = (each.moved for each in found.effects)
    washes = 4  # in nine days, one every second night
    assert longer["drain_m3"] == pytest.approx(washes * 24.0 * 9.0 / 60.0)
    assert longer["downtime_h"] == pytest.approx(washes * 9.0 / 60.0)
    assert shorter["drain_m3"] == pytest.approx(-washes * 6.0 * 4.0 / 60.0)
    assert shorter["downtime_h"] == pytest.approx(-washes * 4.0 / 60.0)
    change = found.effects[1].changes[0]
    assert (change.was, change.now) == (8, 4)


def test_another_way_to_start_a_wash_is_one_change(tmp_path: Path) -> None:
    found = held(tmp_path, (CALENDAR, 'start_on = "volume"\nvolume = "200 m3"'))
    assert keys(found) == [('policy.two nights.sand',)]
    assert found.now["drain_m3"] == simulate(load_case(tmp_path / "new.toml"), WAY).site["drain_m3"]
    assert found.now["drain_m3"] - found.was["drain_m3"] == pytest.approx(found.effects[0].moved["drain_m3"])


def test_what_cannot_stand_alone_is_made_together(tmp_path: Path) -> None:
    found = held(tmp_path, (CALENDAR, 'start_on = "calendar"\non = ["Mon", "Thu"]\nat = 02:30:00'),
                 ("minutes = 8", "minutes = 7"))  # fmt: skip
    together = next(each for each in found.effects if len(each.changes) > 1)
    assert {each.parts[-1] for each in together.changes} == {"every", "on"}
    assert not together.whole


def test_what_cannot_stand_at_all_is_what_all_changes_do(tmp_path: Path) -> None:
    found = held(tmp_path, ('depth = "0.8 m"', 'depth = "1.6 m"'), ('height = "1.5 m"', 'height = "2.6 m"'))
    (deeper,) = (each for each in found.effects if each.whole)
    assert [each.key for each in deeper.changes] == ["stage.sand.layer.sand.depth"]
    assert deeper.moved == {key: found.now[key] - found.was[key] for key in FIGURES}


def test_a_layer_more_is_one_change_of_the_bed(tmp_path: Path) -> None:
    layer = small_text().partition("[[stage.layer]]")[2].partition("[[stage.step]]")[0]
    found = held(tmp_path, (f"{layer}[[stage.step]]", f"{layer.replace('0.8 m', '0.4 m', 1)}[[stage.layer]]"
                            f"{layer.replace('0.8 m', '0.3 m', 1)}[[stage.step]]"))  # fmt: skip
    assert keys(found) == [("stage.sand.layer",)]


def test_a_policy_that_was_not_there_is_held_against_the_one_in_use(tmp_path: Path) -> None:
    old = small_text().replace("two nights", "of before").replace('"2 d"', '"3 d"')
    with pytest.raises(RequestError, match="today"):
        held(tmp_path, old=old)
    found = held(tmp_path, old=old.replace("[run]", 'today = "of before"\n[run]', 1))
    assert found.policy == "of before"
    assert keys(found) == [('policy.two nights.sand.every',)]
    assert (found.effects[0].changes[0].was, found.effects[0].changes[0].now) == ("3 d", "2 d")
