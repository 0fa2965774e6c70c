"""A line without processes: carried by hand from verb to verb, its books closed at any moment."""

from sim.case.records import Case
from sim.plant.ledger import Books, check_balances, site_figures, stage_figures
from sim.plant.line import Line
from sim.plant.recorder import Recorder
from sim.plant.records import Figure


def carried(line: Line, time: float) -> Line:
    """The line itself, carried on to exactly `time` [s]; nothing trips on the way."""
    assert line.advance_to(time, time) is None
    assert line.time == time
    return line


def closed(case: Case, line: Line) -> dict[str, Figure]:
    """The site's figures at the moment at which the line stands; water, solids and solutes balance there to 1e-9."""
    now, recorder = line.at(line.time), Recorder(case, line)
    books, none = Books(now), [0.0] * len(line.names)
    stages = [stage_figures(case, books, recorder, k, [], none) for k in range(len(case.stages))]
    site = site_figures(case, books, recorder, stages)
    check_balances(case, books, stages, site)
    return site


def state(line: Line) -> dict[str, list[dict[str, object]]]:
    """Every number of the line but the counts of what was worked out, as text that tells nan from nan."""
    kinds = ("stage", "vessel", "layer", "part", "cell", "unit", "uptake", "taken", "met", "portion")
    return {kind: [{name: repr(value) for name, value in row.items()} for row in line.read(kind)] for kind in kinds}
