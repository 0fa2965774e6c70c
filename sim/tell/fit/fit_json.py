"""A fit as plain data: SI, keys of the case."""

from dataclasses import asdict
from typing import Any

from sim.case.records import Case
from sim.fit.records import Fit, Fitted
from sim.fit.surer import Surer
from sim.study.version import PROGRAM, VERSION


def fit_json(fit: Fit, case: Case, surer: Surer | None = None) -> dict[str, Any]:
    """Every figure of a fit; `surer` where both cases were compared."""
    drawn = fit.bootstrap or {}
    return {
        "program": PROGRAM,
        "version": VERSION,
        "case": case.title,
        "case_hash": case.source_hash,
        "stage": fit.stage,
        "log": fit.log.file,
        "log_start": fit.log.start.isoformat(),
        "log_days": fit.log.length / 86_400.0,
        "washes": [{"start_s": each.start, "end_s": each.end, "drained_m3": each.drained, "found": each.found}
                   for each in fit.log.washes],
        "law": fit.law,
        "evidence": None if fit.evidence is None else asdict(fit.evidence),
        "constants": [_constant(each) | {"bootstrap": drawn.get(each.constant)} for each in fit.constants],
        "noise": [asdict(each) for each in fit.noise],
        "held_out": [asdict(each) for each in fit.held_out],
        "surer": None if surer is None else asdict(surer),
        "runs": fit.evaluations,
    }  # fmt: skip


def _constant(each: Fitted) -> dict[str, Any]:
    return {
        "name": each.constant.value, "key": each.key[0], "keys": list(each.key), "value": each.value,
        "low": each.low, "high": each.high, "before": list(each.before), "identifiable": each.identifiable,
        "bound": each.bound, "needs": None if each.needs is None else each.needs.value,
        "inseparable_from": None if each.inseparable_from is None else each.inseparable_from.value,
    }  # fmt: skip
