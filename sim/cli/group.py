"""The commands by name, and what their errors become: a message and an exit code."""

import io
import os
import sys
from importlib import import_module
from typing import TYPE_CHECKING

import click

from plots.words import say
from sim.cli.options import is_translated, language_option, say_plainly
from sim.processes import INTERRUPTED, NOTHING_WRITTEN
from sim.study.version import PROGRAM, VERSION

if TYPE_CHECKING:  # loaded when there is one
    from sim.errors import CaseError, Problem

COMMANDS = (
    "new", "run", "compare", "sweep", "advise", "payback", "lesson", "check", "keys", "upgrade", "weather", "faults",
    "fit", "diagnose", "sheet", "page",
)  # fmt: skip
FAILED, WRONG_INPUT = 1, 2


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
        if language_option not in command.params:
            command.params.append(language_option)
        return command

    def invoke(self, ctx: click.Context) -> object:
        """Run the command; its errors become a message and an exit code."""
        try:
            if "SOURCE_DATE_EPOCH" in os.environ:  # libraries read it too, some as they load
                from sim.tell.prepared import require_day

                require_day()
            return super().invoke(ctx)
        except KeyboardInterrupt as interrupt:
            click.echo(str(interrupt) or NOTHING_WRITTEN, err=True)
            ctx.exit(INTERRUPTED)
        except OSError as error:
            if isinstance(error, BrokenPipeError):
                raise
            _say_failed(error)
            ctx.exit(FAILED)
        except Exception as error:
            ctx.exit(_told(error))


def _told(error: Exception) -> int:
    """Print an error of ours and give its exit code; any other error is a fault of the program."""
    from hydraulics.errors import FilterrunError
    from sim.errors import CaseError
    from sim.study.errors import RequestError

    if isinstance(error, FilterrunError) and is_translated():
        say_plainly(say("language.english"))
    if isinstance(error, CaseError):
        say_plainly(_case_told(error))
        return WRONG_INPUT
    if isinstance(error, FilterrunError):
        say_plainly(f"{PROGRAM}: {error}")
        return WRONG_INPUT if isinstance(error, RequestError) else FAILED
    raise error


def _case_told(error: "CaseError") -> str:
    """Every problem of a case file: where, what was given, what is allowed, what to try."""
    first = f" The first {len(error.problems)}:" if error.more else ""
    head = f"{error.count} in the case; nothing was run or written.{first}"
    return "\n".join([head, *(_problem_told(problem) for problem in error.problems)])


def _problem_told(problem: "Problem") -> str:
    where = problem.file if problem.line is None else f"{problem.file}, line {problem.line}"
    head = f"{where}: {problem.key}" if problem.key else where
    return f"{head}\n  given:   {problem.given}\n  allowed: {problem.allowed}\n  try:     {problem.try_}"


@click.command(cls=Commands, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(VERSION, prog_name=PROGRAM)
def main_command() -> None:
    """Simulate granular-media filters over months and compare what starts a wash.

    CASE is a TOML file that describes the feed, the demand, the filters and the ways to start a wash.
    """


def call() -> None:
    """Call the command that the words of the program name, and end with its exit code."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="replace")
    try:
        main_command(prog_name=PROGRAM)
    except OSError as error:  # of help and version, which no command of ours writes
        _say_failed(error)
        sys.exit(FAILED)
    finally:
        _flush()


def _flush() -> None:
    """Send on what was shown, while its failure can still be told."""
    if sys.stdout is None:  # a shell has closed it
        return
    try:
        sys.stdout.flush()
    except OSError as error:
        if not isinstance(error, BrokenPipeError):  # who reads no further knows why
            _say_failed(error)
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        sys.exit(FAILED)


def _say_failed(error: OSError) -> None:
    from sim.study.whole_files import FULL, cannot_write

    told = cannot_write(error.filename or "standard output", error) if error.errno in FULL else error
    say_plainly(f"{PROGRAM}: {told}")
