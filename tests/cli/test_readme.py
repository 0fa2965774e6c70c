"""What the README says about commands, the case file and the figures is so."""

import re
from pathlib import Path

import pytest

from sim.case.load import load_case
from sim.plant.simulate import simulate
from tests.cli.small import call, small_case

README = (Path(__file__).parent.parent.parent / "README.md").read_text(encoding="utf-8")


def blocks(language: str) -> list[str]:
    return re.findall(rf"^```{language}\n(.*?)^```$", README, re.MULTILINE | re.DOTALL)


def test_the_first_two_commands_are_one_logical_line_each() -> None:
    first, second = (block.replace("\\\n", " ").strip() for block in blocks("bash")[:2])
    assert "\n" not in first + second
    assert first.endswith("filterrun compare cases/reference.toml")
    assert second.endswith("-m pytest")


def test_the_case_of_the_readme_is_in_order(tmp_path: Path) -> None:
    (text,) = blocks("toml")
    (tmp_path / "case.toml").write_text(text, encoding="utf-8")
    case = load_case(tmp_path / "case.toml")
    assert simulate(case, "every other night").site["washes"] == 44  # 90 d from 1 March, every 2 d from 3 March


@pytest.mark.parametrize("command", ["compare", "run", "sweep", "check"])
def test_every_command_shown_exists_with_its_options(command: str) -> None:
    assert f"filterrun {command} CASE" in README
    options = set(re.findall(r"--[a-z]+", call(command, "--help").stdout)) - {"--help", "--policy"}
    assert options <= set(re.findall(r"--[a-z]+", README))


def test_every_figure_named_is_a_result(tmp_path: Path) -> None:
    table = README.partition("## The figures")[2].partition("## ")[0]
    keys = set(re.findall(r"`([a-z0-9]+(?:_[a-z0-9]+)*)`", table))
    result = simulate(load_case(small_case(tmp_path)), "by volume")
    assert len(keys) > 15
    assert keys <= set(result.site)
