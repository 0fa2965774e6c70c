"""Exact: every block that a new case offers works as it stands once it is put in effect, and delivers as before."""

import re
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest

from sim.case.load import read_case
from sim.case.records import Case
from sim.case.units import DAY
from sim.review.review import review
from sim.study.compare import compare
from tests.review.made import named
from tests.write.ten import made

SEVERAL = {
    "one": {},
    "us": {"train": "media,media,carbon", "units": "us", "water": "lake", "coagulant": "no", "limit": None},
    "always": {"train": "oxidising,softener", "water": "iron well", "hours": "24", "days": "7", "limit": None},
    "membrane": {"train": "media,carbon,softener", "units": "us", "use": "membrane", "flow": "32 gpm", "hours": "20"},
}
MORE = {
    "clean": {"train": "carbon", "water": "town", "turbidity": "0.3 NTU", "limit": None, "hours": "8", "use": None},
    "small": {"water": "river", "turbidity": "60 NTU", "limit": None, "hours": "16"},
    "six": {"train": "media,oxidising,media,carbon,softener,softener", "units": "us", "hours": "10", "limit": None},
}
OF_A_CASE = {
    "today",
    "use",
    "allowed_over_limit",
    "closed",
    "variation",
    "[supply]",
    "[pump]",
    "[washing]",
    "[prices]",
    "air_gap",
    "[feed.coagulant]",
}
OF_A_FILTER = {"known_run", "switch"}
OF_THE_LAST = {"hold_unit"}


def blocks(text: str) -> Iterator[tuple[str, str]]:
    """Each run of lines that begin with ##: its first key or header, and the text with the whole block in effect."""
    lines = text.split("\n")
    starts = [i for i, line in enumerate(lines) if line.startswith("## ") and not lines[i - 1].startswith("## ")]
    for start in starts:
        end = next(i for i in range(start, len(lines)) if not lines[i].startswith("## "))
        effective = [line.removeprefix("## ") if start <= i < end else line for i, line in enumerate(lines)]
        yield re.split(" = | {2}", effective[start])[0], "\n".join(effective)


def short(case: Case, days: float) -> Case:
    return replace(case, run=replace(case.run, length=days * DAY))


def unmet(case: Case, days: float) -> list[float]:
    """Share of what is asked for that each way does not deliver."""
    results = compare(short(case, days)).results
    return [each.site["unmet_m3"] / (each.site["unmet_m3"] + (each.site["product_m3"] or each.site["treated_m3"]))
            for each in results]  # fmt: skip


@pytest.mark.parametrize(
    "changes", [*SEVERAL.values(), *(pytest.param(each, marks=pytest.mark.long) for each in MORE.values())],
    ids=[*SEVERAL, *MORE],
)  # fmt: skip
def test_each_block_works_as_it_stands(changes: dict[str, str | None]) -> None:
    new = made(**changes)
    days = 16.0
    before = unmet(new.case, days)
    stops = {named(each) for each in review(new.case) if each.level == "stop"}
    seen = set()
    for name, text in blocks(new.text):
        seen.add(name)
        case = read_case(text, Path("block.toml"), {})
        assert case != new.case, name
        assert {named(each) for each in review(case) if each.level == "stop"} <= stops, name
        for was, now in zip(before, unmet(case, days), strict=True):
            # A filter washed ten times a day is washed more often on the days that ask for more.
            assert now <= was + max(0.02, 0.25 * was), (name, was, now)
    answered = {"use"} if new.case.use else set()
    answered |= set() if changes.get("coagulant") != "no" else {"[feed.coagulant]"}
    expected = (OF_A_CASE | OF_A_FILTER | OF_THE_LAST) - answered
    if len(new.case.stages) > 1:
        expected = expected - {"[washing]"} | {"allowed_hours"}
    assert seen == expected


def test_a_block_is_found_whole() -> None:
    text = "a = 1\n## b = 2\n\n## [c]  # why\n## d = 3\n[e]\n"
    assert list(blocks(text)) == [
        ("b", "a = 1\nb = 2\n\n## [c]  # why\n## d = 3\n[e]\n"),
        ("[c]", "a = 1\n## b = 2\n\n[c]  # why\nd = 3\n[e]\n"),
    ]
