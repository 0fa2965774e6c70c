"""What a stage takes from the rest of the case."""

from sim.case.chemistry.records import Solute
from sim.case.record import record
from sim.case.schema import CaseFile
from sim.case.series.records import Feed
from sim.case.series.series import mean_of
from sim.case.train.schema import TankTable


@record
class Surroundings:
    """Mean temperature of the feed [degC], solids per turbidity [g/m3 per NTU] and the kind of water, these two None
    where the case does without; `driven`: the case has a supply for its washes; `dosed`: coagulant goes to the
    feed; `dissolved`: what else comes with the water; `tank`: that of the unit downstream."""

    temperature: float
    turbidity_ratio: float | None
    water: str | None
    driven: bool
    dosed: bool = False
    dissolved: frozenset[Solute] = frozenset()
    tank: TankTable | None = None


def surroundings_of(file: CaseFile, feed: Feed) -> Surroundings:
    return Surroundings(
        temperature=mean_of(feed.temperature),
        turbidity_ratio=feed.turbidity_ratio,
        water=file.feed.water,
        driven=file.supply is not None,
        dosed=feed.coagulant is not None,
        dissolved=frozenset(solute for solute, _ in feed.solutes),
        tank=None if file.downstream is None else file.downstream.tank,
    )
