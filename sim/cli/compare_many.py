"""Every policy run over many replicates, by one process, several or a cluster."""

from pathlib import Path

from sim.case.records import Case
from sim.cli.many_options import Many
from sim.cli.options import Output
from sim.cli.progress import counted, watched
from sim.cli.screen import screen
from sim.cli.show_comparison import show_many
from sim.study.compare import compare
from sim.study.doubts import doubt_json
from sim.study.kpis import System
from sim.study.many.doubts_of_many import doubts_of
from sim.study.many.draws import Draws
from sim.study.many.precision import precision_of
from sim.study.many.repeat import repeat
from sim.study.many.study_file import study_file
from sim.study.many.workers import cluster, local, usable_cores


def compare_many(
    case: Case, case_path: Path, output: Output, units: System, seed: int, asked: Many, *, stages: bool,
    everything: bool,
) -> None:  # fmt: skip
    """Run or take from the study file, write what is asked for, show."""
    precision = [precision_of(text) for text in asked.precision]
    workers = cluster(asked.cluster) if asked.cluster else local(asked.workers or usable_cores())
    with study_file(asked.study) as kept, workers as crew:
        with watched(output.quiet) as told:  # leaves the compiled code where workers of this machine find it
            example = compare(case, seed=seed, progress=told)
        with counted(output.quiet) as progress:
            repeated = repeat(
                case, crew, seed=seed, replicates=asked.first, at_most=asked.most, precision=precision, kept=kept,
                draws=Draws(case_path, case, seed) if asked.uncertain else None, progress=progress,
            )  # fmt: skip

    def tables() -> dict[str, str | bytes]:
        from sim.tell.comparison.files_of_many import repeated_files

        return repeated_files(repeated, example, units)

    found = [doubt_json(each) for each in doubts_of(repeated)]
    output.write(repeated.to_json() | {"doubts": found}, tables)
    if output.on_screen:
        show_many(screen(), repeated, units, stages=stages, everything=everything)
