"""The command line: each command a few lines over `sim.study`, loaded when it is called.

Exit codes: 0 done, 1 the run failed, 2 the input is wrong, 130 interrupted.
"""

import io
import sys
from importlib import import_module

import click

from sim.study.version import PROGRAM, VERSION

COMMANDS = ("new", "run", "compare", "sweep", "advise", "payback", "lesson", "check", "upgrade", "weather", "page")
FAILED, WRONG_INPUT, INTERRUPTED = 1, 2, 130


class Commands(click.Group):
    """The commands by name; a command's module is imported when the command is asked for."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Names in the order in which help shows them."""
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """The command, or None if there is no such one."""
        if cmd_name not in COMMANDS:
            return None
        command = import_module(f"sim.cli.{cmd_name}").command
        assert isinstance(command, click.Command)
        return command

    def invoke(self, ctx: click.Context) -> object:
        """Run the command; its errors become a message and an exit code."""
        try:
            return super().invoke(ctx)
        except KeyboardInterrupt as interrupt:
            click.echo(str(interrupt) or "interrupted: nothing written", err=True)
            ctx.exit(INTERRUPTED)
        except OSError as error:
            if isinstance(error, BrokenPipeError):
                raise
            click.echo(f"{PROGRAM}: {error}", err=True)
            ctx.exit(FAILED)
        except Exception as error:
            ctx.exit(_told(error))


def _told(error: Exception) -> int:
    """Print an error of ours and give its exit code; any other error is a fault of the program."""
    from hydraulics.errors import FilterrunError
    from sim.errors import CaseError
    from sim.study.errors import RequestError

    if isinstance(error, CaseError):
        from sim.cli.problems import told

        click.echo(told(error), err=True)
        return WRONG_INPUT
    if isinstance(error, FilterrunError):
        click.echo(f"{PROGRAM}: {error}", err=True)
        return WRONG_INPUT if isinstance(error, RequestError) else FAILED
    raise error


@click.command(cls=Commands, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(VERSION, prog_name=PROGRAM)
def main_command() -> None:
    """Simulate granular-media filters over months and compare what starts a wash.

    CASE is a TOML file that describes the feed, the demand, the filters and the ways to start a wash.
    """


def main() -> None:
    """Entry point of the program."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="replace")
    main_command(prog_name=PROGRAM)
