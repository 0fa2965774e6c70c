"""A case file read, checked and turned into records."""

import hashlib
import json
from datetime import date, datetime, time
from pathlib import Path
from typing import Any

from sim.case.checks import contradictions
from sim.case.files import parse_toml, read_text
from sim.case.findings import case_error
from sim.case.policies import policies_of
from sim.case.reading import read_tables
from sim.case.records import Case
from sim.case.schema import CaseFile
from sim.case.series import demand_of, feed_of, largest_demand, mean_temperature, run_of
from sim.case.stages import Surroundings, stages_of
from sim.case.wording import escaped


def load_case(path: str | Path) -> Case:
    """The case in a file; CaseError with every problem of the file if it cannot be used."""
    path = Path(path)
    text = read_text(path)
    data = parse_toml(text, path)
    tables, refused = read_tables(data)
    findings = [*refused, *contradictions(tables)]
    if findings:
        raise case_error(findings, data, text, escaped(str(path)))
    return _case_of(tables, source_hash(data))


def source_hash(data: dict[str, Any]) -> str:
    """SHA-256 of what a file says, in hexadecimal; layout, comments and the order of keys do not count."""
    canonical = json.dumps(data, sort_keys=True, separators=(",", ":"), default=_moment)
    return hashlib.sha256(canonical.encode("ascii")).hexdigest()


def _moment(value: datetime | date | time) -> list[str]:
    # A list with a word no text of a case can be confused with.
    return [type(value).__name__, value.isoformat()]


def _case_of(tables: CaseFile, fingerprint: str) -> Case:
    demand = demand_of(tables.demand)
    around = Surroundings(
        temperature=mean_temperature(tables.feed),
        demand=largest_demand(demand),
        turbidity_ratio=tables.feed.solids_per_turbidity,
    )
    stages, assumptions = stages_of(tables.stage, around)
    return Case(
        title=tables.title,
        run=run_of(tables.run),
        feed=feed_of(tables.feed),
        demand=demand,
        stages=stages,
        policies=policies_of(tables),
        assumptions=assumptions,
        source_hash=fingerprint,
    )
