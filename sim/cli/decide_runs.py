"""Both commands that decide: run, write what is asked for, show."""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from plots.words import Code, label
from sim.case.load import load_case
from sim.case.quantities import System
from sim.case.records import Case
from sim.cli.decide_options import Asked
from sim.cli.options import Output
from sim.cli.progress import phased
from sim.cli.screen import screen
from sim.cli.show_decision import show_advice, show_payback
from sim.processes import interrupted_with
from sim.study.decide.advice import Wishes, advise
from sim.study.decide.ends import TODAY, ends_of
from sim.study.decide.payback import payback
from sim.study.decide.seasons import has_seasons, seasons_of
from sim.study.decide.trials import Bench
from sim.study.many.study_file import study_file
from sim.study.many.workers import local
from sim.tell.decision.decision_json import advice_json, payback_json
from sim.tell.decision.phase_words import phase_words
from sim.tell.decision.rough_words import rough_words


@contextmanager
def bench_of(
    case_path: Path, case: Case, output: Output, seed: int, asked: Asked, units: System
) -> Iterator[Bench]:
    """Workers with the runs of a study."""
    replicates = asked.count(case.is_random)
    crews, phases = local(asked.workers), phased(output.quiet)
    with interrupted_with(lambda: _stopped(asked)), study_file(asked.study) as kept, crews as crew, phases as tell:
        yield Bench(
            path=case_path, case=case, crew=crew, seed=seed, replicates=replicates, progress=tell.runs,
            phase=lambda each: tell.phase(phase_words(each), each.what, each.place, each.count),
            rough=lambda each: tell.so_far(rough_words(each, case, units)), kept=kept,
        )  # fmt: skip


def _stopped(asked: Asked) -> str:
    if asked.study is None:
        return label("phase.lost", option=Code("--study"))
    return label("phase.kept", file=Code(str(asked.study)))


def advise_runs(
    case_path: Path, output: Output, units: System, seed: int, asked: Asked, wishes: Wishes, *, seasons: bool,
    everything: bool,
) -> None:  # fmt: skip
    """The best settings."""
    case = load_case(case_path)
    output.refuse_if_unwritable()
    output.refuse_as_study(asked.study)
    ends = None
    with bench_of(case_path, case, output, seed, asked, units) as bench:
        advice = advise(bench, wishes)
        chosen = advice.chosen
        by_season = seasons_of(bench, advice, chosen) if seasons and chosen and has_seasons(case) else None
        if asked.ranges and case.ranged and chosen:
            best = {each.policy: each.best.candidate for each in advice.policies if each.best is not None}
            ends = ends_of(bench, best | {TODAY: advice.today.candidate})

    def tables() -> dict[str, str | bytes]:
        from sim.tell.decision.files_of_decision import advice_files

        return advice_files(advice, by_season, units, output.head, ends, png=output.png)

    output.tell(
        lambda: show_advice(screen(), advice, by_season, units, ends, everything=everything),
        advice_json(advice, by_season, ends), tables,
    )  # fmt: skip


def payback_runs(
    case_path: Path, output: Output, units: System, seed: int, asked: Asked, wishes: Wishes, *, everything: bool
) -> None:
    """What a device is worth."""
    case = load_case(case_path)
    output.refuse_if_unwritable()
    output.refuse_as_study(asked.study)
    ends = None
    with bench_of(case_path, case, output, seed, asked, units) as bench:
        found = payback(bench, wishes)
        if asked.ranges and case.ranged and found.decided:
            settings = {each.name: each.tried.candidate for each in found.bars[1:]}
            ends = ends_of(bench, settings | {TODAY: found.advice.today.candidate})

    def tables() -> dict[str, str | bytes]:
        from sim.tell.decision.files_of_decision import payback_files

        return payback_files(found, units, output.head, ends, png=output.png)

    output.tell(
        lambda: show_payback(screen(), found, units, ends, everything=everything), payback_json(found, ends), tables
    )
