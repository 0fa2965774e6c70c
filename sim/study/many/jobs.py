"""What a worker is sent and what it sends back."""

import time

from hydraulics.errors import FilterrunError
from sim.case.record import record
from sim.case.records import Case
from sim.plant.made import waiting
from sim.study.errors import RunFailure
from sim.study.many.outcome import Outcome, RunOne
from sim.study.many.program import program


@record
class Job:
    """Runs of one replicate, which share their case and so their weather: the policies that are still missing."""

    case: Case
    replicate: int
    policies: tuple[str, ...]


@record
class Answer:
    """Outcomes of one batch of jobs, by which program they were computed, and how long that took [s]."""

    program: str
    seconds: float
    outcomes: tuple[Outcome, ...]


def answer_of(jobs: tuple[Job, ...], seed: int, run: RunOne) -> Answer:
    """Do a batch of jobs, one run after the other; RunFailure names the run that could not go on."""
    computed_by = program()  # first: where no run can be made, the reason is nobody's policy
    began = time.perf_counter()
    with waiting():
        outcomes = tuple(_outcome(job, policy, seed, run) for job in jobs for policy in job.policies)
    return Answer(seconds=time.perf_counter() - began, program=computed_by, outcomes=outcomes)


def _outcome(job: Job, policy: str, seed: int, run: RunOne) -> Outcome:
    try:
        return run(job.case, policy, seed, job.replicate)
    except FilterrunError as error:
        raise RunFailure(policy, job.replicate, str(error)) from error
