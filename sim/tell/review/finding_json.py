"""A checked case as plain data for a JSON file."""

import math
from dataclasses import asdict
from typing import Any

from sim.case.quantities import QUANTITIES
from sim.review.findings import Finding
from sim.study.check import Checked
from sim.study.version import PROGRAM, VERSION
from sim.tell.review.finding_words import do_words, source_words, what_words
from sim.tell.review.told_words import known_run_words


def checked_json(checked: Checked) -> dict[str, Any]:
    """The case, each assumed constant with its usual range, each finding; SI."""
    case = checked.case
    return {
        "program": PROGRAM,
        "version": VERSION,
        "case": case.title,
        "case_hash": case.source_hash,
        "assumed": [asdict(assumption) for assumption in case.assumptions],
        "given_with_range": [{key: value for key, value in asdict(each).items() if key != "source"}
                             for each in checked.case.stated],
        "solved": [asdict(solved) | {"known": known_run_words(solved)} for solved in case.solved],
        "remedies": [asdict(remedy) for remedy in case.remedies],
        "findings": [finding_json(finding) for finding in checked.findings],
    }


def finding_json(finding: Finding) -> dict[str, Any]:
    """A finding; what is not finite is null."""
    value = finding.value
    return {
        "level": finding.level,
        "stage": finding.stage,
        "what": what_words(finding),
        "value": value if value is not None and math.isfinite(value) else None,
        "low": finding.band.low,
        "high": finding.band.high,
        "unit": None if finding.measure is None else QUANTITIES[finding.measure].kind.si,
        "source": source_words(finding),
        "do": do_words(finding) or "",
    }
