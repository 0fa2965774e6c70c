"""What compare and sweep show is said by messages: in a language that no one speaks no plain word is left."""

from pathlib import Path

import pytest

from sim.case.load import load_case
from tests.cli.small import call
from tests.words.pseudo import plain_words, speaking_pseudo, words_of

CASE = Path(__file__).parents[2] / "cases" / "laundry.toml"
LIMIT, RINSE = "stage.sand.limit", "stage.sand.step.rinse.minutes"
OTHERS = (LIMIT, RINSE, "limit", "rinse")
"""Keys and their last parts."""


def names() -> list[str]:
    """The case's own texts."""
    case = load_case(CASE)
    assert case.prices is not None
    return [case.title, case.prices.currency, *(each.name for each in (*case.stages, *case.policies)), *OTHERS]


@pytest.mark.parametrize(
    "arguments",
    [
        ["compare", "--no-ranges", "--stages"],
        ["compare", "--all"],
        ["compare", "--units", "us", "--replicates", "2", "--workers", "1"],
        ["sweep", "--vary", f"{LIMIT}=2 mg/L,3 mg/L"],
        ["faults", "--days", "5", "--workers", "1", "--all"],
        ["sweep", "--vary", f"{LIMIT}=2 mg/L,3 mg/L", "--vary", f"{RINSE}=4,8", "--policy", "calendar"],
    ],
    ids=lambda arguments: " ".join(arguments[:3]),
)
def test_no_plain_word(arguments: list[str]) -> None:
    with speaking_pseudo():
        done = call(arguments[0], CASE, *arguments[1:])
    assert done.exit_code == 0, done.output
    folded = {word for name in names() for word in name.split()}  # a name over two lines of a cell
    assert set(plain_words(done.stdout, names())) <= words_of(load_case(CASE)) | folded
    assert "·" in done.stdout
