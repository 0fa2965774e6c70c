"""A sheet to keep a log by hand: for each filter a page of 31 days, with the very columns that are read back."""

from collections.abc import Iterator

from plots.inputs import LogSheet
from plots.report import log_sheet_html
from sim.case.chemistry.records import Carbon, Resin
from sim.case.quantities import QUANTITIES, Quantity, System
from sim.case.records import Case
from sim.case.stage.records import Stage
from sim.log.records import What

QUANTITY_OF: dict[What, Quantity] = {
    What.FLOW: "flow", What.TOTAL: "volume", What.PRESSURE_DROP: "pressure", What.TEMPERATURE: "temperature",
    What.TURBIDITY_IN: "turbidity", What.TURBIDITY_OUT: "turbidity", What.HARDNESS_IN: "hardness",
    What.HARDNESS_OUT: "hardness", What.CHLORINE_IN: "dissolved", What.CHLORINE_OUT: "dissolved",
    What.DRAIN: "volume",
}  # fmt: skip


def blank_log(case: Case, units: System) -> str:
    """The sheets of all stages as one HTML file to print, a page each."""
    sheets = (
        LogSheet(name=stage.name, columns=("date", "time", *(head(what, units) for what in _columns(stage)),
                                           *_limited(stage, units)))
        for stage in case.stages
    )
    return log_sheet_html(case.title, tuple(sheets))


def _columns(stage: Stage) -> Iterator[What]:
    """What is worth reading of a stage: hardness of a softener, chlorine of a bed of carbon, the rest of all."""
    taken_up = {type(layer.uptake) for layer in stage.layers}
    for what in What:
        if what in (What.HARDNESS_IN, What.HARDNESS_OUT) and Resin not in taken_up:
            continue
        if what in (What.CHLORINE_IN, What.CHLORINE_OUT) and Carbon not in taken_up:
            continue
        yield what


def _limited(stage: Stage, units: System) -> Iterator[str]:
    """Columns for what else its water may carry so much of; without a unit in brackets they are not read back."""
    limits, read = stage.limits, {str(what) for what in _columns(stage)}
    for kind, limit in (("hardness", limits.hardness), ("iron", limits.iron), ("manganese", limits.manganese),
                        ("chlorine", limits.chlorine)):  # fmt: skip
        if limit is not None and f"{kind} out" not in read:
            yield f"{kind} out, {QUANTITIES['hardness' if kind == 'hardness' else 'dissolved'].symbol(units)}"


def head(what: What, units: System) -> str:
    """The head of a column as a reader of logs knows it."""
    return str(what) if what is What.WASH else f"{what} [{QUANTITIES[QUANTITY_OF[what]].symbol(units)}]"
