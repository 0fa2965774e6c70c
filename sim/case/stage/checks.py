"""What the keys of one stage say together: its vessel, bed, laws and steps.

A check yields one finding for every contradiction of its kind; `place` is the path of what it is given.
"""

import math
from typing import assert_never

from hydraulics.constants import GRAMS_PER_KILOGRAM
from hydraulics.errors import DomainError
from hydraulics.media import CATALOGUE, grain_size_passing
from sim.case.line_numbers import Path
from sim.case.mistakes import Finding, Findings
from sim.case.schema import CaseFile
from sim.case.series.series import turbidity_can_be_read
from sim.case.spelling import shown
from sim.case.stage.defaults import (
    constant_of,
    growth_constant_of,
    is_coagulated,
    particle_size_of,
    porosity_of,
    room_for_deposit,
    typical,
)
from sim.case.stage.schema import CollectorTable, LayerTable, StageTable, StepTable
from sim.case.units import TURBIDITY

SLACK = 1e-9
"""m: depths given in other units add up with rounding."""


def stage_names_differ(case: CaseFile) -> Findings:
    names = [stage.name for stage in case.stage]
    for position, name in enumerate(names):
        if name in names[:position]:
            yield Finding(
                ("stage", position, "name"),
                f"{shown(name)} a second time",
                "a name of its own for every stage",
                shown(f"{name} {position + 1}"),
            )


def unfilterable_never_grows(case: CaseFile) -> Findings:
    """What passed one bed unfiltered cannot come to more behind it."""
    before, dosed = 1.0, case.feed.coagulant is not None
    for position, stage in enumerate(case.stage):
        usual = typical("unfilterable", coagulated=is_coagulated(stage, dosed=dosed)).value
        share = min(usual, before) if stage.unfilterable is None else stage.unfilterable
        if position and share > before:
            told = "given" if case.stage[position - 1].unfilterable is not None else "assumed"
            yield Finding(
                ("stage", position, "unfilterable"),
                f"{share:g}",
                f"up to {before:g}, the share {told} for the stage before",
                "a smaller share here, or a larger one there",
            )
        before = share


def limit_can_be_read(stage: StageTable, place: Path, case: CaseFile) -> Findings:
    """A limit of turbidity needs its ratio to solids."""
    limit = stage.limit
    if limit is not None and limit.kind is TURBIDITY and not turbidity_can_be_read(case.feed):
        yield Finding(
            (*place, "limit"),
            "a limit of turbidity, with no feed.solids_per_turbidity",
            "a limit in mg/L, or in NTU with the ratio of solids to turbidity",
            'solids_per_turbidity = "1.2 mg/L per NTU" under [feed], or what the site has measured',
        )


def bed_fits_the_vessel(stage: StageTable, place: Path, _case: CaseFile) -> Findings:
    depth = math.fsum(layer.depth for layer in stage.layer)
    if depth > stage.vessel.height + SLACK:
        yield Finding(
            (*place, "vessel", "height"),
            f"{stage.vessel.height:g} m, for layers of {depth:g} m together",
            "a vessel at least as high as its bed",
            "a higher vessel or thinner layers; a bed also needs room to expand when washed",
        )


def coefficients_belong_to_the_law(stage: StageTable, place: Path, _case: CaseFile) -> Findings:
    if stage.head_loss.law == "carman-kozeny" and stage.head_loss.inertial is not None:
        yield Finding(
            (*place, "head_loss", "inertial"),
            "an inertial coefficient with the law carman-kozeny",
            "viscous only: that law is laminar",
            'leaving it out, or law = "ergun"',
        )


def wash_has_a_backwash(stage: StageTable, place: Path, _case: CaseFile) -> Findings:
    if all(step.do != "backwash" or step.minutes == 0.0 for step in stage.step):
        yield Finding(
            (*place, "step"),
            "steps without a backwash",
            "at least one backwash step of more than 0 minutes",
            '[[stage.step]] with do = "backwash"',
        )


def known_run_alone(stage: StageTable, place: Path, _case: CaseFile) -> Findings:
    """A known run tells the deposit constant, so no layer may give it too."""
    if stage.known_run is None:
        return
    key = growth_constant_of(stage)
    for number, layer in enumerate(stage.layer):
        if getattr(layer, key) is not None:
            yield Finding(
                (*place, "layer", number, key),
                f"{key} beside a known_run of the stage",
                "one of the two: the known run tells this constant",
                "leaving one out",
            )


def longest_run_hour_has_its_run(stage: StageTable, place: Path, _case: CaseFile) -> Findings:
    if stage.longest_run_at is not None and stage.longest_run is None:
        yield Finding(
            (*place, "longest_run_at"),
            "an hour without a longest run",
            "longest_run_at beside longest_run",
            'longest_run = "10 d" beside it, or leaving it out',
        )


def restrictor_narrows(stage: StageTable, place: Path, _case: CaseFile) -> Findings:
    """A hole is smaller than the pipe that it narrows."""
    restrictor = stage.restrictor
    if restrictor is not None and restrictor.hole >= restrictor.pipe:
        yield Finding(
            (*place, "restrictor", "hole"),
            f"{restrictor.hole:g} m, in a pipe of {restrictor.pipe:g} m",
            "a hole smaller than the pipe",
            "the diameter of the hole; without a restrictor leave the table out",
        )


def step_has_its_flow(step: StepTable, place: Path) -> Findings:
    match step.do:
        case "settle":
            if step.flow is not None:
                yield Finding((*place, "flow"), "a flow for settle", "no flow: nothing moves then", "leaving it out")
        case "backwash" | "regenerant" | "displacement" | "rinse" | "make-up":
            if step.flow is None:
                yield Finding((*place, "flow"), "nothing", f"a flow for {step.do}", 'flow = "9 m3/h"')
        case _:
            assert_never(step.do)


def step_has_its_water(step: StepTable, place: Path) -> Findings:
    """Only a backwash chooses its water, and only filtered water needs its solids told."""
    if step.do != "backwash":
        for key in ("water", "water_solids", "cleaning_rate", "air"):
            if getattr(step, key) is not None:
                why = "nothing moves then" if step.do == "settle" else f"a {step.do} takes the stage's own feed"
                yield Finding((*place, key), f"{key} for {step.do}", f"none: {why}", "leaving it out")
        return
    if step.water == "filtered" and step.water_solids is None:
        yield Finding(
            (*place, "water_solids"),
            "nothing",
            "the solids of the filtered water that washes",
            'water_solids = "0.2 mg/L"',
        )
    if step.water != "filtered" and step.water_solids is not None:
        yield Finding(
            (*place, "water_solids"),
            f"water_solids with {step.water or 'raw'} water",
            "water_solids only with filtered water",
            'leaving it out, or water = "filtered"',
        )


def grains_are_told_once(layer: LayerTable, _stage: StageTable, place: Path, _case: CaseFile) -> Findings:
    for key in ("size", "uniformity"):
        if layer.sieve is not None and getattr(layer, key) is not None:
            yield Finding((*place, key), f"{key} beside sieve", "one of the two", "leaving one out")


def capture_is_told_once(layer: LayerTable, _stage: StageTable, place: Path, _case: CaseFile) -> Findings:
    if layer.filter_coefficient is not None and layer.typical_coefficient is not None:
        yield Finding(
            (*place, "typical_coefficient"),
            "typical_coefficient beside filter_coefficient",
            "one of the two: what these grains capture, or what usual grains of the medium do",
            "leaving one out",
        )


def sieve_is_a_curve(layer: LayerTable, _stage: StageTable, place: Path, _case: CaseFile) -> Findings:
    """A sieve analysis rises and shows where 10 and 60 percent pass."""
    if layer.sieve is None:
        return
    try:
        for percent in (10.0, 60.0):
            grain_size_passing(layer.sieve.opening, layer.sieve.passing, percent)
    except DomainError as error:
        yield Finding(
            (*place, "sieve"),
            f"{error.quantity}: {error.given}",
            error.allowed,
            "openings from fine to coarse with the percent that passes each, from below 10 to above 60",
        )


def pores_stay_open(layer: LayerTable, stage: StageTable, place: Path, case: CaseFile) -> Findings:
    """The clean bed is more open than a blocked one, and the ultimate deposit leaves it so.

    A known run has yet to say how dense the deposit is: whether it fits is judged there.
    """
    porosity, floor = porosity_of(layer), constant_of(stage, "porosity_floor")
    if porosity <= floor:
        allowed = f"above the porosity_floor of {floor:g} at which a cell counts as blocked"
        yield Finding((*place, "porosity"), f"{porosity:g}", allowed, "a smaller porosity_floor for the stage")
        return
    if stage.known_run is not None and layer.deposit_density is None:
        return
    room = room_for_deposit(layer, stage, case.feed.water)
    if room is None or layer.ultimate_deposit is None or layer.ultimate_deposit < room:
        return
    told = "given" if layer.deposit_density is not None else "assumed"
    yield Finding(
        (*place, "ultimate_deposit"),
        f"{layer.ultimate_deposit / GRAMS_PER_KILOGRAM:g} kg/m3",
        f"below {room / GRAMS_PER_KILOGRAM:.4g} kg/m3, at which deposit of the density {told} would narrow"
        f" the pores from {porosity:g} to {floor:g}",
        "less ultimate_deposit, or a larger deposit_density",
    )


def particles_have_a_size(layer: LayerTable, stage: StageTable, place: Path, case: CaseFile) -> Findings:
    collector = layer.filter_coefficient
    if isinstance(collector, CollectorTable) and _particle_size(collector, stage, case) is None:
        yield Finding(
            (*place, "filter_coefficient", "particle_size"),
            "nothing",
            "the size of the particles, since no feed.water says what is usual",
            'particle_size = "5 um", or what the site has measured',
        )


def _particle_size(collector: CollectorTable, stage: StageTable, case: CaseFile) -> float | None:
    coagulated = is_coagulated(stage, dosed=case.feed.coagulant is not None)
    return particle_size_of(collector, case.feed.water, coagulated=coagulated)


def particles_are_smaller_than_grains(
    layer: LayerTable, stage: StageTable, place: Path, case: CaseFile
) -> Findings:
    if not isinstance(layer.filter_coefficient, CollectorTable) or layer.sieve is not None:
        return
    particle_size = _particle_size(layer.filter_coefficient, stage, case)
    size = CATALOGUE[layer.medium].size.value if layer.size is None else layer.size
    if particle_size is not None and particle_size >= size:
        yield Finding(
            (*place, "filter_coefficient", "particle_size"),
            f"{particle_size:g} m",
            f"less than the grains' {size:g} m: what is larger is strained, not collected",
            "the size of the particles that the feed carries",
        )


OF_CASE = (stage_names_differ, unfilterable_never_grows)
OF_STAGE = (
    limit_can_be_read,
    bed_fits_the_vessel,
    coefficients_belong_to_the_law,
    wash_has_a_backwash,
    known_run_alone,
    longest_run_hour_has_its_run,
    restrictor_narrows,
)
OF_STEP = (step_has_its_flow, step_has_its_water)
OF_LAYER = (
    grains_are_told_once,
    capture_is_told_once,
    sieve_is_a_curve,
    pores_stay_open,
    particles_have_a_size,
    particles_are_smaller_than_grains,
)
