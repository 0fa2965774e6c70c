"""Stages of the train: from tables to records, with what the file leaves out taken from typical values."""

import math
from collections.abc import Mapping
from dataclasses import replace

from hydraulics import water
from hydraulics.constants import CARMAN_KOZENY_VISCOUS, ERGUN_INERTIAL, ERGUN_VISCOUS
from hydraulics.media import DEFAULTS, VALVE_RATE, Constant
from sim.case.assumptions import Book, Page, lowered
from sim.case.chemistry.records import Limits
from sim.case.chemistry.schema import DosingTable
from sim.case.chemistry.uptake import all_reaching, dosing_of, store_of
from sim.case.series.records import Oxidant
from sim.case.stage.defaults import constant_of, is_linear, typical
from sim.case.stage.layers import is_collected, is_lowered, is_usual, layer_of, washes_in_two_pools
from sim.case.stage.records import HeadLoss, Layer, Mat, Ripening, Sloughing, Stage, Step, Vessel
from sim.case.stage.schema import CollectorTable, LayerTable, StageTable
from sim.case.stage.surroundings import Surroundings
from sim.case.table import record_of
from sim.case.train.records import ONE_VESSEL, StartSpike, Switch, ValveSpike, Vessels
from sim.case.train.train import hold_of, only_while_of, solids_of
from sim.case.trigger.records import RIGHT, Clock
from sim.case.units import MINUTE
from sim.case.wash.plumbing import restrictor_of


def _choice(source: str) -> Constant:
    """One of two ways, taken where the case names none: 0 is this one, 1 the other."""
    return Constant(value=0.0, low=0.0, high=1.0, unit="-", source=source, assumed=True)


UNTREATED = _choice("false where the case does not say: untreated feed")
ERGUN = _choice("ergun where the case does not say; the other law is carman-kozeny")
NO_RANGES: Mapping[str, tuple[float, float]] = {}
LINEAR = _choice("linear where the case does not say; the other law is pore-narrowing")


def stages_of(
    tables: list[StageTable], around: Surroundings, ranges: Mapping[str, tuple[float, float]] = NO_RANGES
) -> tuple[tuple[Stage, ...], Book]:
    """The stages in the order of the train, and the book of what was given, with `ranges`, and assumed for them.

    An assumed unfilterable share never grows along the train. What one stage doses may reach all behind it.
    """
    stages: list[Stage] = []
    book = Book(ranges)
    for each, dissolved in zip(tables, all_reaching(tables, around.dissolved), strict=True):
        here = replace(around, dissolved=dissolved)
        table = _told_by_the_feed(each, around)
        page = Page(table, f"stage.{table.name}", book)
        most = stages[-1].unfilterable if stages else 1.0
        usual = typical("unfilterable", coagulated=bool(table.coagulated))
        unfilterable = lowered(usual, most, "to that of the stage before")
        stages.append(_stage(table, unfilterable, here, page))
    return tuple(stages), book


def _told_by_the_feed(table: StageTable, around: Surroundings) -> StageTable:
    """The stage, coagulated where it does not say and a coagulant is dosed: that is told then, not assumed."""
    if table.coagulated is not None or not around.dosed:
        return table
    return table.model_copy(update={"coagulated": True})


def _stage(table: StageTable, unfilterable: Constant, around: Surroundings, page: Page) -> Stage:
    layers = _layers(table, around, page)
    captures = any(max(layer.filter_coefficients) > 0.0 for layer in layers)
    two_pools = captures and washes_in_two_pools(table)
    exponent = page.take("velocity_exponent", used=captures)
    temperature = page.take(
        "reference_temperature",
        DEFAULTS["reference_temperature"],
        used=captures and (_has_own_gain(table) or _has_own_coefficient(table)),
    )
    _exponents(table, layers, exponent, page)
    for number, step in enumerate(table.step):
        alone = sum(step.do == each.do for each in table.step) == 1
        page.inner(step, f"step.{step.do if alone else number}").state("cleaning_rate", "1/s")
    return record_of(
        Stage,
        table,
        limit=solids_of(table.limit, around.turbidity_ratio),
        vessel=record_of(Vessel, table.vessel),
        layers=layers,
        head_loss=_head_loss(table, captures, page),
        ripening=_ripening(table, captures, page),
        sloughing=_sloughing(table, page),
        mat=_mat(table, page),
        unfilterable=page.take("unfilterable", unfilterable, used=captures),
        velocity_exponent=exponent,
        reference_rate=page.take(
            "reference_rate", used=captures and _rate_matters(table, exponent)
        ),
        reference_viscosity=water.viscosity(temperature),
        tanks=round(page.take("tanks")),
        cells_per_layer=_cells(table.cells, layers),
        porosity_floor=page.take(
            "porosity_floor", used=captures and _floor_matters(table, around.water)
        ),
        loose_rate=page.take("loose_rate", used=two_pools),
        firm_rate=page.take("firm_rate", used=two_pools),
        steps=tuple(record_of(Step, step, seconds=step.minutes * MINUTE) for step in table.step if step.minutes),
        air_factor=page.take("air_factor", used=captures and _air_matters(table)),
        restrictor=restrictor_of(table.restrictor, page, driven=around.driven),
        vessels=record_of(Vessels, table.vessels) or ONE_VESSEL,
        hold_unit=hold_of(table),
        clock=record_of(Clock, table.clock) or RIGHT,
        only_while=only_while_of(table, around.tank),
        switch=record_of(Switch, table.switch),
        start_spike=record_of(StartSpike, table.start_spike),
        valve_spike=record_of(ValveSpike, table.valve_spike),
        oxidant=_oxidant(table),
        dosing=dosing_of(table, around.dissolved, page),
        limits=record_of(Limits, table.limits) or Limits(),
        store=store_of(table, page),
    )


def _oxidant(table: StageTable) -> Oxidant | None:
    """The word for what is added ahead of a stage, told or that of its dose; air leaves nothing behind."""
    if not isinstance(table.oxidant, DosingTable):
        return table.oxidant
    return None if table.oxidant.product == "air" else table.oxidant.product


def _layers(table: StageTable, around: Surroundings, page: Page) -> tuple[Layer, ...]:
    if _asks_for_coagulant(table):
        page.note("coagulated", UNTREATED)
    return tuple(
        layer_of(layer, table, around, page.inner(layer, f"layer.{position}"))
        for position, layer in enumerate(table.layer)
    )


def _exponents(table: StageTable, layers: tuple[Layer, ...], velocity: float, page: Page) -> None:
    """Put those into the book that size and viscosity have in what some layer captures or adds to the head loss."""
    pairs = list(zip(table.layer, layers, strict=True))
    following = [(given, layer) for given, layer in pairs if max(layer.filter_coefficients) > 0.0]
    scaled = [(given, layer) for given, layer in following if not is_collected(given)]
    if scaled and (table.viscosity_exponent is not None or velocity > 0.0):
        page.note("viscosity_exponent", _like_velocity(velocity))
    if any(_size_matters(given, layer) for given, layer in scaled):
        page.note("size_exponent")
    if is_linear(table) and any(given.head_loss_gain is None and not is_usual(layer) for given, layer in following):
        page.note("gain_size_exponent")


def _like_velocity(velocity: float) -> Constant:
    """The viscosity's exponent where the case gives none: that of the velocity, with its own range around it."""
    usual = DEFAULTS["viscosity_exponent"]
    low, high = (max(velocity + end - usual.value, 0.0) for end in (usual.low, usual.high))
    return replace(usual, value=velocity, low=low, high=high)


def _size_matters(given: LayerTable, layer: Layer) -> bool:
    """Whether its capture depends on the size exponent: graded grains, or a typical value for other grains."""
    return len(layer.sublayer_sizes) > 1 or (given.filter_coefficient is None and not is_usual(layer))


def _asks_for_coagulant(table: StageTable) -> bool:
    """Whether a value that depends on coagulation is left out."""
    captures = any(layer.filter_coefficient != 0.0 for layer in table.layer)
    ripens = table.ripening is not None and table.ripening.share is None
    return (captures and (ripens or table.unfilterable is None)) or any(map(_captures_by_coagulant, table.layer))


def _captures_by_coagulant(layer: LayerTable) -> bool:
    given = layer.filter_coefficient
    if isinstance(given, CollectorTable):
        return None in (given.attachment, given.particle_size)
    return given is None and layer.typical_coefficient is None


def _has_own_coefficient(table: StageTable) -> bool:
    """Whether a filter coefficient is given that follows the water from the temperature at which it holds."""
    given = [each.filter_coefficient for each in table.layer if not is_collected(each)]
    return constant_of(table, "viscosity_exponent") > 0.0 and any(given)


def _has_own_gain(table: StageTable) -> bool:
    """Whether a gain of head loss is given, which means nothing without its rate and temperature.

    One that a known run told holds at whatever they are.
    """
    if table.known_run is not None:
        return False
    gains = [layer.head_loss_gain for layer in table.layer]
    return is_linear(table) and any(gain is not None for gain in gains)


def _rate_matters(table: StageTable, exponent: float) -> bool:
    """Whether some coefficient is meant at the reference rate and moves away from it."""
    collector = any(isinstance(layer.filter_coefficient, CollectorTable) for layer in table.layer)
    return exponent > 0.0 or collector or table.sloughing is not None or _has_own_gain(table)


def _floor_matters(table: StageTable, kind: str | None) -> bool:
    """Whether a cell can come to the floor, or an assumed ultimate deposit was held off it.

    A deposit below its ultimate value never comes there; one that sloughing lets grow further can.
    """
    sloughs = table.sloughing is not None and not is_linear(table)
    return sloughs or any(is_lowered(layer, table, kind) for layer in table.layer)


def _air_matters(table: StageTable) -> bool:
    """Whether some backwash has air and no effective rate, which would hold what the air does."""
    return any(step.air and step.cleaning_rate is None and step.minutes > 0.0 for step in table.step)


def _head_loss(table: StageTable, captures: bool, page: Page) -> HeadLoss:
    """The laws, with their published coefficients unless others are given."""
    given = table.head_loss
    inner = page.inner(given, "head_loss")
    inner.note("law", ERGUN)
    if captures:
        inner.note("growth", LINEAR)
    inner.state("viscous", "-")
    inner.state("inertial", "-")
    laminar = given.law == "carman-kozeny"
    viscous = CARMAN_KOZENY_VISCOUS if laminar else ERGUN_VISCOUS
    inertial = 0.0 if laminar else ERGUN_INERTIAL
    return record_of(
        HeadLoss,
        given,
        viscous=viscous if given.viscous is None else given.viscous,
        inertial=inertial if given.inertial is None else given.inertial,
        valve_constant=_valve_constant(table, inner),
    )


def _valve_constant(table: StageTable, page: Page) -> float:
    """Constant of the square law [Pa/(m3/s)^2]: given, or from the typical loss at VALVE_RATE through the bed."""
    flow = VALVE_RATE * record_of(Vessel, table.vessel).area
    loss, given = DEFAULTS["valve_loss"], table.head_loss.valve
    if table.head_loss.tap == "vessel" and (given is None or f"{page.key}.valve" in page.book.ranges):
        page.note("valve", loss, factor=flow**2)
    return loss.value / flow**2 if given is None else given


def _ripening(table: StageTable, captures: bool, page: Page) -> Ripening | None:
    if table.ripening is None:
        return None
    inner = page.inner(table.ripening, "ripening")
    return Ripening(
        share=inner.take("share", typical("ripening_share", coagulated=bool(table.coagulated)), used=captures),
        volume=inner.take("volume", DEFAULTS["ripening_volume"], used=captures),
    )


def _sloughing(table: StageTable, page: Page) -> Sloughing | None:
    if table.sloughing is None:
        return None
    inner = page.inner(table.sloughing, "sloughing")
    return Sloughing(exponent=inner.take("exponent", DEFAULTS["slough_exponent"]))


def _mat(table: StageTable, page: Page) -> Mat | None:
    if table.mat is None:
        return None
    inner = page.inner(table.mat, "mat")
    return record_of(Mat, table.mat, resistance=inner.take("resistance", DEFAULTS["mat_resistance"]))


def _cells(asked: int, layers: tuple[Layer, ...]) -> int:
    """Cells per layer: what is asked for, raised until every sublayer has the same whole number."""
    sublayers = max(len(layer.sublayer_sizes) for layer in layers)
    return math.ceil(asked / sublayers) * sublayers
