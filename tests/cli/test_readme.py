"""What README.md and cases/README.md say about commands, the case file and the figures is so."""

import re
from pathlib import Path

import pytest

from sim.case.load import load_case
from sim.case.series.records import Profile
from sim.cli.group import COMMANDS
from sim.plant.simulate import simulate
from tests.cli.small import call, small_case

ROOT = Path(__file__).parents[2]
README, CASES = (path.read_text(encoding="utf-8") for path in (ROOT / "README.md", ROOT / "cases" / "README.md"))


def blocks(language: str, text: str = README) -> list[str]:
    return re.findall(rf"^```{language}\n(.*?)^```$", text, re.MULTILINE | re.DOTALL)


def test_the_first_two_commands_are_one_logical_line_each() -> None:
    first, second = (block.replace("\\\n", " ").strip() for block in blocks("bash")[:2])
    assert "\n" not in first + second
    assert first.endswith("filterrun compare cases/reference.toml")
    assert second.endswith("-m pytest")


def test_the_case_of_the_readme_is_in_order(tmp_path: Path) -> None:
    (text,) = blocks("toml", CASES)
    (tmp_path / "case.toml").write_text(text, encoding="utf-8")
    case = load_case(tmp_path / "case.toml")
    assert simulate(case, "every other night").site["washes"] == 44  # 90 d from 1 March, every 2 d from 3 March


def test_solids_by_the_hour_work_as_the_readme_has_them(tmp_path: Path) -> None:
    (text,) = blocks("toml", CASES)
    (shape,) = re.findall(r"# or (\{ hourly = \[24 values\] \})", text)
    values = ", ".join(f'"{hour}.5 mg/L"' for hour in range(24))
    (tmp_path / "case.toml").write_text(
        text.replace('suspended_solids = "6 mg/L"', f"suspended_solids = {shape.replace('24 values', values)}"),
        encoding="utf-8",
    )
    solids = load_case(tmp_path / "case.toml").feed.solids
    assert isinstance(solids, Profile)
    assert solids.hourly == tuple(hour + 0.5 for hour in range(24))


def test_where_wash_water_comes_from_is_told_with_its_keys(tmp_path: Path) -> None:
    (text,) = blocks("toml", CASES)
    told = CASES.partition("A backwash step says")[2].partition("\n\n")[0]
    waters = re.findall(r'`(?:water = )?"(raw|filtered|clean)"', told)
    assert waters == ["raw", "filtered", "clean"]
    text = text.replace('longest_run = "8 d"', 'longest_run = "8 d"\nwash_path = "header"')
    text = text.replace('height = "1.6 m" }', 'height = "1.6 m", pressure_rating = "90 psi" }')
    for water in waters:
        solids = '\nwater_solids = "0.4 mg/L"' if water == "filtered" else ""
        (tmp_path / "case.toml").write_text(
            text.replace('flow = "26 m3/h"', f'flow = "26 m3/h"\nwater = "{water}"{solids}'), encoding="utf-8"
        )
        (stage,) = load_case(tmp_path / "case.toml").stages
        assert (stage.wash_path, stage.steps[0].water) == ("header", water)
        assert stage.vessel.pressure_rating == pytest.approx(90.0 * 6894.757)
    assert "`pressure_rating` in `vessel`" in told


@pytest.mark.parametrize("command", COMMANDS)
def test_every_command_is_told_with_its_options(command: str) -> None:
    assert re.search(rf"filterrun {command}\b|`{command}`", README)
    if command in ("compare", "run", "sweep", "check"):
        options = set(re.findall(r"--[a-z]+", call(command, "--help").stdout)) - {"--help", "--policy"}
        assert options <= set(re.findall(r"--[a-z]+", README + CASES))


def test_the_picture_is_of_the_case_that_is_shown() -> None:
    """Every figure of two rows of the first screen stands at a bar."""
    picture = (ROOT / "cases" / "reference.svg").read_text(encoding="utf-8")
    for row in ("water to drain, m3", "downtime, h"):
        (figures,) = re.findall(rf"^{row} (.*)$", README, re.MULTILINE)
        assert {f">{each}</text>" for each in figures.split()} <= set(re.findall(r">[^<]*</text>", picture))


def test_the_first_screen_is_the_one_shown() -> None:
    shown = README.partition("answers so:\n\n```\n")[2].partition("```\n")[0]
    assert shown == call("compare", ROOT / "cases" / "reference.toml").stdout


QUICK = [block for block in blocks("bash") if re.search("filterrun (check|lesson)", block)]


@pytest.mark.parametrize("command", QUICK)
def test_the_commands_shown_work(command: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Those that are quick; `new`, `advise`, `payback` and `page` have tests of their own."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "cases").symlink_to(ROOT / "cases")
    done = call(*command.split()[1:])
    assert done.exit_code == 0, done.stderr


@pytest.mark.parametrize("text", [README, CASES, (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")])
def test_every_link_leads_somewhere(text: str) -> None:
    folder = ROOT / "cases" if text == CASES else ROOT
    heads = re.findall(r"^#+ (.*)$", text, re.MULTILINE)
    anchors = [re.sub(r"[^a-z0-9 _-]", "", head.lower()).replace(" ", "-") for head in heads]
    links = re.findall(r"\]\(([^)]+)\)", text)
    assert links
    for link in links:
        assert link.removeprefix("#") in anchors if link.startswith("#") else (folder / link).exists(), link


def test_every_figure_named_is_a_result(tmp_path: Path) -> None:
    table = (ROOT / "cases/RESULTS.md").read_text(encoding="utf-8")
    keys = set(re.findall(r"`([a-z0-9]+(?:_[a-z0-9]+)*)`", table))
    result = simulate(load_case(small_case(tmp_path)), "by volume")
    assert len(keys) > 15
    assert keys <= set(result.site)


def test_a_coagulant_is_dosed_with_the_products_and_in_the_ways_of_the_readme(tmp_path: Path) -> None:
    (text,) = blocks("toml", CASES)
    told = CASES.partition("`coagulant` under [feed] names")[2].partition("The program recommends no dose")[0]
    products = re.findall(r'`"([a-z ]+)"`', told)
    doses = ["4 mg/L", *re.findall(r'`"([^"`]+ per NTU)"`', told)]
    assert (len(products), len(doses)) == (5, 2)
    assert 'product = "alum", dose = "4 mg/L"' in text
    text = text.replace("[feed]", '[feed]\nsolids_per_turbidity = "1.5 mg/L per NTU"')
    for product in products:
        for dose in doses:
            (tmp_path / "case.toml").write_text(
                text.replace('product = "alum", dose = "4 mg/L"', f'product = "{product}", dose = "{dose}"'),
                encoding="utf-8",
            )
            case = load_case(tmp_path / "case.toml")
            assert case.feed.coagulant is not None
            assert case.stages[0].coagulated
