"""What the page refuses, in one sentence."""

from collections.abc import Sequence

from hydraulics.errors import FilterrunError


class Refused(FilterrunError):
    """A request that is not met: its HTTP status, the reason in one sentence, and details line by line.

    `keys` are those of a case that the details are about.
    """

    def __init__(self, status: int, sentence: str, details: Sequence[str] = (), keys: Sequence[str] = ()) -> None:
        super().__init__(status, sentence, tuple(details), tuple(keys))
        self.status, self.sentence, self.details, self.keys = status, sentence, tuple(details), tuple(keys)

    def __str__(self) -> str:
        return self.sentence
