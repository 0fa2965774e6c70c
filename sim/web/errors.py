"""What the page refuses, in one sentence."""

from collections.abc import Sequence

from hydraulics.errors import FilterrunError


class Refused(FilterrunError):
    """A request that is not met: its HTTP status, the reason in one sentence, and details line by line."""

    def __init__(self, status: int, sentence: str, details: Sequence[str] = ()) -> None:
        super().__init__(status, sentence, tuple(details))
        self.status, self.sentence, self.details = status, sentence, tuple(details)

    def __str__(self) -> str:
        return self.sentence
