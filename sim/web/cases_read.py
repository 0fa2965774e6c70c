"""Cases read for the page: by the same strict reader, from memory, and within what one request may cost."""

from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

from sim.case.load import read_case
from sim.case.records import Case
from sim.case.source import CASE_FILE, MIB, parse_toml
from sim.case.units import DAY
from sim.study.whole_files import SHORTEST_DRAWN
from sim.web.errors import Refused
from sim.web.shelf import Held

MOST_FILTER_YEARS = 150.0
YEAR = 365.25 * DAY


def parsed(held: Held) -> dict[str, Any]:
    """The data of a held case; Refused if it wants series from files that are not its own."""
    data = parse_toml(held.text, Path(held.name))
    if not set(series_files(data)) <= held.series:
        raise Refused(
            422,
            "A case opened on this page cannot take a series from a file; start the page with that case instead, "
            "as in filterrun page CASE.",
        )
    return data


def case_of(held: Held, settings: Mapping[str, Any] | None = None) -> Case:
    """The case with some settings changed; CaseError with every problem of it, Refused where it asks for too much."""
    parsed(held)
    case = read_case(held.text, Path(held.folder or "") / held.name, settings or {})
    if case.run.length < SHORTEST_DRAWN:
        raise Refused(422, 'This case runs too short to show anything; try length = "30 d" under [run].')
    years = len(case.stages) * len(case.policies) * case.run.length / YEAR
    if years > MOST_FILTER_YEARS:
        raise Refused(
            422,
            f"This case asks for {years:.0f} filter-years (filters times ways to start a wash times years) and the "
            f"page runs up to {MOST_FILTER_YEARS:g}; the command compare runs longer ones.",
        )
    return case


def series_files(data: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
    """Keys and files of the series that a case takes from files, wherever they stand."""
    for table in ("feed", "demand"):
        yield from _files_in(data.get(table), table)


def _files_in(data: object, key: str) -> Iterator[tuple[str, str]]:
    for name, value in data.items() if isinstance(data, dict) else ():
        if name == "file":
            yield key, str(value)
        else:
            yield from _files_in(value, f"{key}.{name}")


def opened(content: bytes, name: str) -> Held:
    """A case file that a browser sent; Refused if it cannot be one."""
    if len(content) > CASE_FILE.most_mib * MIB:
        raise Refused(413, f"A case file has up to {CASE_FILE.most_mib} MiB; this one has more.")
    try:
        text = content.decode("utf-8-sig").replace("\r\n", "\n")
    except UnicodeDecodeError:
        raise Refused(422, "A case file is text in UTF-8; this one is not. Save it anew in UTF-8.") from None
    return Held(within_limits(text), file_name(name))


def within_limits(text: str) -> str:
    """The text of a case; Refused where a line of it is longer than a case file may have them."""
    if any(len(line) > CASE_FILE.longest_line for line in text.split("\n")):
        raise Refused(422, f"A line of a case file has up to {CASE_FILE.longest_line} characters; this one has more.")
    return text


def file_name(name: str, end: str = ".toml") -> str:
    """A name to save under or to show, made of plain letters, digits, dashes and underscores.

    >>> file_name("../../etc/pass wd"), file_name("Plant 2.toml"), file_name("", ".csv")
    ('pass_wd.toml', 'Plant_2.toml', 'file.csv')
    """
    stem = name.replace("\\", "/").rpartition("/")[2].removesuffix(end)[:50]
    plain = "".join(c if c.isascii() and (c.isalnum() or c in "-_") else "_" for c in stem).strip("_")
    return f"{plain or 'file'}{end}"
