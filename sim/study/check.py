"""A case file looked at without running anything."""

from pathlib import Path

from sim.case.load import load_case
from sim.case.record import record
from sim.case.records import Case
from sim.review.findings import Finding
from sim.review.review import review

__all__ = ["Checked", "Finding", "check", "checked"]


@record
class Checked:
    """A case that is in order, and what the review of its design found."""

    case: Case
    findings: tuple[Finding, ...]

    @property
    def stops(self) -> bool:
        """Whether a finding says stop."""
        return any(finding.level == "stop" for finding in self.findings)


def check(path: Path) -> Checked:
    """Read, validate and review a case file; CaseError with every problem of the file if it is not in order."""
    return checked(load_case(path))


def checked(case: Case) -> Checked:
    """A case at hand, reviewed."""
    return Checked(case=case, findings=review(case))
