"""What a stage takes from the rest of the case."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Surroundings:
    """Mean temperature of the feed [degC], the largest demand [m3/s], solids per turbidity [g/m3 per NTU] and the
    kind of water, these two None where the case does without; `driven`: the case has a supply for its washes."""

    temperature: float
    demand: float
    turbidity_ratio: float | None
    water: str | None
    driven: bool
