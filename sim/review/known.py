"""Constants that a known run gave, against what is usual."""

from sim.case.quantities import QUANTITIES, Quantity
from sim.case.records import Case, Solved
from sim.case.stage.records import Stage
from sim.review.findings import Band, Findings, judged

MEASURES: dict[str, Quantity] = {"deposit_density": "deposit", "head_loss_gain": "gain"}


def known_findings(case: Case, stage: Stage) -> Findings:
    """Each constant of a stage that came out unusual, once, whatever layers share it."""
    told: dict[tuple[str, float], Solved] = {}
    for each in case.solved:
        if each.key.startswith(f"stage.{stage.name}."):
            told.setdefault((each.key.rpartition(".")[2], each.value), each)
    for (name, value), each in told.items():
        if each.low <= value <= each.high:
            continue
        measure = MEASURES[name]
        assert QUANTITIES[measure].kind.si == each.unit
        usual = Band(low=each.low, high=each.high, source="memory")
        yield judged("known_constant", stage, value, measure, usual, below="above", constant=name)
