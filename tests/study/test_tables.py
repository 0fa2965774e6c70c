"""Tables and JSON: columns as documented, whole numbers kept whole, a missing figure left empty."""

import csv
import io
import json
from datetime import datetime

from sim.study.compare import Comparison
from sim.study.frames import (
    ASSUMED_COLUMNS,
    KPI_COLUMNS,
    LOG_COLUMNS,
    RUN_COLUMNS,
    as_csv,
    assumed_table,
    kpi_table,
    log_table,
    run_table,
)
from sim.study.single import SingleRun
from tests.study.made import FIGURES, POLICIES, made_case, made_results

START = datetime(2027, 1, 4)


def lines(text: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(text)))


def test_kpis_of_site_and_stage_in_long_form() -> None:
    table = kpi_table(made_results())
    assert list(table.columns) == list(KPI_COLUMNS)
    assert len(table) == len(POLICIES) * 2 * len(FIGURES)
    read = lines(as_csv(table))
    assert read[0] == {"policy": "calendar", "stage": "", "kpi": "washes", "value": "14"}
    values = {(each["policy"], each["stage"], each["kpi"]): each["value"] for each in read}
    assert values["volume", "filter", "drain_m3"] == "89.6"
    assert values["volume", "", "cost"] == ""


def test_filter_runs_with_dates_and_causes() -> None:
    table = run_table(made_results(), START)
    assert list(table.columns) == list(RUN_COLUMNS)
    first = lines(as_csv(table))[0]
    assert first["start"] == "2027-01-04T00:00:00"
    assert first["end"] == "2027-01-08T03:00:00"  # 4.125 d after the start
    assert (first["cause"], first["unused_capacity"], first["end_dp_kpa"]) == ("calendar", "", "15.4")


def test_events_with_dates() -> None:
    table = log_table(made_results()[0], START)
    assert list(table.columns) == list(LOG_COLUMNS)
    first, second = lines(as_csv(table))
    assert (first["time"], first["what"], first["volume_m3"]) == ("2027-01-08T03:00:00", "wash starts", "")
    assert (second["time_s"], second["volume_m3"]) == ("357000.0", "2.83")


def test_assumed_constants() -> None:
    table = assumed_table(made_case())
    assert list(table.columns) == list(ASSUMED_COLUMNS)
    assert lines(as_csv(table))[0]["key"] == "stage.filter.tanks"


def test_names_that_need_quotes_survive_csv() -> None:
    results = made_results(names=('a, "b"', "é", "c", "d"))
    assert [each["policy"] for each in lines(as_csv(run_table(results, START)))] == ['a, "b"', "é", "c", "d"]


def test_json_of_a_comparison_has_the_documented_keys() -> None:
    data = Comparison(case=made_case(), seed=1, results=made_results()).to_json()
    assert list(data) == [
        *(
            "program",
            "version",
            "case",
            "case_hash",
            "days",
            "replicates",
            "seed",
            "compiled",
            "assumed",
            "policies",
            "paired",
            "doubts",
        ),
    ]
    assert (data["program"], data["days"], data["replicates"], data["paired"]) == ("filterrun", 60.0, 1, [])
    assert data["assumed"] == ["stage.filter.tanks"]
    assert [list(each) for each in data["policies"]] == [["name", "site", "stages", "interval"]] * 4
    assert data["policies"][3]["stages"]["filter"]["unused_capacity"] is None


def test_json_of_a_run_can_be_read_back() -> None:
    data = json.loads(json.dumps(SingleRun(case=made_case(), result=made_results()[0]).to_json(), allow_nan=False))
    assert data["policy"] == "calendar"
    assert data["runs"][0]["end"] == "2027-01-08T03:00:00"
    assert data["log"][1]["why"] == "time up"
