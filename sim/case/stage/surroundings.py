"""What a stage takes from the rest of the case."""

from sim.case.record import record


@record
class Surroundings:
    """Mean temperature of the feed [degC], solids per turbidity [g/m3 per NTU] and the kind of water, these two None
    where the case does without; `driven`: the case has a supply for its washes; `dosed`: coagulant goes to the
    feed."""

    temperature: float
    turbidity_ratio: float | None
    water: str | None
    driven: bool
    dosed: bool = False
