"""The vessels of a case, one by one, under the names by which log and samples call them."""

from typing import NamedTuple

from sim.case.records import Case
from sim.case.stage.records import Stage
from sim.plant.records import FilterRun, RunResult


class OneVessel(NamedTuple):
    """Vessel `number`, from 1, of a stage; `name` is that of the stage, numbered where it has several."""

    stage: Stage
    number: int
    name: str

    def runs(self, result: RunResult) -> tuple[FilterRun, ...]:
        """Its filter runs."""
        return tuple(run for run in result.runs if (run.stage, run.vessel) == (self.stage.name, self.number))


def vessels(case: Case) -> tuple[OneVessel, ...]:
    """All of them, in the order of the train."""
    return tuple(each for stage in case.stages for each in vessels_of(stage))


def vessels_of(stage: Stage) -> tuple[OneVessel, ...]:
    """Those of one stage."""
    if stage.vessels.count == 1:
        return (OneVessel(stage, 1, stage.name),)
    return tuple(OneVessel(stage, number, f"{stage.name} {number}") for number in range(1, stage.vessels.count + 1))
