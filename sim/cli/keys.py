"""`filterrun keys [KEY]`: what a case may hold."""

import click


@click.command("keys")
@click.argument("key", metavar="[KEY]", required=False)
@click.option("--page", "as_page", is_flag=True, help="All keys with values and ranges, as a page of Markdown.")
@click.option("--results", is_flag=True, help="Every figure of a result by its key, as a page of Markdown.")
def command(key: str | None, as_page: bool, results: bool) -> None:
    """Say what a case may hold: every table with its keys, or all about one KEY.

    KEY is a dotted path as in a sweep or a message, names of stages and ways left out or not; or its last part alone.
    """
    from sim.errors import RefusedValue
    from sim.study.errors import RequestError
    from sim.tell.keys.case_keys import found_keys
    from sim.tell.keys.keys_told import key_lines, list_lines, page
    from sim.tell.keys.results_page import results_page

    if (key is not None) + as_page + results > 1:
        raise click.UsageError("KEY, --page and --results: allowed: one of the three; try: filterrun keys KEY")
    if results:
        click.echo(results_page(), nl=False)
    elif as_page:
        click.echo(page(), nl=False)
    elif key is None:
        click.echo("\n".join(list_lines()).lstrip("\n"))
    else:
        try:
            found = found_keys(key)
        except RefusedValue as refused:
            raise RequestError(str(refused)) from None
        click.echo("\n".join(line for each in found for line in key_lines(each)))
