"""From answers to filters with vessels, layers and washes: what is given, and what is usual for the rest."""

import math

from hydraulics import water
from hydraulics.constants import ERGUN_INERTIAL, ERGUN_VISCOUS
from hydraulics.expansion import expand_layer, sublayers
from hydraulics.media import CATALOGUE, sublayer_sizes
from sim.case.quantities import System
from sim.case.record import record
from sim.case.stage.layers import SUBLAYERS
from sim.case.units import DAY, FLOW, FOOT, HOUR, INCH, LENGTH, MINUTE
from sim.review.bands import bed_bands
from sim.write.answers import Answers
from sim.write.filters import FILTERS, FREE, HEIGHT, RINSE_VOLUMES, SETTLE_MINUTES, FilterKind
from sim.write.regenerating import Regeneration, by_batch, softening

FIRST_HOUR = 6
"""Of use, unless the hours of use need an earlier one."""

AFTER_USE, BETWEEN = 25 * MINUTE, 20 * MINUTE
"""From the end of use to the first wash, and from one filter's wash to the next."""

AROUND_THE_CLOCK = 22 * HOUR + 35 * MINUTE
"""Of the first wash where the hours of use leave no pause."""

SHORTEST_RINSE = 2.0  # min

RATES = 25
"""How many rates of a backwash are tried between the lowest and the highest that are usual."""

CLEAR = 0.005
"""Share by which an expansion keeps clear of what is no longer usual: the flow in the file is rounded."""


@record
class Filter:
    """One filter as it will stand in the file, SI: its name, with a number where its kind comes again; `washes_at`
    [s of the day].

    `heightened`: the vessel is higher than usual for the depth, so that the bed stays in it while it is washed.
    `solids_only`: what else it does is not known from the answers; `regeneration`: None where nothing restores it.
    """

    name: str
    kind: FilterKind
    layers: tuple[tuple[str, float], ...]
    height: float
    heightened: bool
    backwash: float
    backwash_capped: bool
    rinse_minutes: float
    washes_at: float
    solids_only: bool
    regeneration: Regeneration | None

    @property
    def wash_seconds(self) -> float:
        """How long it is out of service."""
        first, again = self.kind.backwash_minutes.typical, self.regeneration
        if again is None:
            return (first + SETTLE_MINUTES.typical + self.rinse_minutes) * MINUTE
        rinse = self.rinse_minutes if again.rinse is None else again.rinse.minutes
        return (first + SETTLE_MINUTES.typical + again.minutes + rinse) * MINUTE


def plan_of(answers: Answers) -> tuple[Filter, ...]:
    """The filters of the train, their washes staggered."""
    filters: list[Filter] = []
    at = first_wash(answers.hours)
    for place, name in enumerate(names_of(answers.train)):
        planned = _filter(name, place, answers, at)
        filters.append(planned)
        at = (at + _next_five(planned.wash_seconds + BETWEEN)) % DAY
    return tuple(filters)


def names_of(train: tuple[str, ...]) -> tuple[str, ...]:
    """The names of the filters: their kind, with a number where it comes more than once.

    >>> names_of(("media", "media", "carbon"))
    ('media 1', 'media 2', 'carbon')
    """
    count: dict[str, int] = {}
    names = []
    for kind in train:
        count[kind] = count.get(kind, 0) + 1
        names.append(f"{kind} {count[kind]}" if train.count(kind) > 1 else kind)
    return tuple(names)


def first_hour(hours: int) -> int:
    """The hour of the day at which use begins."""
    return min(FIRST_HOUR, 24 - hours)


def first_wash(hours: int) -> float:
    """When the first filter of a train may be washed [s of the day]: soon after the hours of use."""
    if hours == 24:
        return AROUND_THE_CLOCK
    return ((first_hour(hours) + hours) * HOUR + AFTER_USE) % DAY


def _next_five(seconds: float) -> float:
    return math.ceil(seconds / (5 * MINUTE)) * 5 * MINUTE


def doses_here(answers: Answers, place: int) -> bool:
    """Whether an oxidant is dosed ahead of the filter at a place: the first with oxidising media."""
    return bool(answers.oxidant.product) and place == answers.train.index("oxidising")


def dose_known(answers: Answers) -> bool:
    """Whether so much is known of the oxidant that a run can follow it: its dose, or the contact and pH of air."""
    return bool(answers.oxidant.amount) and (answers.oxidant.product != "air" or answers.pH is not None)


def oxidant_reaches(answers: Answers, place: int) -> bool:
    """Whether the water of a filter is known to bring free chlorine, or a run doses it with that or permanganate."""
    dosed = answers.oxidant.product != "air" and dose_known(answers)
    return answers.chlorine is not None or (dosed and place >= answers.train.index("oxidising"))


def _solids_only(answers: Answers, place: int) -> bool:
    match answers.train[place]:
        case "softener":
            return answers.hardness is None
        case "oxidising":
            return answers.iron is None and answers.manganese is None
        case "carbon":
            return not oxidant_reaches(answers, place)
    return False


def _regeneration(answers: Answers, place: int, bed: float) -> Regeneration | None:
    if _solids_only(answers, place):
        return None
    if answers.train[place] == "softener":
        return softening(bed, answers.flow.value)
    if answers.train[place] == "oxidising" and answers.permanganate is not None:
        return by_batch(bed, answers.permanganate.text)
    return None


def _filter(name: str, place: int, answers: Answers, at: float) -> Filter:
    kind = FILTERS[answers.train[place]]
    share = 1.0 if answers.depth is None else answers.depth.value / kind.depth
    layers = tuple(
        (medium, depth.typical * share if answers.depth else _whole(depth.typical, answers.units))
        for medium, depth in kind.layers
    )
    bed = math.fsum(depth for _, depth in layers)
    backwash, capped = _backwash(kind, layers, answers)
    usual = HEIGHT.typical * bed
    needed = _expanded(layers, backwash / answers.area, answers.temperature.coldest) + FREE
    height = _rounded_up(max(usual, needed), answers.units)
    return Filter(
        name=name,
        kind=kind,
        layers=layers,
        height=height,
        heightened=needed > usual,
        backwash=backwash,
        backwash_capped=capped,
        rinse_minutes=_rinse_minutes(layers, height, answers),
        washes_at=at,
        solids_only=_solids_only(answers, place),
        regeneration=_regeneration(answers, place, answers.area * bed),
    )


def _expanded(layers: tuple[tuple[str, float], ...], rate: float, temperature: float) -> float:
    """Height of the bed [m] under a backwash [m/s] in water of a temperature, each medium as the catalogue has it."""
    mu, rho = water.viscosity(temperature), water.density(temperature)
    height = 0.0
    for name, depth in layers:
        medium = CATALOGUE[name]
        sizes = sublayer_sizes(medium.size.value, medium.uniformity.value, SUBLAYERS)
        grains = sublayers(
            depth, sizes, sphericity=medium.sphericity.value, porosity=medium.porosity.value,
            grain_density=medium.grain_density.value,
        )  # fmt: skip
        lifted = expand_layer(rate, mu, rho, grains, viscous=ERGUN_VISCOUS, inertial=ERGUN_INERTIAL, form="ergun")
        height += lifted.height
    return height


def _whole(depth: float, system: System) -> float:
    """A depth in whole centimetres or inches [m]."""
    step = INCH if system == "us" else LENGTH.units["cm"].factor
    return round(depth / step) * step


def _rounded_up(height: float, system: System) -> float:
    """A height in whole decimetres or half feet [m], up."""
    step = 0.5 * FOOT if system == "us" else 0.1
    return math.ceil(height / step) * step


def _backwash(kind: FilterKind, layers: tuple[tuple[str, float], ...], answers: Answers) -> tuple[float, bool]:
    """Flow [m3/s], and whether the media allow less than what is given."""
    usual, area = kind.backwash_rate, answers.area
    if answers.backwash is None:
        return _lifting(kind, layers, answers) * area, False
    most = usual.high * area
    least = FLOW.units["L/h"].factor  # the least that a case takes
    return max(min(answers.backwash.value, most), least), answers.backwash.value > most


def _lifting(kind: FilterKind, layers: tuple[tuple[str, float], ...], answers: Answers) -> float:
    """The rate [m/s] nearest to the typical one, of those that are usual, that lifts the bed enough in the warmest
    water and not too far in the coldest."""
    usual, band = kind.backwash_rate, bed_bands([medium for medium, _ in layers]).expansion
    depth, warmth = math.fsum(depth for _, depth in layers), answers.temperature
    assert band.low is not None
    assert band.high is not None
    least, most = (1.0 + band.low + CLEAR) * depth, (1.0 + band.high - CLEAR) * depth

    def off(rate: float) -> tuple[float, float]:
        too_little = max(least - _expanded(layers, rate, warmth.warmest), 0.0)
        too_far = max(_expanded(layers, rate, warmth.coldest) - most, 0.0)
        return too_little + too_far, abs(rate - usual.typical)

    steps = ((i + 1) / (RATES + 1) for i in range(RATES))
    return min((usual.typical, *(usual.low + each * (usual.high - usual.low) for each in steps)), key=off)


def _rinse_minutes(layers: tuple[tuple[str, float], ...], height: float, answers: Answers) -> float:
    """Whole minutes in which the rinse displaces the vessel's water the usual number of times."""
    grains = math.fsum(depth * (1.0 - CATALOGUE[medium].porosity.value) for medium, depth in layers)
    volume = RINSE_VOLUMES.typical * answers.area * (height - grains)
    return max(math.ceil(volume / answers.flow.value / MINUTE), SHORTEST_RINSE)
