"""What can go wrong in a run. Every field is positional: simpy rebuilds an exception as type(e)(*e.args)."""

from hydraulics.errors import FilterrunError


class RunError(FilterrunError):
    """A run that cannot go on."""


class ClockError(RunError):
    """A time that the clock cannot go to [s]."""

    def __init__(self, now: float, asked: float, rule: str) -> None:
        super().__init__(now, asked, rule)
        self.now, self.asked, self.rule = now, asked, rule

    def __str__(self) -> str:
        return f"at {self.now:.6g} s of the run, asked for {self.asked!r} s: {self.rule}"


class StalledError(RunError):
    """Pieces of the line that take no time, one after another."""

    def __init__(self, time: float, stage: str, mode: str) -> None:
        super().__init__(time, stage, mode)
        self.time, self.stage, self.mode = time, stage, mode

    def __str__(self) -> str:
        return f"at {self.time:.6g} s of the run the water does not move on: stage {self.stage!r}, {self.mode}"


class LedgerError(RunError):
    """A balance that does not close: what came in, what went out and what stayed, in the unit named."""

    def __init__(self, where: str, what: str, unit: str, given: float, found: float) -> None:
        super().__init__(where, what, unit, given, found)
        self.where, self.what, self.unit, self.given, self.found = where, what, unit, given, found

    def __str__(self) -> str:
        return (
            f"the ledger of {self.where} does not close: {self.what} in {self.given:.12g} {self.unit}, "
            f"out and held {self.found:.12g} {self.unit}; this is a fault of the program, please report the case"
        )


class PolicyError(FilterrunError):
    """A policy that the case does not have."""

    def __init__(self, given: str, allowed: tuple[str, ...]) -> None:
        super().__init__(given, allowed)
        self.given, self.allowed = given, allowed

    def __str__(self) -> str:
        return f"no policy {self.given!r} in this case; it has: {', '.join(repr(name) for name in self.allowed)}"
