"""A study as a program of its own, to be killed: `python -m tests.many.driver STUDY RESULT REPLICATES [CLUSTER]`.

Prints how many runs are done after each batch.
"""

import sys
from pathlib import Path

from sim.study.many.repeat import repeat
from sim.study.many.study_file import StudyFile
from sim.study.many.workers import cluster, local
from sim.study.whole_files import as_json, write_all
from tests.many.made import case_of, slow, with_every


def main(study: str, result: str, replicates: str, address: str = "") -> None:
    """Run, keep, write the result as JSON."""
    case = with_every(case_of(("a", "b", "c", "d")), 6.0, "d")
    with StudyFile(Path(study)) as kept, cluster(address) if address else local(2) as crew:
        print("ready", flush=True)
        found = repeat(
            case, crew, replicates=int(replicates), kept=kept, run=slow,
            progress=lambda done, goal: print(done, flush=True),
        )  # fmt: skip
    write_all({Path(result): as_json(found.to_json())})


if __name__ == "__main__":
    main(*sys.argv[1:])
