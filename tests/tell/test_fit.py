"""What is said of a fit and of a diagnosis made by hand: the answer first, nothing left out, one screen."""

import io
import json
from pathlib import Path

import pytest
from rich.console import Console

from plots.fit import fit_drawing
from sim.case.load import load_case
from sim.case.records import Case
from sim.cli.show_first import show as show_diagnosis
from sim.cli.show_fit import show
from sim.fit.causes import Cause, Change, Diagnosis, Look, Symptom
from sim.fit.records import Constant, Fit
from sim.fit.surer import Surer
from sim.tell.fit.diagnosis_json import diagnosis_json
from sim.tell.fit.diagnosis_screen import Asked, diagnosis_screen
from sim.tell.fit.fit_files import fit_files, fit_picture
from sim.tell.fit.fit_json import fit_json
from sim.tell.fit.fit_screen import fit_screen
from sim.tell.prepared import head_of
from tests.fit.made_fit import FACTORS, made_fit, made_log

PATH = Path("cases/laundry.toml")
SURER = Surer(way="volume", today="calendar", figure="drain_m3", before=(100.0, 500.0), after=(250.0, 350.0))
CERTAIN = {Constant.VALVE, Constant.CLEAN_BED, Constant.GROWTH}
SETTLED = {Constant.GROWTH, Constant.CLEANING}


def screen(width: int = 100) -> Console:
    return Console(file=io.StringIO(), width=width, force_terminal=False, markup=False, highlight=False, emoji=False)


def shown(console: Console) -> list[str]:
    assert isinstance(console.file, io.StringIO)
    return console.file.getvalue().rstrip("\n").split("\n")


@pytest.fixture(scope="module")
def case() -> Case:
    return load_case(PATH)


@pytest.fixture
def fit(case: Case) -> Fit:
    return made_fit(case, told=SETTLED)


def test_the_first_screen_answers_first_and_fits(case: Case, fit: Fit) -> None:
    console = screen()
    show(console, fit_screen(fit, case, "si", SURER), None)
    lines = shown(console)
    text = " ".join(line.strip() for line in lines)
    assert len(lines) <= 30
    assert all(len(line) <= 100 for line in lines)
    assert lines[0].endswith("stage “sand”, fitted to log.csv")
    assert lines[2].startswith("The log settles 2 of 6 constants of “sand”")
    assert "within 0.25 kPa on average" in text  # each reading is 250 Pa off
    assert "saves 100 to 500 m3" in text
    assert "250 to 350 m3 by the new one, a range 25 % as wide" in text  # 100 of 400 m3
    assert "cannot part loss in valve and piping from viscous coefficient of the bed" in text
    assert "readings of turbidity out" in text
    assert lines[-1].startswith("A planning aid")


def test_the_table_has_before_and_after_in_the_units_asked_for(case: Case, fit: Fit) -> None:
    rows = {row[0]: row[1:] for row in fit_screen(fit, case, "si").table.rows}
    growth = next(each for each in fit.constants if each.constant is Constant.GROWTH)
    known = growth.before[1]
    assert rows["growth of the pressure drop"][-2] == f"{FACTORS[1] * known:.3g}"
    assert rows["growth of the pressure drop"][-1] == f"{FACTORS[0] * known:.3g} to {FACTORS[2] * known:.3g}"
    assert rows["loss in valve and piping"][0].startswith("kPa at ")
    assert rows["loss in valve and piping"][-2] == "-"
    in_us = {row[0]: row[1:] for row in fit_screen(fit, case, "us").table.rows}
    assert in_us["loss in valve and piping"][0].startswith("psi at ")


def test_nothing_settled_is_said_so(case: Case) -> None:
    told = fit_screen(made_fit(case, told=set()), case, "si")
    assert told.answer[0].startswith("The log settles none of the 6 constants")


def test_a_wider_range_is_called_not_surer_and_why(case: Case) -> None:
    wider = Surer(way="volume", today=None, figure="peak_dp_kpa", before=(30.0, 40.0), after=(35.0, 55.0))
    text = " ".join(fit_screen(made_fit(case, told=CERTAIN), case, "si", wider).answer)
    assert "Not surer" in text
    assert "200 % as wide" in text
    assert "took loss in valve and piping and viscous coefficient of the bed for certain" in text


def test_json_has_every_constant_and_its_need(case: Case, fit: Fit) -> None:
    data = json.loads(json.dumps(fit_json(fit, case, SURER), allow_nan=False))
    assert [each["identifiable"] for each in data["constants"]].count(True) == len(SETTLED)
    by_name = {each["name"]: each for each in data["constants"]}
    assert by_name["valve"]["needs"] == "other flows"
    assert by_name["valve"]["inseparable_from"] == "clean bed"
    assert data["held_out"][0]["runs"] == 2
    assert data["surer"]["after"] == [250.0, 350.0]


def test_report_workbook_and_figure(case: Case, fit: Fit) -> None:
    files = fit_files(fit, case, "si", head_of(PATH), SURER)
    assert set(files) == {"report.html", "tables.xlsx", "fit.svg"}
    report = str(files["report.html"])
    assert "What would part them" in report
    assert fit_files(fit, case, "si", head_of(PATH), SURER) == files


def test_the_figure_has_what_was_read_and_what_is_left(case: Case, fit: Fit) -> None:
    picture = fit_picture(fit, "si")
    (course,) = picture.courses
    assert course.table["read"].tolist() == [9.0, 13.0] * 5  # kPa of 9 and 13 thousand Pa
    assert (course.table["before"] / course.table["read"]).tolist() == pytest.approx([1.4] * 10)
    assert len(picture.washes) == 4
    assert "pressure drop" in fit_drawing(picture).alt


FOUND = Diagnosis(
    stage="sand",
    causes=(
        Cause(what="drain restricted", stage="sand", probability=0.6, since=5 * 86_400.0, size=0.61,
              inseparable_from=("wash supply weak",)),
        Cause(what="wash supply weak", stage=None, probability=0.25, since=5 * 86_400.0, size=0.6,
              inseparable_from=("drain restricted",)),
        Cause(what=Change.COLDER, stage="sand", probability=0.05, since=0.0, size=6.0),
        Cause(what="meter low", stage="sand", probability=0.002, since=None, size=0.9),
    ),
    healthy=0.098, margin=9.0, alarm=True, next=Look.WASH,
)  # fmt: skip


def test_causes_that_cannot_be_parted_are_named_together_with_the_next_look(case: Case) -> None:
    console = screen()
    told = diagnosis_screen(FOUND, Asked(case=case, log=made_log()), "si")
    show_diagnosis(console, told, hint="")
    lines = shown(console)
    text = " ".join(line.strip() for line in lines)
    assert len(lines) <= 30
    assert lines[2].startswith("The likeliest cause is drain restricted or wash supply weak")
    assert "with a probability of 85 %; that nothing differs from the case has 10 %" in text  # 0.6 + 0.25
    assert "It seems to have begun about 6 Mar 2027" in text  # the log begins on 1 March
    assert "What to do next: watch a wash from start to end." in text
    assert [row[0] for row in told.table.rows] == [
        "drain restricted to 61 %", "wash supply at 60 %", "water colder by 6 °C",
    ]  # fmt: skip


def test_a_healthy_log_alarms_nobody(case: Case) -> None:
    quiet = Diagnosis(stage="sand", causes=FOUND.causes, healthy=0.9, margin=0.5, alarm=False, next=None)
    told = diagnosis_screen(quiet, Asked(case=case, log=made_log()), "si")
    assert told.answer == (
        "Nothing in the log differs from the case by more than chance: “sand” is as the case says with a probability "
        "of 90 %.",
    )
    doubted = Diagnosis(stage="sand", causes=FOUND.causes, healthy=0.098, margin=0.5, alarm=False, next=None)
    told = diagnosis_screen(doubted, Asked(case=case, log=made_log()), "si")
    assert told.answer[0].startswith("No alarm: drain restricted would explain the log best")


@pytest.mark.parametrize("symptom", Symptom)
def test_a_symptom_is_answered_without_a_log(case: Case, symptom: Symptom) -> None:
    told = diagnosis_screen(FOUND, Asked(case=case, symptom=symptom), "si")
    assert told.answer[0].startswith(f"For “{symptom.value}” the likeliest cause is drain restricted")
    assert [column.head for column in told.table.columns] == ["cause", "probability", "cannot be parted from"]


def test_a_symptom_that_nothing_explains_is_said_so(case: Case) -> None:
    nothing = Diagnosis(stage="sand", causes=(), healthy=0.0, margin=0.0, alarm=False, next=None)
    told = diagnosis_screen(nothing, Asked(case=case, symptom=Symptom.NO_WASH), "si")
    assert told.answer[0].startswith("No fault or change that the program knows explains “no wash comes”")


@pytest.mark.parametrize("what", [*Change, *Look])
def test_every_change_and_look_has_words(case: Case, what: Change | Look) -> None:
    if isinstance(what, Look):
        found = Diagnosis(stage="sand", causes=FOUND.causes, healthy=0.0, margin=9.0, alarm=True, next=what)
    else:
        cause = Cause(what=what, stage="sand", probability=0.9, since=0.0, size=1.5)
        found = Diagnosis(stage="sand", causes=(cause,), healthy=0.1, margin=9.0, alarm=True, next=None)
    told = diagnosis_screen(found, Asked(case=case, log=made_log()), "si")
    assert told.answer
    data = json.loads(json.dumps(diagnosis_json(found, Asked(case=case, log=made_log())), allow_nan=False))
    assert data["causes"][0]["what"] == str(found.causes[0].what)
