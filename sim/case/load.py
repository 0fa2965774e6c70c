"""A case file read, checked and turned into records.

One way through: the text (`source`), its data with settings changed (`dotted`), the tables as far as they can be read
(`reading`), the series of other files (`series.file_series`), what all of them say against each other (`checks`),
then from tables to records, subject by subject: the series, what stands around the filters, the stages with what
known runs tell of them, the triggers. What is refused on the way becomes one error (`mistakes`).
"""

import hashlib
import json
import struct
from collections.abc import Mapping
from datetime import date, datetime, time
from pathlib import Path
from typing import Any

from sim.case.assumptions import Book, Page
from sim.case.checks import contradictions
from sim.case.dotted import with_settings
from sim.case.fault.faults import faults_of
from sim.case.mistakes import case_error
from sim.case.price.prices import prices_of
from sim.case.ranges import ranges_of
from sim.case.reading import read_tables
from sim.case.records import Case
from sim.case.schema import CaseFile
from sim.case.series.clocks import summer_of
from sim.case.series.file_series import FileSeries, read_files
from sim.case.series.records import Feed, Measured, Run
from sim.case.series.series import demand_of, feed_of
from sim.case.source import parse_toml, read_text
from sim.case.spelling import escaped
from sim.case.stage.known_run import with_known_runs
from sim.case.stage.stages import stages_of
from sim.case.stage.surroundings import surroundings_of
from sim.case.table import record_of
from sim.case.train.train import downstream_of, pump_of, washing_of
from sim.case.trigger.policies import policies_of
from sim.case.wash.plumbing import drain_of, supply_of


def load_case(path: str | Path, settings: Mapping[str, Any] | None = None) -> Case:
    """The case in a file, with some settings changed by their dotted keys (see `sim.case.dotted`).

    Raises CaseError with every problem of the file if it cannot be used, RefusedValue for a key that leads nowhere.
    """
    path = Path(path)
    return read_case(read_text(path), path, settings or {})


def read_case(text: str, path: Path, settings: Mapping[str, Any]) -> Case:
    """As `load_case`, of a text at hand; `path` is what messages call it."""
    data = with_settings(parse_toml(text, path), settings)
    tables, refused, more = read_tables(data)
    files = read_files(tables, path)
    findings = [*refused, *contradictions(tables), *files.findings]
    if findings or files.problems:
        raise case_error(findings, data, text, escaped(str(path)), files.problems, more)
    ranges = ranges_of(data, tables, settings)
    if ranges.findings:
        raise case_error(ranges.findings, data, text, escaped(str(path)))
    book = Book(ranges.ends)
    feed = feed_of(tables, files.series, book)
    around = surroundings_of(tables, feed)
    site = _site_of(tables, feed, files, book)
    known = with_known_runs(tables.stage, around, feed, data["stage"])
    if known.findings:
        raise case_error(known.findings, data, text, escaped(str(path)))
    stages, own = stages_of(known.stages, around, ranges.ends)
    assumptions, stated = (*book.assumptions, *own.assumptions), (*book.stated, *own.stated)
    unused = ranges.unused({each.key for each in stated})
    if unused:
        raise case_error(unused, data, text, escaped(str(path)))
    return record_of(
        Case,
        tables,
        **site,
        stages=stages,
        policies=policies_of(tables, feed.turbidity_ratio, files.series),
        faults=faults_of(tables),
        assumptions=assumptions,
        constants=len(assumptions) + book.given + own.given,
        source_hash=source_hash(data, files.series),
        solved=known.solved,
        stated=stated,
    )


def _site_of(tables: CaseFile, feed: Feed, files: FileSeries, book: Book) -> dict[str, Any]:
    """What surrounds the stages, by the fields of a case."""
    return {
        "run": record_of(Run, tables.run, zone=files.zone, summer=summer_of(tables.run)),
        "feed": feed,
        "remedies": files.remedies,
        "demand": demand_of(tables.demand, files.series, Page(tables.demand, "demand", book)),
        "supply": supply_of(tables.supply, book),
        "drain": drain_of(tables.drain, book, driven=tables.supply is not None),
        "downstream": downstream_of(tables.downstream, feed.turbidity_ratio),
        "pump": pump_of(tables.pump),
        "washing": washing_of(tables),
        "prices": prices_of(tables.prices, book),
    }


def source_hash(data: dict[str, Any], series: Mapping[str, Measured]) -> str:
    """SHA-256 of what a file says, in hexadecimal; layout, comments and the order of keys do not count.

    The series that it takes from other files count with the values that a run uses.
    """
    canonical = json.dumps(data, sort_keys=True, separators=(",", ":"), default=_moment)
    found = hashlib.sha256(canonical.encode("ascii"))
    for key, each in series.items():
        numbers = (*each.end, *each.value)
        found.update(key.encode("ascii") + struct.pack(f"<{len(numbers)}d", *numbers))
    return found.hexdigest()


def _moment(value: datetime | date | time) -> list[str]:
    # A list with a word no text of a case can be confused with.
    return [type(value).__name__, value.isoformat()]
