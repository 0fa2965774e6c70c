"""`filterrun upgrade OLD NEW`: a case with keys of before, written in today's."""

from pathlib import Path

import click

from sim.case.quantities import System
from sim.cli.options import quiet_option, units_option


@click.command("upgrade")
@click.argument("old", metavar="OLD", type=click.Path(path_type=Path))
@click.argument("new", metavar="NEW", type=click.Path(path_type=Path))
@units_option
@quiet_option
def command(old: Path, new: Path, units: System, quiet: bool) -> None:
    """Write the case OLD in today's keys to NEW, comments kept, and show which figures change.

    NEW must not exist.
    """
    from plots.words import Name, label
    from sim.cli.screen import one_line, screen, write
    from sim.study.upgrade import upgrade
    from sim.study.whole_files import require_place
    from sim.tell.run.upgrade_words import meanings, upgrade_words

    require_place(new)
    found = upgrade(old, new)
    if quiet:
        return
    console = screen()
    click.echo(label("new.written", file=Name(one_line(str(new)))))
    for line in upgrade_words(found, units):
        write(console, line, indent=2)
    for meaning in meanings(found):
        write(console, meaning)
