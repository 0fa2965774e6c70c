"""Exact: the keys of clocks, calendars, signals and inhibits, and when a place's clock is ahead."""

import math
from datetime import date
from pathlib import Path

import pytest

from sim.case.time_rules import DayHours, HoursList, TimeOfDay
from sim.case.train.records import HoldUnit, HoursOfDay
from sim.case.trigger.records import Calendar, Clock, Contact, OnlyWhile, Signal
from sim.errors import RefusedValue
from tests.case.samples import NAME, changed, load_text
from tests.case.whole_train import WHOLE

HOUR, DAY = 3600.0, 86_400.0
VOLUME = 'start_on = "volume"\nvolume = "250 m3"'
START = "start = 2027-01-04T00:00:00"


@pytest.mark.parametrize(
    ("raw", "hours"),
    [("22:30", 22.5), ("10:30 pm", 22.5), ("10 PM", 22.0), ("1:05 am", 1 + 1 / 12), ("noon", 12.0),
     ("midnight", 0.0), ("00:00", 0.0)],
)  # fmt: skip
def test_hours_are_read_with_am_and_pm(raw: str, hours: float) -> None:
    assert TimeOfDay().read(raw) == pytest.approx(hours * HOUR, rel=1e-15)


@pytest.mark.parametrize("raw", ["12 am", "12 pm", "12:30 p.m."])
def test_twelve_with_am_or_pm_is_refused_and_both_are_named(raw: str) -> None:
    with pytest.raises(RefusedValue) as refused:
        TimeOfDay().read(raw)
    assert '"midnight"' in refused.value.try_
    assert '"noon"' in refused.value.try_


@pytest.mark.parametrize("raw", ["13 pm", "0 am", "24:30", "9", "9:60", "nine"])
def test_what_is_no_hour_is_refused(raw: str) -> None:
    with pytest.raises(RefusedValue):
        TimeOfDay().read(raw)


def test_hours_and_lists_of_them() -> None:
    assert DayHours().read("10 pm - 6:30 am") == HoursOfDay(start=22 * HOUR, end=6.5 * HOUR)
    assert DayHours().read("9 pm-midnight") == HoursOfDay(start=21 * HOUR, end=DAY)
    assert HoursList().read(["3 am", "15:00"]) == (3 * HOUR, 15 * HOUR)
    for wrong in ([], ["3 am", "03:00"]):
        with pytest.raises(RefusedValue):
            HoursList().read(wrong)


@pytest.mark.parametrize(
    ("keys", "trigger"),
    [
        ('start_on = "calendar"\non = ["Mon", "Thu"]\nat = ["3 am", 15:00:00]',
         Calendar(on=(0, 3), at=3 * HOUR, also_at=(15 * HOUR,))),
        ('start_on = "calendar"\nevery = "30 h"', Calendar(every=30 * HOUR)),
        ('start_on = "signal"\nof = "turbidity"\nabove = "0.5 NTU"\nhold = "10 min"\nat = "3 am"',
         Signal(of="turbidity", above=0.75, hold=600.0, at=3 * HOUR)),
        ('start_on = "signal"\nof = "contact"\nhold = "10 min"\ncontact = { hours = ["22:00-23:00"] }',
         Signal(of="contact", hold=600.0, contact=Contact(hours=(HoursOfDay(start=22 * HOUR, end=23 * HOUR),)))),
    ],
    ids=["weekdays", "interval", "monitor", "contact"],
)  # fmt: skip
def test_triggers(tmp_path: Path, keys: str, trigger: object) -> None:
    ratio = ('suspended_solids = "5 mg/L"', 'turbidity = "4 NTU"\nsolids_per_turbidity = "1.5 mg/L per NTU"')
    case = load_text(tmp_path, changed((VOLUME, keys), *([ratio] if "NTU" in keys else [])))
    assert case.policies[0].triggers[0][1] == trigger


def test_a_contact_from_a_file(tmp_path: Path) -> None:
    rows = [f"2027-01-04T{hour:02d}:00:00,{int(hour in (2, 3, 7))}" for hour in range(12)]
    (tmp_path / "contact.csv").write_text("time,closed\n" + "\n".join(rows) + "\n", encoding="utf-8")
    keys = 'contact = { file = "contact.csv", column = "closed", unit = "closed", zone = "UTC" }'
    text = changed((VOLUME, f'start_on = "signal"\nof = "contact"\nhold = "1 min"\n{keys}'), ('"60 d"', '"11 h"'))
    (_, trigger), = load_text(tmp_path, text).policies[0].triggers
    assert trigger.contact == Contact(spans=((2 * HOUR, 4 * HOUR), (7 * HOUR, 8 * HOUR)))


def test_what_a_stage_says_of_its_clock_and_of_what_must_hold(tmp_path: Path) -> None:
    keys = (
        'clock = { drift = "-12 s/d", keeps_time = false }\nleast_interval = "6 h"\nnot_while = ["carbon"]\n'
        "only_while = { unit_idle = true, tank_above = 0.3 }"
    )
    stage = load_text(tmp_path, WHOLE.replace('name = "sand"', f'name = "sand"\n{keys}')).stages[0]
    assert stage.clock == Clock(drift=-12.0, keeps_time=False)
    assert (stage.least_interval, stage.not_while) == (6 * HOUR, ("carbon",))
    assert stage.only_while is not None
    assert stage.only_while.unit_idle
    assert stage.only_while.tank_above == pytest.approx(0.3 * 10.0)


@pytest.mark.parametrize(
    ("hold", "record"),
    [
        ("{}", HoldUnit()),
        ('{ from = "rinse", until = "rinse" }', HoldUnit(start=1, end=1)),
        ('{ until = "backwash", plus = "90 s" }', HoldUnit(end=0, plus=90.0)),
    ],
)
def test_a_hold_by_its_steps(tmp_path: Path, hold: str, record: HoldUnit) -> None:
    text = WHOLE.replace('{ from = "backwash", until = "backwash", plus = "5 min" }', hold)
    assert load_text(tmp_path, text).stages[0].hold_unit == record


@pytest.mark.parametrize(
    ("zone", "summer"),
    [
        ("Europe/Rome", ((83, 2, 300, 2, 1.0),)),  # 2027-03-28 and 2027-10-31, days from the 4th of January
        ("America/New_York", ((69, 2, 307, 1, 1.0),)),  # 2027-03-14 and 2027-11-07
        ("Australia/Lord_Howe", ((-1, 0, 90, 1.5, 0.5), (272, 2, math.inf, 0, 0.5))),  # half an hour, in its summer
        ("UTC+1", ()),
        ("Asia/Tokyo", ()),
    ],
)
def test_when_the_clock_of_a_place_is_ahead(tmp_path: Path, zone: str, summer: tuple[tuple[float, ...], ...]) -> None:
    text = changed((START, f'{START}\nzone = "{zone}"'), ('"60 d"', '"365 d"'))
    expected = tuple(
        (max(day * DAY + hour * HOUR, 0.0), end * DAY + until * HOUR, ahead * HOUR)
        for day, hour, end, until, ahead in summer
    )
    assert load_text(tmp_path, text).run.summer == expected


def test_closed_days_are_weekdays_or_dates(tmp_path: Path) -> None:
    calendar = 'start_on = "calendar"\nevery = "1 d"\nat = 03:00:00\nskip_closed = true'
    rules = '[washing]\nclosed_days = ["Sun", 2027-12-25]\n[[stage]]'
    case = load_text(tmp_path, changed((VOLUME, calendar), ("[[stage]]", rules)))
    assert case.washing.closed_days == (6, date(2027, 12, 25))
    assert load_text(tmp_path, changed((NAME, NAME))).washing.together == "overlap"
    assert OnlyWhile() == OnlyWhile(unit_idle=False, tank_above=None)
