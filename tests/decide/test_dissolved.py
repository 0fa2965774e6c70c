"""What is dissolved in a study of settings: limits by hand, salt and volume together, a meter's salt."""

from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from sim.case.chemistry.records import Limits
from sim.case.load import load_case
from sim.case.records import Case
from sim.case.units import MINUTE
from sim.study.decide.advice import Wishes, advise
from sim.study.decide.knobs import Knob, knobs_of, restored_by, salt_for
from sim.study.decide.limits import Limit, exceeded, hours_over, standing_limits
from sim.study.decide.payback import payback
from sim.study.decide.search import candidate_of
from sim.study.decide.trials import Bench
from sim.study.many.workers import Crew, Here
from sim.study.sweep import sweep
from sim.tell.decision.payback_words import answer
from tests.decide.softener import CLOSED_TWO_DAYS, EVEN_DAYS, HARDNESS, RESIN, SALT, softener
from tests.decide.test_limits import tried

SALTED: frozenset[Any] = frozenset({"salt"})


@pytest.fixture
def case(tmp_path: Path) -> Case:
    return load_case(softener(tmp_path))


def bench(path: Path) -> Bench:
    return Bench(path=path, case=load_case(path), crew=Crew(Here, 1), seed=1, replicates=1)


def test_limits_of_what_is_dissolved_ask_for_no_more_than_today(case: Case) -> None:
    found = {each.key: each for each in standing_limits(case)}
    assert found["hardness_over_h"].most is None
    assert found["without"].most is None
    assert not {"iron_over_h", "manganese_over_h", "oxidant_over_h", "exposure"} & found.keys()
    hours = Limit("hardness_over_h", None)
    assert exceeded([hours], tried(3.0, key="hardness_over_h"), tried(2.5, key="hardness_over_h")) == (hours,)
    assert exceeded([hours], tried(2.5, key="hardness_over_h"), tried(2.5, key="hardness_over_h")) == ()


def test_a_unit_gets_no_more_oxidant_than_today_or_than_its_limit_where_today_gets_none() -> None:
    """A hundredth more water takes 100 mg/L h to 101; of none today 0.1 mg/L over 100 h, 10 mg/L h, may come."""
    limit = Limit("exposure", None, where_none=10.0)
    today, none = tried(100.0, key="exposure"), tried(0.0, key="exposure")
    assert limit.allowed(today) == pytest.approx(101.0)
    assert limit.excess(tried(100.9, key="exposure"), today) == 0.0
    assert limit.excess(tried(111.1, key="exposure"), today) == pytest.approx(0.1)
    assert limit.allowed(none) == 10.0


def test_hours_over_all_limits_are_added_up() -> None:
    figures = {"over_limit_h": 2.0, "hardness_over_h": 3.0, "iron_over_h": float("nan"),
               "manganese_over_h": 0.0, "oxidant_over_h": 0.5}  # fmt: skip
    made = replace(tried(0.0), figures={key: tried(value).figures["over_limit_h"] for key, value in figures.items()})
    assert hours_over(made) == 5.5


def knob(case: Case, policy: int, part: str, also: frozenset[Any] = SALTED) -> Knob:
    (found,) = (each for each in knobs_of(case, case.policies[policy], also) if each.part == part)
    return found


def restored(salt: float) -> float:
    """By hand, of the table: 50 kg/m3 for 100 kg/m3 of salt and 0.2 for each beyond, up to 70 [m3 of water]."""
    return (50_000.0 + 0.2 * (salt / RESIN - 100_000.0)) * RESIN / HARDNESS


def test_a_volume_is_what_its_salt_restores_or_less(case: Case) -> None:
    """20 kg are 127 kg/m3 and restore 55.5 kg/m3; without `salt` that ends the range, with it the last dose does."""
    volume, salt = knob(case, 1, "volume", frozenset()), knob(case, 1, "salt")
    assert restored_by(case, salt, SALT) == pytest.approx(restored(SALT))
    assert 0.97 * restored(SALT) < volume.high <= restored(SALT)
    assert volume.end == "restored"
    most = restored(31_000.0)
    assert 0.97 * most < knob(case, 1, "volume").high <= most
    assert (salt.low, salt.high) == (15_800.0, 31_000.0)  # 15.7 and 31.4 kg in round numbers
    assert salt.key("meter") == "stage.softener.step.1.salt"


def test_no_setting_is_made_whose_volume_is_more_than_its_salt_restores(tmp_path: Path) -> None:
    made = bench(softener(tmp_path))
    policy = made.case.policies[1]
    knobs = knobs_of(made.case, policy, SALTED)
    assert [each.part for each in knobs] == ["volume", "salt"]
    more = restored(SALT) * 1.01
    assert candidate_of(made, policy, knobs, (more, SALT)) is None
    enough = candidate_of(made, policy, knobs, (more, 25_000.0))
    assert enough is not None
    assert enough.steps == (("stage.softener.step.1.salt", "25000 g"),)
    assert made.case_at(enough.steps).stages[0].steps[1].salt == 25_000.0


def test_a_longer_calendar_takes_the_salt_along(case: Case) -> None:
    """A bed of 20 kg at 55.5 kg/m3: a quarter more is 69.3, which takes 196.6 kg/m3, 30.9 kg; twice is beyond."""
    salt = knob(case, 0, "salt")
    now = restored(SALT) * HARDNESS / RESIN
    wanted = (100_000.0 + (1.25 * now - 50_000.0) / 0.2) * RESIN
    assert wanted <= salt_for(case, salt, SALT, 1.25) < 1.03 * wanted
    assert salt_for(case, salt, SALT, 2.0) == salt.high
    assert salt_for(case, salt, SALT, 0.01) == salt.low


def test_a_tank_is_set_by_the_minutes_of_its_make_up(tmp_path: Path) -> None:
    """0.6 m3/h that dissolve 350 g/L are 3.5 kg a minute: 15.7 to 31.4 kg are 4.5 to 9 min, in halves."""
    case = load_case(softener(tmp_path, tank=True))
    made = knob(case, 1, "make-up")
    assert (made.low / MINUTE, made.high / MINUTE, made.present / MINUTE) == (4.5, 9.0, 6.0)
    assert made.key("meter") == "stage.softener.step.4.minutes"
    assert made.rounded(5.2 * MINUTE) == 5.5 * MINUTE


def test_salt_and_volume_are_found_together(tmp_path: Path) -> None:
    """The first point of the table has most hardness for its salt."""
    made = bench(softener(tmp_path))
    found = advise(made, Wishes(also=SALTED, coarse=True, today="meter", least="cost"))
    meter = next(each for each in found.policies if each.policy == "meter")
    assert meter.best is not None
    volume, salt = meter.best.candidate.values
    assert salt < SALT
    assert volume <= restored(salt) * (1.0 + 1e-9)
    assert meter.best.mean("cost") < meter.present.mean("cost")
    assert meter.best.mean("hardness_over_h") <= found.today.mean("hardness_over_h") + 1e-9
    kept = [one for one in meter.tried if one.mean("hardness_over_h") <= found.today.mean("hardness_over_h")]
    assert min(one.mean("cost") for one in kept) == meter.best.mean("cost"), "of what keeps the limit, the cheapest"
    by_salt = 0.5 * meter.best.mean("salt_kg")
    assert meter.best.mean("cost") == pytest.approx(by_salt), "salt alone has a price"


def test_without_a_limit_no_more_hardness_is_let_through_than_today(tmp_path: Path) -> None:
    made = bench(softener(tmp_path))
    (stage,) = made.case.stages
    unlimited = replace(made, case=replace(made.case, stages=(replace(stage, limits=Limits()),)))
    found = advise(unlimited, Wishes(coarse=True, today="meter"))
    assert Limit("hardness_leak_kg", None) in found.limits
    assert all(
        each.best is None or each.best.mean("hardness_leak_kg") <= 1.01 * found.today.mean("hardness_leak_kg") + 1e-6
        for each in found.policies
    )


@pytest.mark.parametrize("unlike", [False, True])
def test_a_meter_saves_salt_where_days_differ_and_none_where_they_do_not(tmp_path: Path, unlike: bool) -> None:
    """Equal days of 13.4 m3: two of them spend what the salt restores, 29 m3, as far as the limit lets them."""
    found = payback(bench(softener(tmp_path, CLOSED_TWO_DAYS if unlike else EVEN_DAYS)), Wishes(coarse=True))
    (meter,) = found.decided
    assert meter.salt is not None
    spared = found.calendar.tried.mean("salt_kg") - meter.bar.tried.mean("salt_kg")
    assert meter.salt.mean == pytest.approx(spared)
    text = " ".join(answer(found, "si"))
    assert "The trade press says 25 to 50 % less" in text
    assert ("so a meter saves none" in text) is not unlike
    assert ("Here use is the same every day." in text) is not unlike
    assert (spared > 0.0) is unlike


def test_salt_make_up_dose_and_hardness_are_swept(tmp_path: Path) -> None:
    """Twice the salt of as many regenerations, the water of a make-up, the dose: twice what they bring."""
    by_salt = _swept(softener(tmp_path), "stage.softener.step.regenerant.salt", ("15 kg", "30 kg"))
    assert by_salt["salt_kg"][1] == pytest.approx(2.0 * by_salt["salt_kg"][0])
    by_feed = _swept(softener(tmp_path), "feed.hardness", ("150 mg/L", "300 mg/L"))
    assert by_feed["capacity_lost_fraction"][0] > by_feed["capacity_lost_fraction"][1]
    tank = _swept(softener(tmp_path, tank=True), "stage.softener.step.make-up.minutes", (3, 6))
    assert tank["makeup_m3"][1] == pytest.approx(2.0 * tank["makeup_m3"][0])
    dosed = softener(tmp_path)
    oxidant = '[stage.oxidant]\nproduct = "chlorine"\ndose = "1 mg/L"\n[[stage.layer]]'
    dosed.write_text(dosed.read_text(encoding="utf-8").replace("[[stage.layer]]", oxidant, 1), encoding="utf-8")
    by_dose = _swept(dosed, "stage.softener.oxidant.dose", ("1 mg/L", "2 mg/L"))
    assert by_dose["oxidant_exposure_g_h_m3"][1] == pytest.approx(2.0 * by_dose["oxidant_exposure_g_h_m3"][0])


def _swept(path: Path, key: str, values: tuple[Any, ...]) -> dict[str, list[float]]:
    """The figures of the site with the meter at each value."""
    sites = [each.results[0].site for each in sweep(path, {key: values}, ["meter"]).points]
    return {name: [float(site[name] or 0.0) for site in sites] for name in sites[0]}
