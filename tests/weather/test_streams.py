"""Exact: a stream for each source, by its name, so that every policy sees the same weather."""

import os
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from sim.case.records import Case
from sim.case.series.records import Changeable, Storms, UnsettledSeason, Wander
from sim.plant.simulate import simulate
from sim.weather import Forcing, build_forcing
from sim.weather.forcing import made_forcing
from sim.weather.streams import stream
from tests.weather.weathers import DAY, HOUR, ROUGH, SLOW, case_of, forcing_of

ROOT = Path(__file__).parents[2]


def content(forcing: Forcing) -> bytes:
    return b"".join(each.tobytes() for each in (forcing.end, forcing.flow, forcing.solids, forcing.temperature))


def anew(case: Case, *, seed: int = 1, replicate: int = 0) -> bytes:
    made_forcing.cache_clear()
    return content(forcing_of(case, seed=seed, replicate=replicate))


def test_the_same_seed_gives_the_same_bytes_and_any_other_does_not() -> None:
    case = case_of()
    first = anew(case)
    assert anew(case) == first
    others = {anew(case, seed=2), anew(case, replicate=1), anew(case, seed=2, replicate=1)}
    assert len(others) == 3
    assert first not in others


def test_another_process_draws_the_same_bytes() -> None:
    script = (
        "import hashlib; from tests.weather.weathers import case_of, forcing_of; f = forcing_of(case_of());"
        "print(hashlib.sha256(f.solids.tobytes() + f.flow.tobytes() + f.temperature.tobytes()).hexdigest())"
    )
    command = [sys.executable, "-c", script]
    found = {
        subprocess.run(
            command, cwd=ROOT, env={**os.environ, "PYTHONHASHSEED": salt}, capture_output=True, text=True, check=True
        ).stdout
        for salt in ("1", "2")
    }
    assert len(found) == 1


def test_a_stage_or_a_policy_more_changes_no_number() -> None:
    case = case_of()
    before = anew(case)
    longer = replace(
        case,
        stages=(*case.stages, replace(case.stages[0], name="second")),
        policies=(*case.policies, replace(case.policies[0], name="another")),
    )
    assert anew(longer) == before


def test_another_source_changes_no_number_of_the_others() -> None:
    """Parts are added one by one; what was there before keeps its bytes."""
    steady = replace(ROUGH, slow=None, storms=None, season=None)
    bare = case_of(solids=steady, temperature=None, wander=None)
    made_forcing.cache_clear()
    before = forcing_of(bare).solids
    warm = forcing_of(case_of(solids=steady, wander=None))
    assert warm.solids.tobytes() == before.tobytes()
    busy = forcing_of(case_of(solids=steady))
    assert busy.solids.tobytes() == before.tobytes()
    assert busy.temperature.tobytes() == warm.temperature.tobytes()
    slow = forcing_of(case_of(solids=replace(steady, slow=SLOW)))
    assert slow.flow.tobytes() == busy.flow.tobytes()
    stormy = forcing_of(case_of(solids=replace(ROUGH, season=None)))
    added = stormy.solids / slow.solids
    assert added.min() >= 1.0 - 1e-12, "storms come on top of the same fast and slow changes"
    assert added.max() > 2.0


def test_streams_go_by_name_and_not_by_place() -> None:
    first = stream("feed solids fast", seed=1, replicate=0).standard_normal(4)
    stream("feed solids storm times", seed=1, replicate=0).standard_normal(4)
    again = stream("feed solids fast", seed=1, replicate=0).standard_normal(4)
    assert first.tobytes() == again.tobytes()
    names = ("feed solids fast", "feed solids slow", "feed temperature days", "demand days")
    assert len({stream(name, seed=1, replicate=0).bytes(16) for name in names}) == len(names)


def test_a_longer_run_begins_with_the_same_weather() -> None:
    year, two = forcing_of(case_of(days=365.0)), forcing_of(case_of(days=730.0))
    short = len(year.end) - 1  # the last piece of the year may go on beyond it
    for name in ("end", "flow", "solids", "temperature"):
        assert getattr(year, name)[:short].tobytes() == getattr(two, name)[:short].tobytes()


def test_without_chance_every_seed_is_the_same_object() -> None:
    case = case_of(solids=None, temperature=None, wander=None)
    assert not case.is_random
    assert forcing_of(case, seed=5, replicate=7) is forcing_of(case)
    kept = {name: replace(simulate(case, "volume", seed=seed), seed=0) for name, seed in (("a", 1), ("b", 9))}
    assert repr(kept["a"]) == repr(kept["b"])


@pytest.mark.parametrize("part", ["solids", "temperature", "wander"])
def test_one_random_source_makes_a_case_random(part: str) -> None:
    parts: dict[str, None] = {"solids": None, "temperature": None, "wander": None}
    del parts[part]
    case = case_of(**parts)
    assert case.is_random
    assert anew(case) != anew(case, seed=2)


def test_a_result_says_its_seed_and_replicate_and_replicates_differ() -> None:
    case = case_of(days=60.0)
    results = [simulate(case, "volume", seed=3, replicate=number) for number in (0, 1)]
    assert [(each.seed, each.replicate) for each in results] == [(3, 0), (3, 1)]
    assert results[0].site != results[1].site
    assert repr(simulate(case, "volume", seed=3, replicate=1)) == repr(results[1])


def test_threads_get_the_same_arrays_and_few_are_kept() -> None:
    case = case_of(days=30.0)
    made_forcing.cache_clear()
    with ThreadPoolExecutor(4) as pool:
        found = list(pool.map(lambda number: content(forcing_of(case, replicate=number % 12)), range(48)))
    assert [found[number] for number in range(12)] == [anew(case, replicate=number) for number in range(12)]
    assert found[:12] == found[12:24] == found[24:36] == found[36:]
    assert made_forcing.cache_info().currsize <= 8


def test_what_is_kept_cannot_be_written_to() -> None:
    forcing = forcing_of(case_of(days=2.0))
    with pytest.raises(ValueError, match="read-only"):
        forcing.solids[0] = 1.0


@pytest.mark.parametrize(("seed", "replicate"), [(-1, 0), (1, -1), (2**63, 0), (1, 2**32)])
def test_seeds_outside_their_range_are_refused(seed: int, replicate: int) -> None:
    with pytest.raises(ValueError, match="allowed are whole numbers from 0"):
        forcing_of(case_of(days=2.0), seed=seed, replicate=replicate)


def test_one_value_an_hour_for_solids_and_one_a_day_for_the_rest() -> None:
    case = case_of(days=10.0)
    forcing = forcing_of(case)
    assert len(forcing.end) == 240
    assert np.diff(forcing.end, prepend=0.0) == pytest.approx(HOUR)
    for values in (forcing.flow, forcing.temperature):
        by_day = values.reshape(10, 24)
        assert (by_day == by_day[:, :1]).all()
        assert len(np.unique(by_day[:, 0])) == 10


def test_equal_neighbours_are_merged() -> None:
    calm = Changeable(
        median=4.0, fast=Wander(spread=0.0, memory=HOUR), slow=None, season=None,
        storms=Storms(per_year=0.0, height=5.0, length=DAY, season=None),
    )  # fmt: skip
    forcing = forcing_of(case_of(solids=calm, temperature=None, wander=None, days=100.0))
    assert len(forcing.end) == 1
    assert forcing.solids[0] == 4.0


def test_a_run_within_the_day_reads_the_hours_that_it_lasts() -> None:
    case = case_of(days=2.0)
    start = case.run.start
    later = replace(case, run=replace(case.run, start=start.replace(hour=5, minute=30), length=DAY))
    whole, part = forcing_of(case), forcing_of(later)
    assert part.end[0] == 0.5 * HOUR
    assert part.solids[0] == whole.solids[5]
    assert part.solids[1:24].tobytes() == whole.solids[6:29].tobytes()


def test_water_does_not_get_colder_than_ice() -> None:
    case = case_of(days=365.0)
    assert isinstance(case.feed.temperature, UnsettledSeason)
    usual = replace(case.feed.temperature.usual, mean=3.0, swing=2.5)
    cold = replace(case.feed, temperature=UnsettledSeason(usual=usual, wander=Wander(spread=2.0, memory=5 * DAY)))
    forcing = build_forcing(case.run, cold, case.demand)
    assert forcing.temperature.min() == 0.0
