"""`filterrun sweep CASE --vary KEY=v1,v2,...`: one or two settings of a case at several values."""

from pathlib import Path

import click

from sim.case.quantities import System
from sim.cli.options import (
    Output,
    all_option,
    case_argument,
    figure_options,
    quiet_option,
    seed_option,
    units_option,
)


@click.command("sweep")
@case_argument
@click.option(
    "--vary",
    multiple=True,
    required=True,
    metavar="KEY=V1,V2,...",
    help='A setting and its values, as in stage.filter.step.rinse.minutes=0,2,5 or policy.x.filter.every="2 d,4 d".'
    " Once or twice.",
)
@click.option("--policy", "policies", multiple=True, metavar="NAME", help="Only this policy of the case; repeatable.")
@click.option("--show", "shown", multiple=True, metavar="FIGURE", help="Only this figure, by its key; repeatable.")
@figure_options
@units_option
@seed_option
@all_option
@quiet_option
def command(
    case_path: Path,
    vary: tuple[str, ...],
    policies: tuple[str, ...],
    shown: tuple[str, ...],
    out: Path | None,
    png: bool,
    json_file: str | None,
    units: System,
    seed: int,
    everything: bool,
    quiet: bool,
) -> None:
    """Run CASE at every value of one setting, or every pair of values of two, on the same weather.

    A key is the dotted path in the case file: list items by name or position, steps by what they do. --out writes
    sweep.csv in SI, and each figure shown.
    """
    from sim.cli.progress import watched
    from sim.cli.screen import screen
    from sim.cli.show_sweep import show
    from sim.study.sweep import sweep
    from sim.study.vary import read_all
    from sim.tell.comparison.swept import chosen_figures, require_figures, sweep_table, swept_pictures

    output = Output(out=out, png=png, json_file=json_file, quiet=quiet, case_path=case_path)
    values = read_all(vary)
    require_figures(shown)
    output.refuse_if_unwritable()
    with watched(quiet, plain=False) as progress:
        swept = sweep(case_path, values, policies, seed, progress)
    kpis = chosen_figures(swept, shown)

    def tables() -> dict[str, str | bytes]:
        from plots.swept import files_of
        from sim.study.frames import as_csv

        return {"sweep.csv": as_csv(sweep_table(swept)), **files_of(swept_pictures(swept, kpis, units), png=png)}

    output.tell(lambda: show(screen(), swept, shown, units, everything=everything), swept.to_json(), tables)
