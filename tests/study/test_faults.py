"""Which faults a case can have, and after how many mornings a reading shows one: by hand on a small case.

The small case asks for 6 m3/h, steadily. "two nights" washes at 02:30 every second day from day 3 on, "by volume"
after every 360 m3, 60 h of service; a wash takes 17 min, 9 at 24 m3/h and 8 at 6 m3/h: 4.4 m3. Faults begin on
4 March at 07:00, 79 h into the run; the next washes are at 98.5 h, on 5 March, and at 60 h + 17 min + 60 h, 120.28 h.
"""

import json
from dataclasses import replace
from math import inf
from pathlib import Path
from typing import get_args

import pytest

from plots.words import term
from sim.case.fault.records import Fault, What
from sim.case.load import read_case
from sim.case.records import Case
from sim.study.errors import RequestError, SettingError
from sim.study.faults import FaultStudy, Harm, Row, first_day, study_faults
from sim.study.faults_possible import CUT, Kind, kind_of, possible_faults
from sim.study.faults_read import Reading, usual_band
from sim.study.many.study_file import StudyFile
from sim.study.many.workers import local
from sim.tell.faults.fault_words import fault_label
from tests.cli.small import small_text
from tests.test_walks import TREATED_TEXT, text_of

HOUR, DAY = 3600.0, 86_400.0
START = 79.0 * HOUR
VALVES = (What.POWER_CUT, What.POWER_CUT)
OF_A_BED = (What.VALVE_PASSING, What.RAW_PAST, What.MEDIA_LOST, What.MUDBALLED)


def case_of(text: str = "") -> Case:
    return read_case(text or small_text(), Path("small.toml"), {})


def studied(case: Case, *, workers: int = 1, kept: StudyFile | None = None) -> FaultStudy:
    with local(workers) as crew:
        return study_faults(case, crew, start=START, days=4, kept=kept)


@pytest.fixture(scope="module")
def study() -> FaultStudy:
    return studied(case_of())


def row_of(study: FaultStudy, policy: str, kind: Kind) -> Row:
    return next(row for row in study.of(policy) if row.kind == kind)


def test_faults_follow_from_the_devices_of_a_case() -> None:
    case = case_of()
    for policy, own in (("two nights", [What.CLOCK_WRONG]),
                        ("by volume", [What.METER_STUCK, What.METER_WRONG, What.METER_WRONG])):  # fmt: skip
        found = [fault.what for fault in possible_faults(case, policy, START)]
        assert found == [*own, What.SUPPLY_WEAK, What.DRAIN_RESTRICTED, *VALVES, *OF_A_BED]
    assert {fault.stage for fault in possible_faults(case, "two nights", START)} == {None, "sand"}


def test_every_fault_is_one_that_some_case_can_have_and_that_has_its_words() -> None:
    cases = [case_of(text_of()), case_of(TREATED_TEXT)]
    found = [fault for case in cases for policy in case.policies for fault in possible_faults(case, policy.name, DAY)]
    assert {fault.what for fault in found} == set(What)
    for fault in found:
        assert fault_label(fault, "us")
    for kind in get_args(Kind):
        assert term("failure", kind)
        assert term("fault_test", kind)
    for reading in get_args(Reading):
        assert term("reading", reading)


def test_a_fault_is_called_by_its_size_and_side() -> None:
    def of(what: What, **number: float) -> str:
        return fault_label(Fault(what=what, stage="sand", start=0.0, end=inf, **number), "si")  # type: ignore[arg-type]

    assert of(What.METER_WRONG, share=0.88) == "meter 12 % low"
    assert of(What.METER_WRONG, share=1.1) == "meter 10 % high"
    assert of(What.CLOCK_WRONG, by=-3.0 * HOUR) == "clock 3 h slow"
    assert of(What.DOSING_WRONG, share=2.0) == "double dose"
    assert of(What.RAW_PAST, share=0.2) == "20 % of flow past bed"
    assert kind_of(Fault(what=What.DOSING_WRONG, stage="sand", start=0.0, end=inf, share=0.5)) == "dose"


def test_mornings_are_told_by_hand(study: FaultStudy) -> None:
    """A meter that is stuck adds nothing by the first morning; a clock shows it at once. A weak supply gives 70 % of
    3.6 m3 and the rinse its 0.8 m3: on 5 March the first morning shows it, with the wash of 120.28 h the second."""
    stuck = row_of(study, "by volume", "meter stuck").noticed
    assert stuck is not None
    assert (stuck.mornings, stuck.reading, stuck.who, stuck.value) == (1, "metered", "sand", 0.0)
    clock = row_of(study, "two nights", "clock slow").noticed
    assert clock is not None
    assert (clock.mornings, clock.reading, clock.value) == (1, "clock", pytest.approx(-3.0 * HOUR))
    for policy, mornings in (("two nights", 1), ("by volume", 2)):
        weak = row_of(study, policy, "wash supply weak").noticed
        assert weak is not None
        assert (weak.mornings, weak.reading) == (mornings, "water per wash")
        assert weak.value == pytest.approx(0.7 * 3.6 + 0.8)
        assert (weak.least, weak.most) == (pytest.approx(0.95 * 4.4 - 0.05), pytest.approx(1.05 * 4.4 + 0.05))


def test_a_meter_that_reads_ten_percent_low_stays_in_its_band(study: FaultStudy) -> None:
    """It shows 129.6 of the 144 m3 of a day; days are taken to differ by 15 %, one with a wash has 1.7 m3 less."""
    row = row_of(study, "by volume", "meter low")
    assert row.noticed is None
    band = {0: {"metered|sand": 144.0}, 1: {"metered|sand": 144.0 - 1.7}}
    assert usual_band(study.case, band, "metered|sand", 1, START) == (
        pytest.approx(0.85 * 142.3), pytest.approx(1.15 * 144.0),
    )  # fmt: skip
    assert row.until == row.figures


def test_metered_water_is_compared_with_the_same_weekday() -> None:
    """Where demand follows weekdays: a Sunday's 30 m3 says nothing of a Monday's 100."""
    weekly = 'hourly = [' + '"6 m3/h", ' * 24 + ']\nweekday = [1, 1, 1, 1, 1, 1, 0.3]\n'
    text = small_text().replace('flow = "6 m3/h"\n\n[[stage]]', f"{weekly}\n[[stage]]")
    case = case_of(text)
    usual = {0: {"metered|sand": 144.0}, 4: {"metered|sand": 43.2}, 5: {"metered|sand": 144.0}}
    assert case.run.start.isoweekday() == 1  # 1 March; morning 4, of 8 March, ends Sunday
    assert usual_band(case, usual, "metered|sand", 4, START) == (pytest.approx(36.72), pytest.approx(49.68))
    assert usual_band(case, usual, "metered|sand", 5, START) == (pytest.approx(122.4), pytest.approx(165.6))


def test_a_cut_comes_in_the_first_backwash(study: FaultStudy) -> None:
    """Half-way through its 9 min, for 3 h."""
    row = row_of(study, "two nights", "power cut, frozen")
    assert row.fault is not None
    assert row.fault.start == pytest.approx(98.5 * HOUR + 4.5 * 60.0)
    assert row.fault.end - row.fault.start == pytest.approx(CUT)
    assert row.more["downtime_h"] == pytest.approx(3.0)


def test_harm_is_against_nothing_failing(study: FaultStudy) -> None:
    stuck = row_of(study, "by volume", "meter stuck")
    assert stuck.more["washes"] == stuck.figures["washes"] - study.usual("by volume").figures["washes"]  # type: ignore[operator]
    assert stuck.figures["washes"] == 0
    assert stuck.more["drain_m3"] == pytest.approx(-4.4)  # the one wash of these days, at 120.28 h
    assert stuck.harm_until == Harm(0.0, 0.0, 0.0)


def test_ways_are_ranked_by_their_own_worst_failure_until_noticed(study: FaultStudy) -> None:
    def failing(policy: str, over: float, broken: int = 0) -> tuple[Row, Row]:
        usual = study.usual(policy)
        usual = replace(usual, figures={**usual.figures, "filter_runs_broken": broken})
        row = study.of(policy, own=True)[0]
        more = dict.fromkeys(row.more, 0.0) | {"over_limit_h": over}
        return usual, replace(row, more=more, more_until=more)

    rows = (*failing("two nights", 3.0), *failing("by volume", 2.0))
    assert replace(study, rows=rows).order() == ["by volume", "two nights"]
    rows = (*failing("two nights", 3.0), *failing("by volume", 2.0, broken=1))
    assert replace(study, rows=rows).order() == ["two nights", "by volume"]


def test_json_has_a_row_for_each_way_and_fault(study: FaultStudy) -> None:
    data = json.loads(json.dumps(study.to_json(), allow_nan=False))
    assert (data["from"], data["unnoticed_days"]) == ("2027-03-04T07:00:00", 4)
    assert len(data["rows"]) == len(study.rows)
    for row in data["rows"]:
        assert {"policy", "fault", "stage", "from", "figures", "noticed_day", "noticed_by"} <= set(row)
    stuck = next(row for row in data["rows"] if row["kind"] == "meter stuck")
    assert (stuck["fault"], stuck["stage"], stuck["from"]) == ("meter stuck", "sand", "2027-03-04T07:00:00")
    assert (stuck["noticed_day"], stuck["noticed_by"], stuck["until"]) == (1, "metered", None)


def test_who_does_the_runs_changes_nothing_and_what_is_kept_is_not_run_again(
    study: FaultStudy, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with StudyFile(tmp_path / "rows.study") as kept:
        assert studied(case_of(), workers=2, kept=kept).to_json() == study.to_json()
        assert kept.count() == len(study.rows)
        monkeypatch.setattr("sim.study.faults.Dispatch", lambda todo, *rest: _none(todo))
        assert studied(case_of(), kept=kept).to_json() == study.to_json()


class _none:
    """Nothing is left to do."""

    def __init__(self, todo: list[object]) -> None:
        assert todo == []

    def answers(self) -> "_none":
        return self

    def __iter__(self) -> "_none":
        return self

    def __next__(self) -> None:
        raise StopIteration

    def close(self) -> None:
        pass


def test_days_are_those_of_the_run() -> None:
    case = case_of()
    assert first_day("2027-03-04", case, 4) == first_day("day 4", case, 4) == START
    assert first_day(None, case, 4) == 4.0 * DAY + 7.0 * HOUR
    for text in ("2027-02-28", "day 1", "2027-03-09", "day 99999999999", "soon", ""):
        with pytest.raises(RequestError, match="--from"):
            first_day(text, case, 4)
    with pytest.raises(RequestError, match=r"--days 9: .*allowed: up to 7 days"):
        first_day(None, case, 9)


def test_a_run_that_fails_is_named_by_its_fault(monkeypatch: pytest.MonkeyPatch) -> None:
    from hydraulics.errors import FilterrunError
    from sim.plant.simulate import Plant

    def fails(self: Plant, stop: float) -> None:
        raise FilterrunError("no water at all")

    monkeypatch.setattr(Plant, "run_until", fails)
    with pytest.raises(SettingError, match=r"no fault and (two nights|by volume): no water at all"):
        studied(case_of())


def test_the_policy_has_to_be_there() -> None:
    with local(1) as crew, pytest.raises(RequestError, match="by volum"):
        study_faults(case_of(), crew, start=START, days=4, policies=["by volum"])


