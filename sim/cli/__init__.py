"""The command line: each command a few lines over `sim.study`, loaded when it is called.

Exit codes: 0 done, 1 the run failed, 2 the input is wrong, 130 interrupted. Nothing is loaded here: an interrupt is
to find the program ready for it.
"""

from sim.processes import end_on_interrupt


def main() -> None:
    """Entry point of the program."""
    end_on_interrupt()
    from sim.cli.group import call

    call()
