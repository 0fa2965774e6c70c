"""The three commands on a short case: what they print, what they write, and that it is the same each time."""

import json
import re
from pathlib import Path

import pytest

from plots import bundle
from sim.case.load import load_case
from sim.study.errors import RequestError
from sim.study.version import VERSION
from tests.cli.small import call, small_case

ROOT = Path(__file__).parent.parent.parent


@pytest.fixture
def case(tmp_path: Path) -> str:
    return small_case(tmp_path)


def figures(text: str, label: str) -> list[float]:
    """The numbers of a row of the comparison: its last, where the first screen has the figure too."""
    line = [line for line in text.splitlines() if line.strip().startswith(label + ",")][-1]
    return [float(number.replace(",", "")) for number in re.findall(r"(?<= )[0-9][0-9,.]*", line)]


def test_compare_prints_table_assumptions_and_caution(case: str) -> None:
    done = call("compare", case, "--all")
    assert done.exit_code == 0, done.stderr
    lines = done.stdout.splitlines()
    assert lines[0] == "A short one (9 days simulated)"
    text = done.stdout
    for words in (
        "what starts a wash",
        "nights",
        "volume",
        "water to drain, m3",
        "over the limit, h",
        "A * marks the best of a row",
    ):
        assert words in text
    assumed = r"^\d+ constants? (is|are) assumed: (a figure|figures) of the plant that the case leaves out\.$"
    assert re.search(assumed, text, re.MULTILINE)
    assert lines[-1] == "A planning aid: local codes and a licensed practitioner decide."
    assert done.stderr == ""


def test_units_change_the_figures_shown_and_nothing_else(case: str) -> None:
    metric, american = call("compare", case, "--all").stdout, call("compare", case, "--all", "--units", "us").stdout
    # 1 m3 = 264.172 gal, 1 psi = 6.894757 kPa: NIST SP 811, appendix B.
    for label_si, label_us, factor in (
        ("water to drain, m3", "water to drain, gal", 264.172),
        ("highest pressure drop, kPa", "highest pressure drop, psi", 1 / 6.894757),
    ):
        shown_si = figures(metric, label_si.partition(",")[0])
        shown_us = figures(american, label_us.partition(",")[0])
        assert label_si in metric
        assert label_us in american
        assert shown_us == pytest.approx([value * factor for value in shown_si], rel=0.006)
    assert figures(metric, "over the limit") == figures(american, "over the limit")


def test_json_to_standard_output_is_all_there_is_and_is_the_same_bytes_each_time(case: str, tmp_path: Path) -> None:
    first, second = call("compare", case, "--json", "-"), call("compare", case, "--json", "-")
    assert first.exit_code == 0
    assert first.stdout_bytes == second.stdout_bytes
    data = json.loads(first.stdout)
    assert (data["program"], data["version"], data["case"], data["days"]) == (
        "filterrun",
        VERSION,
        "A short one",
        9.0,
    )
    assert [each["name"] for each in data["policies"]] == ["two nights", "by volume"]
    assert call("compare", case, "--json", tmp_path / "a.json").exit_code == 0
    assert (tmp_path / "a.json").read_bytes() == first.stdout_bytes


COMPARED = ("comparison", "filter_runs_1", "course_1", "course_2", "week", "bed_1")


def test_compare_writes_its_tables_its_figures_and_a_report(case: str, tmp_path: Path) -> None:
    out = tmp_path / "new" / "out"
    done = call("compare", case, "--out", out, "--json", out / "all.json")
    assert done.exit_code == 0, done.stderr
    figures = {f"{name}.svg" for name in COMPARED}
    tables = {"all.json", "kpis.csv", "runs.csv", "tables.xlsx"}
    assert {path.name for path in out.iterdir()} == {"report.html", *tables, *figures}
    assert "Written: " in done.stderr
    assert "Written: 6 figures." in done.stderr
    assert (out / "kpis.csv").read_text().startswith("policy,stage,kpi,value\ntwo nights,,washes,")


@pytest.mark.parametrize("words", [["compare"], ["run", "--policy", "by volume"]])
def test_the_answer_is_told_before_anything_is_drawn(
    words: list[str], case: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refused(*_: object, **__: object) -> None:
        raise RequestError("no pens")

    monkeypatch.setattr(bundle, "draw_all", refused)
    out = tmp_path / "out"
    done = call(words[0], case, *words[1:], "--out", out, "--json", tmp_path / "a.json")
    assert done.exit_code == 2
    assert done.stdout == call(words[0], case, *words[1:]).stdout != ""
    assert done.stderr.splitlines()[-1] == "filterrun: no pens"
    assert not out.exists()
    assert not (tmp_path / "a.json").exists()


def test_figures_are_png_too_where_that_is_asked_for_and_only_with_a_folder(case: str, tmp_path: Path) -> None:
    done = call("run", case, "--policy", "by volume", "--out", tmp_path, "--png")
    assert done.exit_code == 0, done.stderr
    drawn = [path.stem for path in tmp_path.glob("*.svg")]
    assert len(drawn) == 4
    assert all((tmp_path / f"{name}.png").read_bytes().startswith(b"\x89PNG") for name in drawn)
    done = call("run", case, "--policy", "by volume", "--png")
    assert done.exit_code == 2
    assert "--png is for the figures of --out" in done.stderr


@pytest.mark.long
def test_what_compare_writes_is_the_same_each_time_and_only_shown_in_other_units(case: str, tmp_path: Path) -> None:
    out = tmp_path / "out"
    assert call("compare", case, "--out", out, "--json", out / "all.json").exit_code == 0
    before = {path.name: path.read_bytes() for path in out.iterdir()}
    assert call("compare", case, "--out", out, "--json", out / "all.json").exit_code == 0
    assert {path.name: path.read_bytes() for path in out.iterdir()} == before
    assert call("compare", case, "--out", out, "--json", out / "all.json", "--units", "us").exit_code == 0
    after = {path.name: path.read_bytes() for path in out.iterdir()}
    same = {name for name in before if after[name] == before[name]}
    # Data files are SI whatever is shown; the bars of filter runs have no unit but days.
    assert same == {"all.json", "kpis.csv", "runs.csv", "filter_runs_1.svg"}
    assert "water to drain, gal" in after["comparison.svg"].decode()


@pytest.mark.long
def test_quiet_shows_nothing_and_writes_all(case: str, tmp_path: Path) -> None:
    for words in (["compare", case], ["run", case, "--policy", "by volume"], ["check", case]):
        done = call(*words, "--quiet", "--out", tmp_path / "out")
        assert (done.exit_code, done.output) == (0, "")
    names = {path.name for path in (tmp_path / "out").iterdir() if path.suffix not in (".svg", ".png")}
    assert names == {"kpis.csv", "runs.csv", "log.csv", "assumed.csv", "report.html", "tables.xlsx"}


def test_run_prints_events_filter_runs_and_ledger(case: str, tmp_path: Path) -> None:
    done = call("run", case, "--policy", "two nights", "--all", "--out", tmp_path, "--json", tmp_path / "run.json")
    assert done.exit_code == 0, done.stderr
    text = done.stdout
    assert text.splitlines()[:2] == ["A short one (9 days simulated)", ""]
    # The first `at` on or after two days from the start is 2 d 2 h 30 min, the backwash takes 9 min.
    assert re.search(r"^2027-03-03 02:30:00 sand +wash starts +calendar", text, re.MULTILINE)
    assert re.search(r"^2027-03-03 02:39:00 sand +backwash ends", text, re.MULTILINE)
    assert re.search(r"^ +1 1 Mar 00:00 +3 Mar 02:30 +calendar ", text, re.MULTILINE)
    # 50.5 h at 6 m3/h are 303 m3.
    assert re.search(r"^ +1 1 Mar 00:00.* 303 ", text, re.MULTILINE)
    for words in ("Filter runs of sand", "Where water and solids went", "solids held at the end, kg"):
        assert words in text
    data = json.loads((tmp_path / "run.json").read_text())
    assert data["runs"][0]["end"] == "2027-03-03T02:30:00"
    assert data["runs"][0]["volume_m3"] == pytest.approx(303.0, rel=1e-9)
    assert {path.name for path in tmp_path.glob("*.csv")} == {"log.csv", "runs.csv", "kpis.csv"}


def test_check_says_what_the_case_describes_and_leaves_out(case: str, tmp_path: Path) -> None:
    done = call("check", case, "--all", "--json", tmp_path / "check.json", "--out", tmp_path)
    assert done.exit_code == 0, done.stderr
    assert done.stdout.startswith(
        f"{case} is in order\n  A short one: 9 days from 2027-03-01 00:00\n  stage sand: sand;"
    )
    assert "what starts a wash: “two nights” and “by volume”" in done.stdout
    data = json.loads((tmp_path / "check.json").read_text())
    assert f"{len(data['assumed'])} constants are assumed" in done.stdout
    for constant in data["assumed"]:
        assert constant["low"] <= constant["value"] <= constant["high"]
        assert constant["key"].rpartition(".")[2] in done.stdout
        assert constant["key"] in (tmp_path / "assumed.csv").read_text()


def test_help_and_version() -> None:
    assert call("--version").stdout == f"filterrun, version {VERSION}\n"
    text = call("--help").stdout
    assert [line.split()[0] for line in text.partition("Commands:\n")[2].splitlines()] == [
        "new",
        "run",
        "compare",
        "sweep",
        "advise",
        "payback",
        "lesson",
        "check",
        "keys",
        "upgrade",
        "weather",
        "faults",
        "fit",
        "diagnose",
        "sheet",
        "page",
    ]


@pytest.mark.parametrize("path", [
    pytest.param(path, id=path.stem, marks=pytest.mark.long if path.stem in ("boiler_house", "lens_works") else [])
    for path in sorted((ROOT / "cases").glob("*.toml"))
])  # fmt: skip
def test_the_cases_that_come_along_compare_their_ways_to_start_a_wash(path: Path) -> None:
    done = call("compare", path, "--units", "us", "--no-ranges", "--all")
    assert done.exit_code == 0, done.stderr
    names = [policy.name for policy in load_case(path).policies]
    (head,) = (line for line in done.stdout.splitlines() if line.startswith("in ") and "(today)" in line)
    assert len(names) >= 2
    assert all(name in head for name in names)
