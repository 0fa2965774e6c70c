"""A case file looked at without running anything."""

from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

from sim.case.load import load_case
from sim.case.records import Case
from sim.study.version import PROGRAM, VERSION


@dataclass(frozen=True, slots=True, kw_only=True)
class Checked:
    """A case that is in order."""

    case: Case

    def to_json(self) -> dict[str, Any]:
        """Plain data for a JSON file: the case and each assumed constant with its usual range, SI."""
        return {
            "program": PROGRAM,
            "version": VERSION,
            "case": self.case.title,
            "case_hash": self.case.source_hash,
            "assumed": [asdict(assumption) for assumption in self.case.assumptions],
            "solved": [asdict(solved) for solved in self.case.solved],
            "remedies": [asdict(remedy) for remedy in self.case.remedies],
        }


def check(path: Path) -> Checked:
    """Read and validate a case file; CaseError with every problem of the file if it is not in order."""
    return Checked(case=load_case(path))
