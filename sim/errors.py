"""The errors of a case file: one problem says where, what was given, what is allowed and what to try."""

from dataclasses import dataclass

from hydraulics.errors import FilterrunError


class RefusedValue(FilterrunError, ValueError):
    """One value that cannot be taken: what was given, what is allowed, what to try."""

    def __init__(self, given: str, allowed: str, try_: str) -> None:
        super().__init__(given, allowed, try_)
        self.given = given
        self.allowed = allowed
        self.try_ = try_

    def __str__(self) -> str:
        return f"given {self.given}; allowed: {self.allowed}; try: {self.try_}"


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing wrong in a case file. `line` counts from 1 and is None when no line can be named."""

    file: str
    line: int | None
    key: str
    given: str
    allowed: str
    try_: str

    def __str__(self) -> str:
        where = self.file if self.line is None else f"{self.file}, line {self.line}"
        what = f"given {self.given}; allowed: {self.allowed}; try: {self.try_}"
        return f"{where}: {self.key}: {what}" if self.key else f"{where}: {what}"


class CaseError(FilterrunError):
    """A case file that cannot be used, with the problems of it in the order of the file; `more` were only counted."""

    def __init__(self, problems: tuple[Problem, ...], more: int = 0) -> None:
        super().__init__(problems, more)
        self.problems, self.more = problems, more

    @property
    def count(self) -> str:
        """How many problems there are, in words."""
        count = len(self.problems) + self.more
        return f"{count:,} problem{'' if count == 1 else 's'}"

    def __str__(self) -> str:
        return "\n".join(str(problem) for problem in self.problems)
