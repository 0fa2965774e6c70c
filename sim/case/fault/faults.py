"""What fails: from tables to records."""

import math

from sim.case.fault.records import Fault, What
from sim.case.schema import CaseFile
from sim.case.table import record_of
from sim.case.train.train import seconds_of


def faults_of(file: CaseFile) -> tuple[Fault, ...]:
    """The faults in the order of the file."""
    return tuple(
        record_of(
            Fault,
            each,
            what=What(each.what),
            start=seconds_of(getattr(each, "from"), file),
            end=math.inf if each.until is None else seconds_of(each.until, file),
            by=None if each.by is None else each.by.value,
        )
        for each in file.fault or ()
    )
