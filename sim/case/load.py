"""A case file read, checked and turned into records."""

import hashlib
import json
import struct
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime, time
from pathlib import Path
from typing import Any

from sim.case.assumptions import Book, Page
from sim.case.checks import contradictions
from sim.case.dotted import with_settings
from sim.case.mistakes import case_error
from sim.case.price.prices import prices_of
from sim.case.reading import read_tables
from sim.case.records import Case
from sim.case.schema import CaseFile
from sim.case.series.file_series import FileSeries, read_files
from sim.case.series.records import Demand, Feed, Measured
from sim.case.series.series import demand_of, feed_of, mean_of, run_of, turbidity_ratio
from sim.case.source import parse_toml, read_text
from sim.case.spelling import escaped
from sim.case.stage.known_run import KnownRuns, with_known_runs
from sim.case.stage.stages import stages_of
from sim.case.stage.surroundings import Surroundings
from sim.case.train.records import Downstream
from sim.case.train.train import downstream_of, pump_of, washing_of
from sim.case.trigger.policies import policies_of
from sim.case.wash.plumbing import drain_of, supply_of
from sim.case.wash.records import Drain, Supply


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
    site = _site_of(tables, files.series)
    known = with_known_runs(tables.stage, site.around, site.feed, data["stage"])
    if known.findings:
        raise case_error(known.findings, data, text, escaped(str(path)))
    return _case_of(tables, site, known, files, source_hash(data, files.series))


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


@dataclass(frozen=True, slots=True, kw_only=True)
class _Site:
    """What surrounds the stages, and the book of its constants."""

    feed: Feed
    demand: Demand
    supply: Supply | None
    drain: Drain | None
    downstream: Downstream | None
    around: Surroundings
    book: Book


def _site_of(tables: CaseFile, series: Mapping[str, Measured]) -> _Site:
    book = Book()
    page = Page(tables.feed, "feed", book)
    ratio = turbidity_ratio(tables, page)
    feed = feed_of(tables.feed, ratio, series, page)
    demand = demand_of(tables.demand, series, Page(tables.demand, "demand", book))
    downstream = downstream_of(tables.downstream, ratio)
    around = Surroundings(
        temperature=mean_of(feed.temperature),
        turbidity_ratio=ratio,
        water=tables.feed.water,
        driven=tables.supply is not None,
        dosed=feed.coagulant is not None,
    )
    return _Site(
        feed=feed,
        demand=demand,
        supply=_supply_of(tables, book),
        drain=_drain_of(tables, book),
        downstream=downstream,
        around=around,
        book=book,
    )


def _supply_of(tables: CaseFile, book: Book) -> Supply | None:
    return None if tables.supply is None else supply_of(tables.supply, Page(tables.supply, "supply", book))


def _drain_of(tables: CaseFile, book: Book) -> Drain | None:
    if tables.drain is None:
        return None
    return drain_of(tables.drain, Page(tables.drain, "drain", book), driven=tables.supply is not None)


def _case_of(tables: CaseFile, site: _Site, known: KnownRuns, files: FileSeries, fingerprint: str) -> Case:
    stages, book = stages_of(known.stages, site.around)
    prices = prices_of(tables.prices, site.book)
    assumptions = (*site.book.assumptions, *book.assumptions)
    return Case(
        title=tables.title,
        use=tables.use,
        today=tables.today,
        run=run_of(tables.run, files.zone),
        feed=site.feed,
        demand=site.demand,
        stages=stages,
        policies=policies_of(tables),
        assumptions=assumptions,
        constants=len(assumptions) + site.book.given + book.given,
        source_hash=fingerprint,
        remedies=files.remedies,
        solved=known.solved,
        supply=site.supply,
        drain=site.drain,
        downstream=site.downstream,
        pump=pump_of(tables.pump),
        washing=washing_of(tables),
        prices=prices,
    )
