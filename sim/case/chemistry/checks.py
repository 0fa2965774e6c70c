"""What the keys of a case say together about what is dissolved, about doses and about regenerations; see `checks`."""

import math
from collections.abc import Mapping
from itertools import pairwise

from hydraulics.stoichiometry import SALT_PER_HARDNESS
from sim.case.chemistry.records import IN_FEED, Solute
from sim.case.chemistry.schema import DosingTable, SaltTable
from sim.case.chemistry.uptake import (
    CHLORINE,
    FORMS_FLOC,
    METALS,
    Solutes,
    all_reaching,
    draws_from_the_tank,
    steps_of,
)
from sim.case.line_numbers import Path
from sim.case.mistakes import Finding, Findings
from sim.case.schema import CaseFile
from sim.case.spelling import quoted
from sim.case.stage.records import CHEMICAL
from sim.case.stage.schema import CAPACITY, LayerTable, StageTable, StepTable
from sim.case.units import GRAMS_PER_KILOGRAM
from sim.case.values import Amount

SLACK = 1e-9
"""Share by which points of a table that lie on one line may stray when they are converted."""

LIMITED: Mapping[str, Solutes] = {
    "hardness": frozenset({"hardness"}),
    "iron": frozenset({"iron"}),
    "manganese": frozenset({"manganese", "permanganate"}),
    "chlorine": CHLORINE | {"permanganate"},
}
"""What brings that which a limit is for."""

MEDIA: Mapping[str, frozenset[str]] = {
    "capacity": CHEMICAL,
    "half_length": CHEMICAL,
    "half_length_rate": CHEMICAL,
    "capacity_factor": frozenset({"resin"}),
    "leakage": frozenset({"resin"}),
    "fouling": frozenset({"resin"}),
    "sulphide_to": frozenset({"oxidising media"}),
    "combined_half_length": frozenset({"carbon"}),
    "growth": frozenset({"carbon"}),
}
"""The media that a key of a layer belongs to."""


def dissolved_in(case: CaseFile) -> Solutes:
    """What the feed is said to bring."""
    given: list[Solute] = [solute for solute in IN_FEED if getattr(case.feed, solute) is not None]
    return frozenset(given)


def limits_can_be_judged(case: CaseFile) -> Findings:
    """A limit needs something in the feed or in a dose that it is for."""
    for position, (stage, here) in enumerate(
        zip(case.stage, all_reaching(case.stage, dissolved_in(case)), strict=True)
    ):
        for key, brought_by in LIMITED.items():
            if stage.limits is not None and getattr(stage.limits, key) is not None and not here & brought_by:
                feed = "free_chlorine" if key == "chlorine" else key
                yield Finding(
                    ("stage", position, "limits", key),
                    f"a limit of {key}, with no feed.{feed}",
                    f"a limit of what the water brings: {feed} under [feed]{_or_a_dose(key)}",
                    f"feed.{feed} as the water has it, or leaving the limit out",
                )


def _or_a_dose(key: str) -> str:
    return ", or a dose of oxidant ahead of the stage" if key in ("manganese", "chlorine") else ""


def known_run_has_no_floc(case: CaseFile) -> Findings:
    """A known run is told by the solids of the feed alone, so none may form or settle on the way."""
    dosed = False
    reaching = all_reaching(case.stage, dissolved_in(case))
    for position, (stage, here) in enumerate(zip(case.stage, reaching, strict=True)):
        dosed = dosed or isinstance(stage.oxidant, DosingTable)
        forms = dosed and here & FORMS_FLOC
        keeps = here & METALS and any(layer.medium == "oxidising media" for layer in stage.layer)
        if stage.known_run is not None and (forms or keeps):
            yield Finding(
                ("stage", position, "known_run"),
                "a known run, with deposit from what is dissolved",
                "a known run where the solids of the feed are all that a bed keeps",
                "leaving it out, and deposit_density or head_loss_gain of the layers as the plant has shown them",
            )


def dosing_is_whole(stage: StageTable, place: Path, case: CaseFile) -> Findings:
    """Chlorine and permanganate have a dose; air has none, and acts by pH and time."""
    dosing = stage.oxidant
    if not isinstance(dosing, DosingTable):
        return
    place = (*place, "oxidant")
    if dosing.product != "air" and dosing.dose is None:
        yield Finding(
            (*place, "dose"),
            "nothing",
            f"how much {dosing.product} is dosed; where nobody knows, the word alone",
            f'dose = "2 mg/L", or oxidant = "{dosing.product}"',
        )
    if dosing.product != "air":
        return
    if dosing.dose is not None:
        yield Finding((*place, "dose"), "a dose of air", "no dose: the water takes what it needs", "leaving it out")
    if dosing.contact is None:
        yield Finding(
            (*place, "contact"),
            "nothing, with air",
            "the time between air and bed: air oxidises iron slowly, by pH and time",
            'contact = "20 min", the volume of the tank between them over the flow',
        )
    if case.feed.pH is None:
        yield Finding(
            (*place, "product"),
            '"air", with no feed.pH',
            "air where the pH of the feed is known: it decides how fast iron oxidises",
            "pH = 7.2 under [feed], as the water has it",
        )


def regenerant_has_its_source(stage: StageTable, place: Path, _case: CaseFile) -> Findings:
    """A regenerant brings a mass, or draws from a brine tank that a make-up fills; and the other way round."""
    drawing = [number for number, step in steps_of(stage, "regenerant") if draws_from_the_tank(step)]
    filling = [number for number, _ in steps_of(stage, "make-up")]
    for number in () if filling else drawing:
        yield Finding(
            (*place, "step", number, "salt"),
            "nothing, with no make-up step",
            "salt or permanganate by mass, or a make-up step that fills a brine tank",
            'salt = "12 kg", or [[stage.step]] with do = "make-up"',
        )
    for number in () if drawing else filling:
        yield Finding(
            (*place, "step", number, "do"),
            "a make-up with no regenerant that draws from its brine tank",
            "a make-up beside a regenerant without a mass of its own",
            "leaving the make-up out, or salt and permanganate out of the regenerant",
        )


def directions_agree(stage: StageTable, place: Path, _case: CaseFile) -> Findings:
    told = [(number, step.direction) for number, step in steps_of(stage, "regenerant") if step.direction]
    for number, direction in told[1:]:
        if direction != told[0][1]:
            yield Finding(
                (*place, "step", number, "direction"),
                f'"{direction}" behind "{told[0][1]}"',
                "one direction for all regenerants of a stage",
                "the same direction, or leaving one out",
            )


def store_is_for_something(stage: StageTable, place: Path, _case: CaseFile) -> Findings:
    """A store needs a regenerant, and something in it to be made up again."""
    store = stage.store
    if store is None:
        return
    if not steps_of(stage, "regenerant"):
        yield Finding(
            (*place, "store"),
            "a store without a regenerant",
            "a store for a regenerant step of the stage",
            '[[stage.step]] with do = "regenerant", or leaving the store out',
        )
    elif store.refilled is not None and store.salt is None and store.permanganate is None:
        yield Finding(
            (*place, "store", "refilled"),
            "refilled without salt or permanganate",
            "how much there is, beside how often it is made up again",
            'salt = "200 kg" beside it, or leaving it out: what has no mass never runs out',
        )


def step_has_its_chemicals(step: StepTable, place: Path) -> Findings:
    """Only a regenerant brings salt or permanganate, one of the two, and has a direction."""
    for key in ("salt", "permanganate", "direction"):
        if step.do != "regenerant" and getattr(step, key) is not None:
            yield Finding((*place, key), f"{key} for {step.do}", f"{key} for a regenerant only", "leaving it out")
    if step.do == "regenerant" and step.salt is not None and step.permanganate is not None:
        given = "permanganate beside salt"
        yield Finding((*place, "permanganate"), given, "one of the two", "a regenerant step for each")


def uptake_belongs_to_the_medium(layer: LayerTable, _stage: StageTable, place: Path, _case: CaseFile) -> Findings:
    for key, media in MEDIA.items():
        if getattr(layer, key) is not None and layer.medium not in media:
            allowed = f"{key} for {quoted(sorted(media))} only"
            yield Finding((*place, key), f"{key} for {layer.medium}", allowed, "leaving it out")
    if layer.half_length_rate is not None and layer.half_length is None:
        yield Finding(
            (*place, "half_length_rate"),
            "half_length_rate without half_length",
            "the rate that a half_length given beside it holds at",
            'half_length = "5 cm" beside it, or leaving it out',
        )


def capacity_suits_the_medium(layer: LayerTable, _stage: StageTable, place: Path, _case: CaseFile) -> Findings:
    """Resin has a table of salt, oxidising media a capacity in equivalents, carbon one in chlorine."""
    capacity = layer.capacity
    if capacity is None or layer.medium not in CHEMICAL:
        return
    place = (*place, "capacity")
    if layer.medium == "resin":
        if layer.capacity_factor is not None:
            given = "capacity_factor beside capacity"
            allowed = "one of the two: the factor is for the usual table"
            yield Finding((*place[:-1], "capacity_factor"), given, allowed, "leaving one out")
        if not isinstance(capacity, SaltTable):
            yield Finding(
                place,
                "one value for resin",
                "what doses of salt give, both for a volume of resin",
                '{ doses = ["100 kg/m3", "200 kg/m3"], gives = ["45 kg/m3", "65 kg/m3"] }',
            )
        return
    kind = CAPACITY.first if layer.medium == "oxidising media" else CAPACITY.second
    if not isinstance(capacity, Amount) or capacity.kind is not kind.kind:
        of = "equivalents of oxidant" if kind is CAPACITY.first else "chlorine that reacts with it"
        yield Finding(
            place,
            "a table of salt" if isinstance(capacity, SaltTable) else f"a {capacity.kind.name}",
            f"of {layer.medium} in {of}: {kind.allowed}",
            f"capacity = {kind.example}",
        )


def salt_table_is_sound(layer: LayerTable, _stage: StageTable, place: Path, _case: CaseFile) -> Findings:
    """Doses rise, capacities rise ever more slowly, and none lies above what its salt can exchange."""
    table = layer.capacity
    if not isinstance(table, SaltTable):
        return
    place = (*place, "capacity")
    if len(table.doses) != len(table.gives):
        yield Finding(
            (*place, "gives"),
            f"{len(table.gives)} of them for {len(table.doses)} doses",
            "one for each dose",
            "doses and gives in pairs, in the same order",
        )
        return
    points = list(zip(table.doses, table.gives, strict=True))
    for number, (dose, gives) in enumerate(points):
        most = dose / SALT_PER_HARDNESS
        if gives > most * (1.0 + SLACK):
            yield Finding(
                (*place, "gives", number),
                f"{_kg(gives)} of hardness for {_kg(dose)} of salt",
                f"up to {_kg(most)}: {SALT_PER_HARDNESS:.4g} g of salt exchange for a gram of hardness as CaCO3",
                "the units of both; capacities of resin as hardness, for a volume of resin",
            )
            return
    before, slope = (0.0, 0.0), math.inf
    for number, (less, more) in enumerate(pairwise([before, *points])):
        if more[0] <= less[0]:
            given, try_ = f"{_kg(more[0])} after {_kg(less[0])}", "the pairs in the order of their doses"
            yield Finding((*place, "doses", number), given, "doses that rise", try_)
            return
        next_slope = (more[1] - less[1]) / (more[0] - less[0])
        if next_slope < 0.0:
            given = f"{_kg(more[1])} after {_kg(less[1])}"
            yield Finding((*place, "gives", number), given, "no less than at the dose before", "what was measured")
            return
        if next_slope > slope * (1.0 + SLACK):
            yield Finding(
                (*place, "gives", number),
                f"{_kg(more[1])} for {_kg(more[0])} of salt, more for each further gram of salt than before",
                f"up to {_kg(less[1] + slope * (more[0] - less[0]))}: more salt restores ever less for each gram",
                "a table of one source and one resin; or leaving out the point that is low",
            )
            return
        slope = next_slope


def _kg(value: float) -> str:
    return f"{value / GRAMS_PER_KILOGRAM:.4g} kg/m3"


OF_CASE = (limits_can_be_judged, known_run_has_no_floc)
OF_STAGE = (dosing_is_whole, regenerant_has_its_source, directions_agree, store_is_for_something)
OF_STEP = (step_has_its_chemicals,)
OF_LAYER = (uptake_belongs_to_the_medium, capacity_suits_the_medium, salt_table_is_sound)
