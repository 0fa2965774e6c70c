"""`filterrun fit` and `diagnose`: from a log to a case that compares at once; what they refuse beforehand."""

import json
import re
from pathlib import Path

import pytest

from sim.case.load import load_case
from sim.log.records import What
from tests.cli.small import call, small_case
from tests.log.made_log import HAND, make_log

TRUE = 45.0  # kg/m3, of deposit; the case says 60
SIX_HOURS = 6 * 3600.0


@pytest.fixture
def case(tmp_path: Path) -> str:
    return small_case(tmp_path)


@pytest.fixture
def log(tmp_path: Path, case: str) -> str:
    truth = {"stage.sand.layer.0.deposit_density": f"{TRUE:g} kg/m3"}
    return str(make_log(tmp_path / "log.csv", Path(case), stage="sand", days=9.0, every=SIX_HOURS, truth=truth))


def test_a_log_becomes_a_case_that_compares_at_once(tmp_path: Path, case: str, log: str) -> None:
    new, report = tmp_path / "new.toml", tmp_path / "report"
    done = call("fit", log, case, "--stage", "sand", "--out", str(new), "--report", str(report), "--json", "-",
                "--no-ranges")  # fmt: skip
    assert done.exit_code == 0, done.output
    data = json.loads(done.stdout)
    growth = next(each for each in data["constants"] if each["name"] == "growth")
    assert growth["identifiable"]
    assert growth["low"] <= 1000.0 * TRUE <= growth["high"]
    fitted = load_case(new)
    assert fitted.stages[0].layers[0].deposit_density == pytest.approx(growth["value"], rel=1e-3)
    assert "stage.sand.layer.0.deposit_density" in {each.key for each in fitted.stated}
    assert re.search(r"# fitted: [\d.]+ / [\d.]+ / [\d.]+ kg/m3, from log\.csv", new.read_text(encoding="utf-8"))
    assert {each.name for each in report.iterdir()} == {"report.html", "tables.xlsx", "fit.svg"}
    compared = call("compare", str(new))
    assert compared.exit_code == 0, compared.output
    assert "given with" in compared.output


def test_how_much_surer_is_said_and_in_the_file(tmp_path: Path, case: str, log: str) -> None:
    told = tmp_path / "fit.json"
    done = call("fit", log, case, "--stage", "sand", "--json", str(told))
    assert done.exit_code == 0, done.output
    assert "by the case as it was, and" in done.output
    assert json.loads(told.read_text(encoding="utf-8"))["surer"]["way"]


def test_washes_that_only_show_have_to_be_confirmed(tmp_path: Path, case: str) -> None:
    columns = [what for what in HAND if what is not What.WASH]
    log = make_log(tmp_path / "log.csv", Path(case), stage="sand", days=9.0, every=1800.0, columns=columns)
    done = call("fit", str(log), case, "--stage", "sand", "--no-ranges", "--out", str(tmp_path / "new.toml"))
    assert done.exit_code == 2
    assert "--yes" in done.output
    assert not (tmp_path / "new.toml").exists()


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--stage", "gravel"), "there is no stage 'gravel'"),
        (("--stage", "sand", "--column", "pressure=dP [kPa]"), "WHAT one of"),
        (("--stage", "sand", "--column", "pressure drop=dP [kPa]"), "dP"),
        (("--stage", "sand", "--column", "flow=a [m3/h]", "--column", "flow=b [m3/h]"), "one column of flow"),
    ],
)
def test_what_cannot_be_is_refused(tmp_path: Path, case: str, log: str, words: tuple[str, ...], said: str) -> None:
    done = call("fit", log, case, *words, "--out", str(tmp_path / "new.toml"))
    assert done.exit_code == 2
    assert said in done.output
    assert not (tmp_path / "new.toml").exists()


def test_a_stage_has_to_be_named_where_there_are_several(log: str) -> None:
    done = call("fit", log, "cases/lens_works.toml")
    assert done.exit_code == 2
    assert "the case has several stages" in done.output


def test_no_file_is_written_over(tmp_path: Path, case: str, log: str) -> None:
    there = tmp_path / "there.toml"
    there.write_text("mine", encoding="utf-8")
    nowhere = str(tmp_path / "no" / "x")
    for target, said in ((str(there), "--force"), (case, "name of its own"), (nowhere, "no folder")):
        done = call("fit", log, case, "--stage", "sand", "--out", target)
        assert done.exit_code == 2
        assert said in done.output
    assert there.read_text(encoding="utf-8") == "mine"


def test_a_sheet_for_a_log_by_hand(tmp_path: Path, case: str) -> None:
    sheet = tmp_path / "sheet.html"
    assert call("fit", case, "--blank-log", str(sheet)).exit_code == 0
    assert "pressure drop [kPa]" in sheet.read_text(encoding="utf-8")
    assert call("fit", case, "--blank-log", str(sheet)).exit_code == 2
    assert call("fit", case).exit_code == 2


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("{case}",), "LOG and CASE"),
        (("{log}", "{case}", "--symptom", "hard water"), "--symptom"),
        (("{case}", "--symptom", "it leaks"), "it leaks"),
        (("{log}", "{case}", "--stage", "sand", "--policy", "nobody"), "nobody"),
    ],
)
def test_what_diagnose_cannot_take(case: str, log: str, words: tuple[str, ...], said: str) -> None:
    done = call("diagnose", *(each.format(case=case, log=log) for each in words))
    assert done.exit_code == 2
    assert said in done.output


def test_a_log_is_diagnosed(tmp_path: Path, case: str, log: str) -> None:
    told = tmp_path / "found.json"
    done = call("diagnose", log, case, "--stage", "sand", "--json", str(told))
    assert done.exit_code == 0, done.output
    data = json.loads(told.read_text(encoding="utf-8"))
    assert data["healthy"] + sum(each["probability"] for each in data["causes"]) == pytest.approx(1.0)
    assert "Probabilities are among" in done.output


def test_a_symptom_is_answered_from_the_case_alone(case: str) -> None:
    done = call("diagnose", case, "--symptom", "washes come at another hour than before", "--json", "-")
    assert done.exit_code == 0, done.output
    data = json.loads(done.stdout)
    assert data["log"] is None
    assert data["causes"][0]["what"] in ("clock slow", "clock fast")


def test_a_cause_without_a_size_and_a_screen_without_causes_are_told_plainly(case: str) -> None:
    told = call("diagnose", case, "--symptom", "washes come at another hour than before").stdout
    assert re.search("^clock slow +[0-9]", told, re.MULTILINE)
    none = call("diagnose", case, "--symptom", "hard water").stdout
    assert "explains" in none
    assert "---" not in none
