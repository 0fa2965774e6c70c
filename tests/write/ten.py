"""Ten numbers and four words, and what becomes of them."""

from functools import cache
from pathlib import Path

from sim.write.answers import answers_of, read
from sim.write.writing import NewCase, new_case

TRAINS = ("media", "media,carbon", "oxidising,carbon,softener", "media,softener")

TEN = {
    "diameter": "30 in",
    "flow": "25 gpm",
    "hours": "12",
    "days": "6",
    "turbidity": "4 NTU",
    "limit": "0.9 NTU",
    "temperature": "7..19 degC",  # two numbers
    "depth": "0.8 m",
    "backwash": "19 m3/h",
}
WORDS = {"water": "river", "train": "media", "coagulant": "yes", "use": "process"}
"""With these, ten numbers say everything that is asked."""


def made(**changes: str | None) -> NewCase:
    """The case from the ten numbers with other answers, or without some."""
    return _made(tuple(sorted(changes.items())))


@cache
def _made(changes: tuple[tuple[str, str | None], ...]) -> NewCase:
    texts = TEN | WORDS | dict(changes)
    values = {key: read(key, text) for key, text in texts.items() if text is not None}
    return new_case(answers_of(values), Path("new.toml"))


def options(**changes: str | None) -> list[str]:
    """The same as words of the command line."""
    texts = TEN | WORDS | changes
    return [word for key, text in texts.items() if text is not None for word in (f"--{key}", text)]
