"""`filterrun diagnose LOG CASE`: which fault or change best explains what a log shows, and what to look at next."""

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from plots.words import label
from sim.case.quantities import System
from sim.cli.log_options import log_and_stage, log_options, stage_named
from sim.cli.options import Output, quiet_option, units_option
from sim.fit.causes import Symptom

if TYPE_CHECKING:  # loaded when the command runs
    from sim.case.records import Case
    from sim.fit.causes import Diagnosis
    from sim.tell.fit.diagnosis_screen import Asked


@click.command("diagnose")
@click.argument("paths", metavar="[LOG] CASE", nargs=-1, required=True, type=click.Path(path_type=Path))
@click.option(
    "--symptom", type=click.Choice([each.value for each in Symptom]),
    help="What somebody saw, in place of LOG.",
)
@click.option("--policy", metavar="NAME", help="The way in which the plant starts its washes; today's if not given.")
@log_options
@click.option(
    "--json", "json_file", metavar="FILE", help="Write the result as JSON, to standard output if FILE is -."
)
@units_option
@quiet_option
def command(
    paths: tuple[Path, ...], symptom: str | None, policy: str | None, json_file: str | None, units: System,
    quiet: bool, **given: Any,
) -> None:  # fmt: skip
    """Say which fault or change best explains what LOG shows, by a CASE fitted to the plant.

    Causes that the readings cannot part are named together, with the next look that parts them. With --symptom the
    case alone is asked.
    """
    from sim.case.load import load_case
    from sim.cli.screen import screen
    from sim.cli.show_first import show
    from sim.study.errors import RequestError
    from sim.study.single import require_policy
    from sim.tell.fit.diagnosis_json import diagnosis_json
    from sim.tell.fit.diagnosis_screen import diagnosis_screen

    if len(paths) != (1 if symptom else 2):
        raise RequestError("diagnose takes LOG and CASE; or CASE alone with --symptom")
    output = Output(out=None, json_file=json_file, quiet=quiet, case_path=paths[-1])
    case = load_case(paths[-1])
    if policy is not None:
        require_policy(case, policy)
    output.refuse_if_unwritable()
    found, asked = _found(paths, case, symptom, policy, given, quiet=quiet or json_file == "-")
    told = diagnosis_screen(found, asked, units)
    output.tell(lambda: show(screen(), told, hint=""), diagnosis_json(found, asked), dict)


def _found(
    paths: tuple[Path, ...], case: "Case", symptom: str | None, policy: str | None, given: dict[str, Any], *,
    quiet: bool,
) -> "tuple[Diagnosis, Asked]":  # fmt: skip
    from sim.cli.progress import phased
    from sim.fit.diagnose import by_symptom, diagnose
    from sim.tell.fit.diagnosis_screen import Asked

    if symptom is not None:
        stage = stage_named(case, given["stage"])
        return by_symptom(case, stage, Symptom(symptom), policy=policy), Asked(case=case, symptom=Symptom(symptom))
    log, stage = log_and_stage(paths[0], case, given, quiet=quiet)
    with phased(quiet) as phases:

        def tell(done: int, of: int) -> None:
            phases.phase(label("diagnosis.phase"), "causes", done + 1, of)
            phases.runs(done, of)

        return diagnose(log, case, stage, policy=policy, progress=tell), Asked(case=case, log=log)
