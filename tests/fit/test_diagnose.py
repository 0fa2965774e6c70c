"""Causes of a log, against faults that were put into it and against arithmetic."""

import math
from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from sim.case.fault.records import Fault
from sim.case.fault.records import What as Failed
from sim.case.load import load_case
from sim.case.units import DAY
from sim.fit.causes import SHOWS, Cause, Change, Diagnosis, Look, Symptom
from sim.fit.diagnose import Scoring, _next, by_symptom, diagnose
from sim.fit.signature import Feature, Signature
from sim.fit.tried import SIZES, tried_of
from sim.log.records import Log, What
from sim.study.errors import RequestError
from tests.fit.bench_diagnose import FAULTS, row_of
from tests.fit.diagnosed import FILE, log_of

CASE = load_case(FILE)
STAGE, BEGAN = "sand", 15.0 * DAY
SHORT = replace(CASE, run=replace(CASE.run, length=30.0 * DAY))
TURBID = (Feature.AFTER_WASH, Feature.LATE)
METERED, VOLUME = Feature.METERED, Feature.VOLUME


@cache
def made(policy: str, what: Failed | None, size: float | None = None) -> Log:
    """A month without errors, in which something fails from the fifteenth day on."""
    faults: tuple[Fault, ...] = ()
    if what is not None:
        key = "by" if what is Failed.CLOCK_WRONG else "share"
        numbers = {} if size is None else {key: size}
        stage = None if what is Failed.SUPPLY_WEAK else STAGE
        faults = (Fault(what=what, stage=stage, start=BEGAN, end=math.inf, **numbers),)
    return log_of(SHORT, policy, faults, seed=3, noise=0.0)


def found(policy: str, what: Failed | None, size: float | None = None) -> Diagnosis:
    return diagnose(made(policy, what, size), CASE, STAGE, policy=policy)


def test_a_log_of_the_case_itself_has_no_cause() -> None:
    signature = Signature(made("volume", None), CASE, STAGE, "volume")
    beyond = signature.read - signature.healthy
    assert np.nanmax(np.abs(beyond[: Feature.AFTER_WASH])) < 1e-4
    assert np.nanmax(np.abs(beyond[list(TURBID)])) < 1e-4
    assert np.nanmax(np.abs(beyond[VOLUME])) < 1e-9
    diagnosis = found("volume", None)
    assert not diagnosis.alarm
    assert diagnosis.healthy > 0.5


def test_a_meter_that_counts_85_of_100_is_found_with_its_share_and_its_day() -> None:
    log = made("volume", Failed.METER_WRONG, 0.85)
    signature = Signature(log, CASE, STAGE, "volume")
    after = signature.since > BEGAN
    counted = (signature.read - signature.healthy)[METERED]
    assert counted[after][:-1] == pytest.approx(math.log(0.85), abs=1e-3)
    assert counted[~after][:-1] == pytest.approx(0.0, abs=1e-3)
    diagnosis = found("volume", Failed.METER_WRONG, 0.85)
    best = diagnosis.causes[0]
    assert diagnosis.alarm
    assert (best.what, diagnosis.next) == ("meter low", Look.METER)
    assert best.size == pytest.approx(0.85, abs=0.01)
    assert abs((best.since or 0.0) - BEGAN) < 3.0 * DAY


def test_a_clock_three_hours_slow_is_found_by_the_hour_of_the_washes() -> None:
    best = found("calendar", Failed.CLOCK_WRONG, -3.0 * 3600.0).causes[0]
    assert best.what == "clock slow"
    assert best.size == pytest.approx(-3.0 * 3600.0, rel=0.02)


def test_a_weak_supply_and_a_narrow_drain_are_parted_by_watching_a_wash() -> None:
    diagnosis = found("volume", Failed.SUPPLY_WEAK, 0.7)
    assert {diagnosis.causes[0].what, *diagnosis.causes[0].inseparable_from} >= {"wash supply weak"}
    pair = tuple(Cause(what=each, stage=None, probability=0.5, since=None, size=None)
                 for each in ("wash supply weak", "drain restricted"))  # fmt: skip
    assert _next(pair, {What.DRAIN}) is Look.WASH


def test_only_a_total_beside_a_flow_betrays_a_meter() -> None:
    log = made("volume", Failed.METER_WRONG, 0.85)
    alone = replace(log, series=tuple(each for each in log.series if each.what is not What.TOTAL))
    assert np.isnan(Signature(alone, CASE, STAGE, "volume").read[METERED]).all()
    known = {cause.what for cause in diagnose(alone, CASE, STAGE, policy="volume").causes}
    assert "meter low" in known  # by the volume between washes
    assert Change.COLDER not in known  # the log reads the temperature


def test_washes_that_stay_away_are_a_stuck_meter_without_any_gauge() -> None:
    """Flow and washes alone: the volume between them, and what the last run is overdue."""
    log = made("volume", Failed.METER_STUCK)
    bare = replace(log, series=tuple(each for each in log.series if each.what is What.FLOW))
    diagnosis = diagnose(bare, CASE, STAGE, policy="volume")
    assert diagnosis.alarm
    assert "meter stuck" in (diagnosis.causes[0].what, *diagnosis.causes[0].inseparable_from)


def test_the_score_is_that_of_normal_errors_about_a_shared_one() -> None:
    """Two runs with an error of e = 0.1 each and one of o = 0.02 in common: x' (e^2 I + o^2)^-1 x."""
    beyond = np.full((len(Feature), 2), math.nan)
    beyond[METERED] = 0.3, 0.1
    scoring = Scoring(beyond, steady=True)
    scoring._error[:] = 0.1
    scoring._weight = scoring._weights(np.zeros_like(beyond))
    a, b = 0.1**2 + 0.02**2, 0.02**2
    by_hand = (a * (0.3**2 + 0.1**2) - 2.0 * b * 0.3 * 0.1) / (a**2 - b**2)
    assert scoring.of(np.zeros_like(beyond)) == pytest.approx(-0.5 * by_hand, rel=1e-12)


def test_the_best_step_is_found_with_its_size() -> None:
    """A step of ln 0.8 in the fourth of eight runs, between the sizes 0.9 and 0.75 that the model has run."""
    beyond = np.full((len(Feature), 8), math.nan)
    beyond[METERED] = np.where(np.arange(8) < 3, 0.0, math.log(0.8))
    shifts = [(size, np.where(np.arange(len(Feature))[:, None] == METERED, math.log(size), np.zeros((1, 8))))
              for size in (1.0, 0.9, 0.75)]  # fmt: skip
    best = Scoring(beyond, steady=True).best("meter low", shifts)
    part = (math.log(0.8) - math.log(0.9)) / (math.log(0.75) - math.log(0.9))
    assert best.first == 3
    assert best.size == pytest.approx(0.9 + part * (0.75 - 0.9), abs=1e-6)


def test_what_is_tried_runs_from_little_to_much() -> None:
    for policy in ("volume", "pressure drop", "calendar"):
        for tried in tried_of(CASE, policy, CASE.stages[0]):
            steps = np.diff(tried.sizes)
            assert (steps > 0.0).all() or (steps < 0.0).all()
    assert {what for shown in SHOWS.values() for what in shown} >= set(SIZES) - {
        Change.FASTER_GROWTH, Change.MORE_DEMAND, Change.LESS_DEMAND,
    }  # fmt: skip


def test_symptoms_name_what_the_model_shows_of_each_cause() -> None:
    hour = by_symptom(CASE, STAGE, Symptom.WRONG_HOUR, policy="calendar")
    assert {cause.what for cause in hour.causes} == {"clock slow", "clock fast"}
    drain = by_symptom(CASE, STAGE, Symptom.LESS_DRAIN, policy="calendar")
    assert {cause.what for cause in drain.causes[:2]} == {"wash supply weak", "drain restricted"}
    assert drain.next is Look.WASH
    assert math.fsum(cause.probability for cause in drain.causes) == pytest.approx(1.0)
    assert by_symptom(CASE, STAGE, Symptom.HARD, policy="calendar").causes == ()


def test_an_unknown_way_to_start_washes_is_refused() -> None:
    with pytest.raises(RequestError, match='no policy "moon"'):
        diagnose(made("volume", None), CASE, STAGE, policy="moon")


@pytest.mark.long
@pytest.mark.parametrize("kind", sorted(set(FAULTS) - {"switch drifts low"}))  # which a log seldom shows
def test_a_slice_of_the_bench(kind: str) -> None:
    """One log of each kind that the bench finds among two, and one healthy log beside it without an alarm."""
    row = row_of(kind, 0, 1)
    assert row["alarm"]
    assert any(kind in group for group in row["groups"])
