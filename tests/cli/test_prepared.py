"""The head of a report takes a name that can be read, and a day that there is."""

from pathlib import Path

import pytest

from tests.cli.small import call, small_case


@pytest.mark.parametrize("name", ["a\x1b[31m", "two\nlines", "x" * 201, "\u202eturned"])
def test_a_name_that_steers_or_fills_a_page_is_refused(tmp_path: Path, name: str) -> None:
    done = call("compare", small_case(tmp_path), "--out", tmp_path / "out", "--prepared-by", name)
    assert done.exit_code == 2
    assert "200 printable characters" in done.stderr
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize("epoch", ["soon", "253402300800", "99999999999999", "1e9"])
def test_a_day_that_there_is_not_is_refused_before_anything_runs(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, epoch: str
) -> None:
    monkeypatch.setenv("SOURCE_DATE_EPOCH", epoch)
    done = call("compare", small_case(tmp_path), "--out", tmp_path / "out")
    assert done.exit_code == 2
    assert "SOURCE_DATE_EPOCH" in done.stderr
    assert not (tmp_path / "out").exists()


def test_the_day_of_the_environment_is_the_day_of_the_report(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """86,400 s after 1 January 1970 begins the second."""
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "86400")
    done = call("compare", small_case(tmp_path), "--no-ranges", "--out", tmp_path / "out", "--for", "A & <B>")
    assert done.exit_code == 0, done.stderr
    report = (tmp_path / "out" / "report.html").read_text(encoding="utf-8")
    assert "<dd>2 Jan 1970</dd>" in report
    assert "<dd>A &amp; &lt;B&gt;</dd>" in report


def test_a_day_that_there_is_not_is_refused_by_a_command_that_makes_no_head(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "abc")
    done = call("check", "cases/laundry.toml")
    assert done.exit_code == 2
    assert 'given "abc"; allowed: whole seconds' in done.stderr
