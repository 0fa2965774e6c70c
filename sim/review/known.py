"""Constants that a known run told, against what is usual."""


from sim.case.quantities import QUANTITIES, Quantity
from sim.case.records import Case, Solved
from sim.review.findings import Finding, Findings

MEASURES: dict[str, Quantity] = {"deposit_density": "deposit", "head_loss_gain": "gain"}


def known_findings(case: Case, stage: str) -> Findings:
    """Each constant of a stage that came out unusual, once, whatever layers share it."""
    told: dict[tuple[str, float], Solved] = {}
    for each in case.solved:
        if each.key.startswith(f"stage.{stage}."):
            told.setdefault((each.key.rpartition(".")[2], each.value), each)
    for (name, value), each in told.items():
        if each.low <= value <= each.high:
            continue
        measure = MEASURES[name]
        assert QUANTITIES[measure].kind.si == each.unit, "records are SI"
        yield Finding(
            level="look",
            stage=stage,
            what=f"{name}, as the known run tells it",
            measure=measure,
            value=value,
            low=each.low,
            high=each.high,
            source="the usual range of this constant, from memory",
            do="look at the known run again: its flow, its days, whether it began with a clean bed",
        )
