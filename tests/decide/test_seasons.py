"""Settings by season: nothing to gain where no season is, something where there is one."""

from dataclasses import replace
from pathlib import Path

from sim.case.load import load_case
from sim.study.decide.advice import Wishes, advising
from sim.study.decide.limits import Limit
from sim.study.decide.seasons import Seasons, has_seasons, seasons_of
from sim.study.decide.trials import Bench
from sim.study.many.workers import local
from sim.tell.decision.advice_words import season_words
from tests.decide.steady import steady
from tests.weather.weathers import ROUGH, SEASON, STORMS, UNSETTLED
from tests.weather.weathers import case_of as weather

YEAR = 365


def studied(path: Path, *limits: Limit) -> tuple[Seasons, tuple[str, ...]]:
    case = load_case(path)
    with local(1) as crew:
        bench = Bench(path=path, case=case, crew=crew, seed=1, replicates=1)
        advice = advising(bench, Wishes(limits=limits, coarse=True), [case.policies[1]]).advice()
        seasons = seasons_of(bench, advice, advice.policies[0])
    best = advice.policies[0].best
    assert best is not None
    assert seasons.told(seasons.one) == seasons.whole == best.mean("cost")  # one setting is told as it was advised
    return seasons, season_words(advice, seasons, "si")


def with_season(path: Path) -> Path:
    text = path.read_text(encoding="utf-8")
    season = 'suspended_solids = { mean = "10 mg/L", swing = "8 mg/L", highest_on = 2027-02-15 }'
    path.write_text(text.replace('suspended_solids = "10 mg/L"', season), encoding="utf-8")
    return path


def test_without_a_season_nothing_is_gained(tmp_path: Path) -> None:
    path = steady(tmp_path, days=YEAR)
    assert not has_seasons(load_case(path))
    seasons, words = studied(path, Limit("pressure_kpa", 12.0))
    assert seasons.one is not None
    assert seasons.four is not None
    assert seasons.spared(seasons.four) == 0.0
    assert not seasons.worth_it
    assert "hardly worth the trouble" in words[0]
    assert "4 settings a year take no less." in words[1]


def test_what_has_a_yearly_course_in_a_run_of_a_year() -> None:
    """Of feed, storms or demand one is enough; 360 days are a year."""
    calm = replace(ROUGH, season=None, storms=None)
    steady_year = weather(solids=calm, temperature=None, wander=None, days=360.0)
    assert not has_seasons(steady_year)
    stormy = replace(calm, storms=replace(STORMS, season=SEASON))
    for solids in (replace(calm, season=SEASON), stormy):
        assert has_seasons(weather(solids=solids, temperature=None, days=360.0))
        assert not has_seasons(weather(solids=solids, temperature=None, days=359.0))
    assert has_seasons(weather(solids=calm, temperature=UNSETTLED, days=360.0))
    assert has_seasons(replace(steady_year, demand=replace(steady_year.demand, season=SEASON)))


def test_with_a_season_each_part_takes_what_its_water_allows(tmp_path: Path) -> None:
    """Solids of 2 to 18 mg/L: a quarter of clear water allows longer runs at the same pressure."""
    path = with_season(steady(tmp_path, days=YEAR))
    assert has_seasons(load_case(path))
    seasons, words = studied(path, Limit("pressure_kpa", 12.0))
    assert seasons.one is not None
    assert seasons.two is not None
    assert seasons.four is not None
    assert seasons.four.least <= seasons.two.least <= seasons.one.least
    assert seasons.worth_it
    winter, _, summer, _ = (dict(each.policy.triggers)["sand"].volume for each in seasons.four.settings)  # type: ignore[union-attr]
    assert summer > winter
    assert words[0].startswith("Settings by season save up to")
    assert "1 Jan: volume" in words[1]
    assert "2 Jul: volume" in words[1]
