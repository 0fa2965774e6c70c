"""What the settings sheet says is said by messages: in a language that no one speaks no plain word is left."""

from dataclasses import replace
from pathlib import Path

import pytest

from plots.sheet import sheet_html
from sim.case.load import load_case
from sim.study.sheet_runs import sheet_runs
from sim.tell.prepared import head_of
from sim.tell.sheet.sheet_json import sheet_hash
from sim.tell.sheet.sheet_words import sheet_of
from tests.cli.test_sheet import Text
from tests.words.pseudo import plain_words, speaking_pseudo

CASES = Path(__file__).parents[2] / "cases"


@pytest.mark.parametrize(
    ("name", "policy"), [("lens_works", "meter, reserve"), ("boiler_house", "pressure or meter")]
)
def test_no_plain_word(name: str, policy: str) -> None:
    case = load_case(CASES / f"{name}.toml")
    runs = sheet_runs(replace(case, run=replace(case.run, length=30 * 86_400.0)), policy)
    with speaking_pseudo():
        html = sheet_html(sheet_of(runs, "si", (case, str(case.today))), head_of(CASES / f"{name}.toml"), "a4")
    text = Text(html).seen.replace(case.source_hash, "").replace(sheet_hash(runs), "")
    names = [case.title, *(each.name for each in (*case.stages, *case.policies))]
    assert plain_words(text, names) == []
