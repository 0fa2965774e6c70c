"""What is asked for a new case. Plain data: nothing here reads an answer, says or loads anything."""

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from types import MappingProxyType

from sim.case.quantities import System

USUAL = "usual"
"""The answer that leaves a figure to what is usual for each filter."""

UNKNOWN = "unknown"
"""The answer of who does not know it."""

NONE = "none"
"""The answer of whose plant has no such thing."""


@dataclass(frozen=True, slots=True)
class Question:
    """One thing asked; `plots/words` has its words.

    `key` names the answer and, after two dashes, its option; `hint` stands for the value in the help of the option;
    `si` is an example, and `us` one in US units where it differs. `needed`: nothing can stand in for an answer.
    `filters`: the kinds of filter of which one has to be in the train for it to be asked; none: it always is.
    `several`: of several filters only.
    """

    key: str
    hint: str
    si: str
    us: str = ""
    needed: bool = False
    filters: tuple[str, ...] = ()
    several: bool = False

    @property
    def examples(self) -> Mapping[System, str]:
        """An answer in each system of units."""
        return {"si": self.si, "us": self.us or self.si}

    def concerns(self, train: Collection[str]) -> bool:
        """Whether it is asked for a train of such filters."""
        if self.several and len(train) < MORE_THAN_ONE:
            return False
        return not self.filters or any(kind in train for kind in self.filters)


MORE_THAN_ONE = 2
QUESTIONS = (
    Question("units", "si|us", "si"),
    Question("water", "KIND", "lake", needed=True),
    Question("train", "LIST", "media,carbon", needed=True),
    Question("use", "WORD", "process"),
    Question("together", "WORD", "wait", several=True),
    Question("diameter", "Q", "0.9 m", "36 in", needed=True),
    Question("flow", "Q", "6 m3/h", "30 gpm", needed=True),
    Question("hours", "N", "14", needed=True),
    Question("days", "N", "6"),
    Question("turbidity", "Q", "5 NTU", needed=True),
    Question("limit", "Q", "0.6 NTU"),
    Question("temperature", "LOW..HIGH", "6..21 degC", "43..70 degF", needed=True),
    Question("coagulant", "ANSWER", "yes", needed=True),
    Question("depth", "Q", "0.8 m", "32 in"),
    Question("backwash", "Q", "24 m3/h", "100 gpm"),
    Question("hardness", "Q", "230 mg/L", "13 gpg", filters=("softener",)),
    Question("iron", "Q", "1.4 mg/L", filters=("oxidising",)),
    Question("manganese", "Q", "0.12 mg/L", filters=("oxidising",)),
    Question("pH", "N", "7.4", filters=("oxidising",)),
    Question("oxidant", "ANSWER", "chlorine", filters=("oxidising",)),
    Question("permanganate", "Q", "90 g", "0.2 lb", filters=("oxidising",)),
    Question("chlorine", "Q", "0.4 mg/L", filters=("carbon",)),
)

BY_KEY: Mapping[str, Question] = MappingProxyType({question.key: question for question in QUESTIONS})
