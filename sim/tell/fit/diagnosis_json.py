"""A diagnosis as plain data."""

from typing import Any

from sim.fit.causes import Diagnosis
from sim.study.version import PROGRAM, VERSION
from sim.tell.fit.diagnosis_screen import Asked


def diagnosis_json(found: Diagnosis, asked: Asked) -> dict[str, Any]:
    """Causes in the order of their probability; sizes as a case has them, times in s from the start of the log."""
    return {
        "program": PROGRAM,
        "version": VERSION,
        "case": asked.case.title,
        "case_hash": asked.case.source_hash,
        "stage": found.stage,
        "log": None if asked.log is None else asked.log.file,
        "symptom": None if asked.symptom is None else asked.symptom.value,
        "alarm": found.alarm,
        "healthy": found.healthy,
        "causes": [
            {
                "what": str(each.what), "stage": each.stage, "probability": each.probability, "since_s": each.since,
                "size": each.size, "inseparable_from": [str(other) for other in each.inseparable_from],
            }
            for each in found.causes
        ],
        "next": None if found.next is None else found.next.value,
    }  # fmt: skip
