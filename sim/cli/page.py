"""`filterrun page [CASE]`: the same studies in a browser, on this computer."""

from pathlib import Path

import click


@click.command("page")
@click.argument("case_path", metavar="[CASE]", required=False, type=click.Path(path_type=Path))
@click.option(
    "--port",
    type=click.IntRange(0, 65535),
    default=8642,
    show_default=True,
    help="Port of the page; 0 takes any that is free.",
)
@click.option(
    "--host",
    metavar="ADDRESS",
    default="127.0.0.1",
    show_default=True,
    help="Address to listen at. Any but a local one opens the page to a network; browsers are then asked for a word.",
)
def command(case_path: Path | None, port: int, host: str) -> None:
    """Show a local page for CASE, or for a case that comes with the program: what starts a wash, why rinse, my plant.

    Nothing is written; cases, reports and workbooks are saved by the browser.
    """
    from plots.words import say

    click.echo(say("page.terminal.starts"), err=True)  # what is loaded now takes some seconds
    from sim.web.errors import Refused
    from sim.web.serve import first_case, serve

    try:
        first = first_case(case_path)
    except Refused as refused:
        from sim.study.errors import RequestError

        raise RequestError(refused.sentence) from refused
    serve(first, host=host, port=port, show=lambda words: click.echo(words, err=True))
