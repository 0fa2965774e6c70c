"""A plain fixed-step twin of a train that treats what is dissolved, written apart from the product.

Small ticks, beds in cells, every quantity a number a species: SI units, g/m3, g, m3, s. Each cell takes up in a tick
what its use at the tick's start lets it: dU/dt = v lambda (1 - U/N0) C. Its own choices, where physics leaves one:

- a regeneration acts on the bed as a whole as its step begins; salt that is not used and what the bed gives up come
  evenly over the step into the vessel's water, which it stirs and the steps behind displace, and no bed takes
  anything of that brine;
- wash water from below passes the bed before it comes to the stirred water above;
- oxidant that comes to oxidising media meets the metal first, in equivalents, all kinds alike;
- chlorine takes up carbon's capacity whatever its kind.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from math import exp, inf, log
from typing import NamedTuple

import numpy as np

from .layout import whole_ticks
from .spec import HOUR, Floats, Trigger
from .vectorised import Watch, left_in_tanks

SPECIES = (
    "hardness", "iron", "manganese", "sulphide", "ammonia", "free_chlorine", "combined_chlorine", "permanganate",
    "salt", "floc", "floc iron", "fine floc", "fine floc iron",
)  # fmt: skip
HARDNESS, IRON, MANGANESE, SULPHIDE, AMMONIA, FREE, COMBINED, PERMANGANATE, SALT = range(9)
FLOC, FLOC_IRON, FINE, FINE_IRON = range(9, 13)
NONE = np.zeros(len(SPECIES))
OXIDANT_ON_CARBON = np.array([float(name in ("free_chlorine", "combined_chlorine")) for name in SPECIES])
DISSOLVED = np.array([float("floc" not in name) for name in SPECIES])

# Standard atomic weights, IUPAC abridged values, g/mol.
H, C, OX, NA, S, CL, K, CA, MN, FE = 1.008, 12.011, 15.999, 22.990, 32.06, 35.45, 39.098, 40.078, 54.938, 55.845
LIME, PURPLE, FOUL = CA + C + 3 * OX, K + MN + 4 * OX, 2 * H + S
EACH_CHLORINE, EACH_PURPLE = 2 / (2 * CL), 3 / PURPLE  # equivalents per g
EACH_IRON, EACH_MANGANESE = 1 / FE, 2 / MN
EACH_SULPHIDE = {"sulphur": 2 / FOUL, "sulphate": 8 / FOUL}
IRON_FLOC, MANGANESE_FLOC, PURPLE_FLOC = (FE + 3 * (OX + H)) / FE, (MN + 2 * OX) / MN, (MN + 2 * OX) / PURPLE
SULPHUR_FLOC = {"sulphur": S / FOUL, "sulphate": 0.0}
HARDNESS_FOR = {IRON: LIME / FE, MANGANESE: LIME / MN}  # g CaCO3 per g
SALT_USED = 2 * (NA + CL) / LIME  # g per g of hardness that it sets free


@dataclass(frozen=True, kw_only=True)
class Medium:
    """One layer. `capacity` in g CaCO3, equivalents or g Cl2 per m3; `half_length` m at `reference_rate` m/s."""

    depth: float
    porosity: float
    coefficient: float = 0.0  # 1/m, of floc in a clean bed
    ultimate: float = inf  # g/m3 of floc
    kind: str = "grains"  # or "resin", "oxidising", "carbon"
    capacity: float = inf
    half_length: float = inf
    combined_half_length: float = inf
    reference_rate: float = 1.0
    leakage: float = 0.0
    fouling: float = 0.0
    doses: tuple[float, ...] = ()  # g of salt per m3 of resin
    capacities: tuple[float, ...] = ()  # g CaCO3 per m3
    free_at_start: float | None = None  # of the capacity, in its unit; None: all of it
    sulphide_to: str = "sulphur"


@dataclass(frozen=True, kw_only=True)
class WashStep:
    """One step; `raw` says whether a backwash takes raw water, else it is free of everything."""

    do: str
    seconds: float
    flow: float = 0.0
    raw: bool = False
    cleaning_rate: float = 0.0  # 1/s
    salt: float | None = None
    permanganate: float | None = None


@dataclass(frozen=True, kw_only=True)
class Treatment:
    """One stage, its `vessels` equal: with two the second takes over when the first washes."""

    name: str
    area: float
    height: float
    media: tuple[Medium, ...]
    steps: tuple[WashStep, ...]
    trigger: Trigger
    product: str | None = None
    dose: float = 0.0
    sulphide_to: str = "sulphur"
    fine: float = 0.0  # share of the floc formed that nothing stops
    blend: float = 0.0
    limits: dict[str, float] = field(default_factory=dict)  # g/m3; "oxidant": all of it as chlorine
    tanks: int = 3
    underdrain: float = 0.0
    vessels: int = 1
    passes_raw: bool = False
    solubility: float | None = None  # g/m3, where make-up dissolves the salt
    dissolving: float = 1.0  # s
    cells: int = 6  # what a cell lets through follows from what it holds, however that lies: few will do

    @property
    def pores(self) -> float:
        return self.area * sum(medium.depth * medium.porosity for medium in self.media) + self.underdrain

    @property
    def water(self) -> float:
        return self.area * (self.height - sum(medium.depth for medium in self.media)) + self.pores


@dataclass(frozen=True, kw_only=True)
class TreatmentTrain:
    """Stages in series, what is asked of them and what comes: one value, or one row, an hour."""

    stages: tuple[Treatment, ...]
    length: float
    flow: Floats  # m3/s
    feed: Floats  # g/m3, a column for each of SPECIES


class Dosed(NamedTuple):
    """What a dose makes of water, g/m3."""

    water: Floats
    added: Floats
    floc: float
    gone: Floats  # of every species, for good


def spend(water: Floats, reduced: int, oxidant: int, need: float) -> float:
    """Let an oxidant meet what it oxidises, in place; return how much of that is gone."""
    done = min(water[reduced], water[oxidant] / need)
    water[reduced] -= done
    water[oxidant] = max(water[oxidant] - done * need, 0.0)
    return float(done)


def dosed(stage: Treatment, water: Floats) -> Dosed:
    """Dose and convert: sulphide, iron, manganese in that order; chlorine leaves manganese alone."""
    if stage.product is None:
        return Dosed(water, NONE, 0.0, NONE)
    oxidant, each = (FREE, EACH_CHLORINE) if stage.product == "chlorine" else (PERMANGANATE, EACH_PURPLE)
    added = NONE.copy()
    added[oxidant] = stage.dose
    after = water + added
    sulphide = spend(after, SULPHIDE, oxidant, EACH_SULPHIDE[stage.sulphide_to] / each)
    iron = spend(after, IRON, oxidant, EACH_IRON / each)
    manganese = spend(after, MANGANESE, oxidant, EACH_MANGANESE / each) if oxidant == PERMANGANATE else 0.0
    floc = sulphide * SULPHUR_FLOC[stage.sulphide_to] + iron * IRON_FLOC + manganese * MANGANESE_FLOC
    gone = water + added - after
    if oxidant == PERMANGANATE:
        floc += float(gone[PERMANGANATE]) * PURPLE_FLOC
    after[FLOC] += (1.0 - stage.fine) * floc
    after[FINE] += stage.fine * floc
    after[FLOC_IRON] += (1.0 - stage.fine) * iron
    after[FINE_IRON] += stage.fine * iron
    return Dosed(after, added, floc, gone)


def salt_gives(medium: Medium, dose: float) -> float:
    """Capacity that a dose restores of a spent bed, g CaCO3 per m3."""
    return float(np.interp(dose, (0.0, *medium.doses), (0.0, *medium.capacities)))


def dose_that_gives(medium: Medium, capacity: float) -> float:
    """The least dose that restores a capacity."""
    doses, capacities = (0.0, *medium.doses), (0.0, *medium.capacities)
    return float(np.interp(capacity, capacities, doses))


def kept_by_cells(optical: Floats) -> Floats:
    """Share that each cell keeps, of what came to the first, by its own lambda times depth."""
    leaving = np.exp(-np.cumsum(optical))
    kept = -leaving
    kept[0] += 1.0
    kept[1:] += leaving[:-1]
    return kept


class Bed:
    """One layer's cells: floc, and what it has taken up by species and in all, g/m2 or equivalents per m2."""

    def __init__(self, medium: Medium, cells: int) -> None:
        self.medium, self.dz = medium, medium.depth / cells
        self.taken = np.zeros((len(SPECIES), cells))
        self.used = np.zeros(cells)
        self.locked = NONE.copy()  # g/m2 that nothing gives back
        self.room = medium.capacity * self.dz
        if medium.free_at_start is not None:
            self.used += (medium.capacity - medium.free_at_start) * self.dz
            self.taken[HARDNESS] = self.used
        self.first = self.taken.copy()

    def stopped(self, half_length: float, rate: float) -> Floats:
        """Share that each cell keeps, of what came to the first."""
        strength = log(2.0) / half_length * self.medium.reference_rate / rate * self.dz
        return kept_by_cells(strength * np.maximum(1.0 - self.used / self.room, 0.0))

    def stop(self, load: Floats, species: int, stopped: Floats, most: float | None = None) -> Floats | float:
        """Let the cells keep one species; its gains. `most`: of the load, that which they may keep."""
        offered = load[species] if most is None else most
        if offered == 0.0:
            return 0.0
        gain = offered * stopped
        self.taken[species] += gain
        load[species] -= gain.sum()
        return gain

    def pass_on(self, load: Floats, rate: float) -> tuple[Floats, float, Floats]:
        """Filter a load, g/m2: what leaves, the solids that the medium forms of it, what is gone for good."""
        out, medium = load.copy(), self.medium
        if medium.coefficient > 0.0 and out[FLOC] > 0.0:
            free = np.maximum(1.0 - self.taken[FLOC] / (medium.ultimate * self.dz), 0.0)
            floc = kept_by_cells(medium.coefficient * self.dz * free)
            self.stop(out, FLOC, floc)
            self.stop(out, FLOC_IRON, floc)
        if medium.kind == "resin":
            self.soften(out, rate)
        elif medium.kind == "oxidising":
            return self.oxidise(out, rate)
        elif medium.kind == "carbon":
            before = out.copy()
            free, combined = (
                self.stopped(length, rate) for length in (medium.half_length, medium.combined_half_length)
            )
            self.used = self.used + self.stop(out, FREE, free) + self.stop(out, COMBINED, combined)
            return out, 0.0, (before - out) * OXIDANT_ON_CARBON
        return out, 0.0, NONE

    def soften(self, out: Floats, rate: float) -> None:
        """Hardness and metals, one profile for all; of the hardness a share leaks."""
        stopped = self.stopped(self.medium.half_length, rate)
        offered = (1.0 - self.medium.leakage) * out[HARDNESS]
        hardness = self.stop(out, HARDNESS, stopped, offered)
        self.used = self.used + hardness
        for k, each in HARDNESS_FOR.items():
            metal = self.stop(out, k, stopped)
            self.used = self.used + each * metal
            self.locked[k] += self.medium.fouling * float(np.sum(metal))

    def oxidise(self, out: Floats, rate: float) -> tuple[Floats, float, Floats]:
        """Oxidant meets metal first; a lack is taken from the capacity, a surplus given back to it."""
        before, medium = out.copy(), self.medium
        metals = {IRON: EACH_IRON, MANGANESE: EACH_MANGANESE, SULPHIDE: EACH_SULPHIDE[medium.sulphide_to]}
        oxidants = {FREE: EACH_CHLORINE, COMBINED: EACH_CHLORINE, PERMANGANATE: EACH_PURPLE}
        lack = sum(out[k] * each for k, each in metals.items())
        have = sum(out[k] * each for k, each in oxidants.items())
        met = min(lack, have)
        restored = min(have - met, float(self.used.sum()))
        for k in oxidants:
            out[k] -= out[k] * (met + restored) / have if have > 0.0 else 0.0
        if restored > 0.0:
            self.used = self.used * (1.0 - restored / self.used.sum())
        kept = 1.0 - met / lack if lack > 0.0 else 1.0
        for k in metals:
            out[k] *= kept
        stopped = self.stopped(medium.half_length, rate)
        for k, each in metals.items():
            gain = out[k] * stopped
            self.used = self.used + each * gain
            out[k] -= gain.sum()
        gone = before - out
        solids = gone[IRON] * IRON_FLOC + gone[MANGANESE] * MANGANESE_FLOC
        solids += gone[SULPHIDE] * SULPHUR_FLOC[medium.sulphide_to] + gone[PERMANGANATE] * PURPLE_FLOC
        self.taken[FLOC] += solids / self.used.size
        self.taken[FLOC_IRON] += gone[IRON] / self.used.size
        return out, float(solids), gone

    def loosen(self, kept: float) -> Floats:
        """Backwash floc off the grains; what comes loose, g/m2."""
        loose = NONE.copy()
        for k in (FLOC, FLOC_IRON):
            loose[k] = (1.0 - kept) * self.taken[k].sum()
            self.taken[k] *= kept
        return loose

    def mix(self) -> None:
        """Stir the layer: everything lies evenly afterwards."""
        self.taken = np.repeat(self.taken.mean(axis=1, keepdims=True), self.used.size, axis=1)
        self.used = np.full(self.used.size, self.used.mean())

    def regenerate(self, salt: float, purple: float) -> tuple[Floats, Floats]:
        """Restore by salt and permanganate, g/m2: what the water then holds of both and of what was given up, and
        what was used up of them."""
        medium, used = self.medium, float(self.used.sum())
        water, spent = NONE.copy(), NONE.copy()
        water[SALT], water[PERMANGANATE] = salt, purple
        if medium.kind == "resin" and salt > 0.0:
            most = medium.capacity * medium.depth
            dose = dose_that_gives(medium, (most - used) / medium.depth) + salt / medium.depth
            lost = sum(each * float(self.locked[k]) for k, each in HARDNESS_FOR.items())
            left = max(most - max(salt_gives(medium, dose) * medium.depth, most - used), lost)
            gain = max(used - left, 0.0)
            share = gain / (used - lost) if used > lost else 0.0
            for k in (HARDNESS, *HARDNESS_FOR):
                held = self.taken[k].sum()
                water[k] = share * (held - self.locked[k])
                self.taken[k] *= 1.0 - water[k] / held if held > 0.0 else 1.0
            self.used = self.used * (left / used if used > 0.0 else 1.0)
            spent[SALT] = SALT_USED * gain
        if medium.kind == "oxidising" and purple > 0.0:
            gain = min(used, purple * EACH_PURPLE)
            self.used = self.used * (1.0 - gain / used if used > 0.0 else 1.0)
            spent[PERMANGANATE] = gain / EACH_PURPLE
            self.taken[FLOC] += spent[PERMANGANATE] * PURPLE_FLOC / self.used.size
        return water - spent, spent

    def free(self) -> float:
        """What it can still take up, per m2."""
        return self.medium.capacity * self.medium.depth - float(self.used.sum())


@dataclass
class Totals:
    """What a stage has moved: g by species, m3, s, counts."""

    came: Floats = field(default_factory=NONE.copy)
    added: Floats = field(default_factory=NONE.copy)
    served: Floats = field(default_factory=NONE.copy)
    drained: Floats = field(default_factory=NONE.copy)
    converted: Floats = field(default_factory=NONE.copy)
    formed: float = 0.0
    treated: float = 0.0
    water: dict[str, float] = field(default_factory=dict)  # to drain, by step
    salt: float = 0.0
    permanganate: float = 0.0
    regenerations: int = 0
    without: int = 0
    washes: int = 0
    offline: float = 0.0
    over: dict[str, float] = field(default_factory=dict)
    free_at_wash: list[float] = field(default_factory=list)  # share of what was free on the return to service


def washed_out(passed: float, end: float, volume: float, tanks: int) -> float:
    """Of the `volume` of water present at first, the m3 that leave between two volumes passed."""
    return left_in_tanks(passed, volume, tanks) - left_in_tanks(end, volume, tanks)


class Vessel:
    """One vessel: its beds, its water, and how far its wash has come."""

    def __init__(self, stage: Treatment, total: Totals) -> None:
        self.stage, self.total = stage, total
        self.beds = [Bed(medium, stage.cells) for medium in stage.media]
        self.held = NONE.copy()  # g in its water
        self.remnant: Floats | None = None
        self.brine = False  # whether that is what a regenerant left
        self.passed = 0.0
        self.coming = NONE  # g/s that a regenerant under way brings into its water
        self.step, self.left = -1, 0
        self.watch = Watch(stage.trigger, 0.0)
        self.returned = 0.0
        self.free_on_return = self.free()

    def free(self) -> float | None:
        """What the first bed that a wash can restore can still take up, per m2; None without one."""
        return next((bed.free() for bed in self.beds if bed.medium.kind in ("resin", "oxidising")), None)

    def take(self, volume: float, water: Floats, tick: float) -> Floats:
        """Treat a tick's water; the grams that leave."""
        stage = self.stage
        came = volume * water
        offered, direct = came, NONE
        if self.remnant is not None:
            end = self.passed + volume
            away = washed_out(self.passed, end, stage.water, stage.tanks)
            below = away if self.brine else washed_out(self.passed, end, stage.pores, stage.tanks)
            direct = self.remnant * below
            offered = self.remnant * (away - below) + came * (volume - away) / volume
            self.held = self.held + came - offered - direct
            if end > 20.0 * stage.water:
                self.remnant = None
        self.passed += volume
        return self.through(offered, volume / tick / stage.area) + direct

    def through(self, grams: Floats, rate: float) -> Floats:
        """Pass grams through the beds, top first."""
        area = self.stage.area
        load = grams / area
        for bed in self.beds:
            load, solids, gone = bed.pass_on(load, rate)
            self.total.formed += area * solids
            self.total.converted = self.total.converted + area * gone
        return area * load

    def backwash(self, step: WashStep, raw: Floats, tick: float) -> None:
        """A tick of upward flow: what the water carries meets the bed, then the stirred water of the vessel."""
        volume, area = step.flow * tick, self.stage.area
        carried = volume * raw if step.raw else NONE
        self.total.came = self.total.came + carried
        arriving = self.through(carried, step.flow / area) if step.raw else NONE
        kept = exp(-step.cleaning_rate * tick)
        arriving = arriving + area * sum(bed.loosen(kept) for bed in self.beds)
        self.stir(arriving, volume / self.stage.water)

    def regenerate(self, step: WashStep, salt: float, purple: float) -> None:
        """A step of regenerant begins: what it does to the beds, and what it will bring into the vessel's water."""
        area, total = self.stage.area, self.total
        total.regenerations += 1
        total.salt += salt
        total.permanganate += purple
        total.came = total.came + np.array([{SALT: salt, PERMANGANATE: purple}.get(k, 0.0) for k in range(13)])
        restored, left = False, np.array([salt, purple]) / area
        self.coming = NONE.copy()
        for bed in self.beds:
            water, spent = bed.regenerate(float(left[0]), float(left[1]))
            left = np.array([water[SALT], water[PERMANGANATE]])
            restored = restored or bool(spent.any())
            water[SALT] = water[PERMANGANATE] = 0.0
            self.coming = self.coming + area * water
            total.converted = total.converted + area * spent
            total.formed += area * float(spent[PERMANGANATE]) * PURPLE_FLOC
        self.coming[SALT] += area * left[0]
        self.coming[PERMANGANATE] += area * left[1]
        self.coming = self.coming / step.seconds
        total.without += not restored

    def stir(self, arriving: Floats, turnovers: float) -> None:
        """Grams come evenly into stirred water, while so many times of it leave."""
        before = self.held
        self.held = before * exp(-turnovers) + arriving * (1.0 - exp(-turnovers)) / turnovers
        self.total.drained = self.total.drained + before + arriving - self.held

    def settle_water(self, *, brine: bool = False) -> None:
        """What the vessel's water holds is now a remnant to be displaced."""
        self.remnant, self.passed, self.brine = self.held / self.stage.water, 0.0, brine


class Tank:
    """Brine: m3 of water, g of salt in it; it begins with the make-up of a wash, saturated."""

    def __init__(self, stage: Treatment) -> None:
        self.stage = stage
        self.volume = sum(step.flow * step.seconds for step in stage.steps if step.do == "make-up")
        self.salt = self.volume * (stage.solubility or 0.0)

    def fill(self, volume: float) -> None:
        self.volume += volume

    def dissolve(self, tick: float) -> None:
        """The lack of salt falls by the factor e in `dissolving`."""
        if self.stage.solubility is not None:
            most = self.stage.solubility * self.volume
            self.salt = most - (most - self.salt) * exp(-tick / self.stage.dissolving)

    def draw(self) -> float:
        """All of the salt that has dissolved, with all of its water."""
        drawn, self.volume, self.salt = self.salt, 0.0, 0.0
        return drawn


class March:
    """A train on its way through time."""

    def __init__(self, train: TreatmentTrain, tick: float) -> None:
        self.train, self.tick = train, tick
        self.totals = [Totals() for _ in train.stages]
        self.vessels = [
            [Vessel(stage, total) for _ in range(stage.vessels)]
            for stage, total in zip(train.stages, self.totals, strict=True)
        ]
        self.serving: list[int | None] = [0 for _ in train.stages]
        self.tanks = [Tank(stage) for stage in train.stages]
        self.unmet = self.exposure = self.peak = 0.0
        self.drawn = NONE.copy()

    def run(self) -> None:
        """From the start to the end."""
        for i in range(whole_ticks(self.train.length, self.tick, "run")):
            hour = int(i * self.tick // HOUR)
            self.advance(float(self.train.flow[hour]), self.train.feed[hour], (i + 1) * self.tick)

    def advance(self, asked: float, feed: Floats, now: float) -> None:
        """One tick, then what it starts or ends."""
        closed = any(
            place is None and not stage.passes_raw
            for place, stage in zip(self.serving, self.train.stages, strict=True)
        )
        flow = 0.0 if closed else asked
        self.unmet += (asked - flow) * self.tick
        self.send(flow, feed)
        for k in range(len(self.train.stages)):
            self.tanks[k].dissolve(self.tick)
            self.wash(k, feed, now)
        for k in range(len(self.train.stages)):
            self.watch(k, flow, now)

    def rinsing(self, k: int) -> tuple[Vessel, WashStep] | None:
        """The vessel of a stage that is drawing the stage's own feed, if there is one."""
        for vessel in self.vessels[k]:
            if vessel.step >= 0:
                step = self.train.stages[k].steps[vessel.step]
                if step.do in ("displacement", "rinse") and step.flow > 0.0:
                    return vessel, step
        return None

    def send(self, flow: float, feed: Floats) -> None:
        """Service and rinses through the train, stage by stage."""
        draws = [rinse[1].flow if (rinse := self.rinsing(k)) else 0.0 for k in range(len(self.train.stages))]
        water = feed
        if flow > 0.0 or any(draws):
            self.drawn = self.drawn + (flow + sum(draws)) * self.tick * feed
        for k, stage in enumerate(self.train.stages):
            through = flow + sum(draws[k:])
            if through <= 0.0:
                return
            total, volume = self.totals[k], through * self.tick
            total.came = total.came + volume * water
            made = dosed(stage, water)
            total.added = total.added + volume * made.added
            total.permanganate += float(volume * made.added[PERMANGANATE])
            total.converted = total.converted + volume * made.gone
            total.formed += volume * made.floc
            own = self.rinsing(k)
            if own is not None:
                vessel, step = own
                away = vessel.take(step.flow * self.tick, made.water, self.tick)
                total.drained = total.drained + away
                total.water[step.do] = total.water.get(step.do, 0.0) + step.flow * self.tick
            on = through - draws[k]
            if on > 0.0:
                water = self.treat(k, on, made.water)
            if flow > 0.0:
                total.treated += flow * self.tick
                if self.serving[k] is not None:
                    self.judge(k, water)
        if flow > 0.0:
            oxidant = self.as_chlorine(water)
            self.exposure += oxidant * self.tick
            self.peak = max(self.peak, oxidant)

    def treat(self, k: int, flow: float, water: Floats) -> Floats:
        """What one stage makes of water that goes on, g/m3."""
        place, stage, volume = self.serving[k], self.train.stages[k], flow * self.tick
        grams = volume * water
        if place is not None:
            round_it = stage.blend * DISSOLVED
            grams = self.vessels[k][place].take(volume, (1.0 - round_it) * water, self.tick) + round_it * grams
        self.totals[k].served = self.totals[k].served + grams
        return grams / volume

    @staticmethod
    def as_chlorine(water: Floats) -> float:
        return float(water[FREE] + water[COMBINED] + water[PERMANGANATE] * EACH_PURPLE / EACH_CHLORINE)

    def judge(self, k: int, water: Floats) -> None:
        """Count the time over each limit; a stage that water goes round is out of service."""
        found = {
            "hardness": water[HARDNESS],
            "iron": water[IRON] + water[FLOC_IRON] + water[FINE_IRON],
            "manganese": water[MANGANESE],
            "oxidant": self.as_chlorine(water),
        }
        over = self.totals[k].over
        for name, limit in self.train.stages[k].limits.items():
            over[name] = over.get(name, 0.0) + (self.tick if found[name] > limit else 0.0)

    def wash(self, k: int, feed: Floats, now: float) -> None:
        """A tick of every wash under way."""
        stage, total = self.train.stages[k], self.totals[k]
        for place, vessel in enumerate(self.vessels[k]):
            if vessel.step < 0:
                continue
            step = stage.steps[vessel.step]
            total.offline += self.tick
            if step.do == "backwash":
                self.drawn = self.drawn + (step.flow * self.tick * feed if step.raw else NONE)
                vessel.backwash(step, feed, self.tick)
            elif step.do == "regenerant":
                if vessel.left == self.ticks_of(step):
                    given = step.salt is not None or step.permanganate is not None
                    salt = step.salt or 0.0 if given else self.tanks[k].draw()
                    vessel.regenerate(step, salt, step.permanganate or 0.0)
                vessel.stir(vessel.coming * self.tick, step.flow * self.tick / stage.water)
            elif step.do == "make-up":
                self.tanks[k].fill(step.flow * self.tick)
            if step.do not in ("displacement", "rinse"):
                total.water[step.do] = total.water.get(step.do, 0.0) + step.flow * self.tick
            vessel.left -= 1
            if vessel.left == 0:
                self.end_step(k, place, step, now)

    def ticks_of(self, step: WashStep) -> int:
        return whole_ticks(step.seconds, self.tick, step.do)

    def end_step(self, k: int, place: int, step: WashStep, now: float) -> None:
        """What a step leaves, and the step after it."""
        stage, vessel = self.train.stages[k], self.vessels[k][place]
        if step.do == "backwash":
            for bed in vessel.beds:
                bed.mix()
            vessel.settle_water()
        elif step.do == "regenerant":
            vessel.settle_water(brine=True)
        vessel.step += 1
        if vessel.step < len(stage.steps):
            vessel.left = self.ticks_of(stage.steps[vessel.step])
            return
        vessel.step, vessel.returned, vessel.free_on_return = -1, now, vessel.free()
        self.totals[k].washes += 1
        if self.serving[k] is None:
            self.serving[k] = place

    def watch(self, k: int, flow: float, now: float) -> None:
        """Start what is due: the vessel in service washes, another takes over if one is ready."""
        place, stage = self.serving[k], self.train.stages[k]
        if place is None:
            return
        vessel = self.vessels[k][place]
        vessel.watch.treated += flow * self.tick
        if now >= self.train.length or not vessel.watch.starts(now, self.tick, 0.0, vessel.returned):
            return
        free = vessel.free()
        if free is not None and vessel.free_on_return:
            self.totals[k].free_at_wash.append(free / vessel.free_on_return)
        vessel.step, vessel.left = 0, self.ticks_of(stage.steps[0])
        ready = [other for other, each in enumerate(self.vessels[k]) if each.step < 0]
        self.serving[k] = ready[0] if ready else None


@dataclass(frozen=True, kw_only=True)
class DissolvedResult:
    """What one run came to; names and units are those of the product's results."""

    site: dict[str, float]
    ledgers: dict[str, dict[str, dict[str, float]]]  # kg, by stage, by species
    free_at_wash: dict[str, list[float]]


def run_dissolved(train: TreatmentTrain, tick: float = 30.0) -> DissolvedResult:
    """March a train in ticks of `tick` seconds."""
    march = March(train, tick)
    march.run()
    last, totals = march.totals[-1], march.totals
    steps = ("regenerant", "displacement", "make-up")
    drained = {do: sum(each.water.get(do, 0.0) for each in totals) for do in steps}
    site = {
        "washes": float(sum(each.washes for each in totals)),
        "treated_m3": last.treated,
        "unmet_m3": march.unmet,
        "downtime_h": sum(each.offline for each in totals) / HOUR,
        "regenerations": float(sum(each.regenerations for each in totals)),
        "regenerations_without": float(sum(each.without for each in totals)),
        "salt_kg": sum(each.salt for each in totals) / 1e3,
        "permanganate_kg": sum(each.permanganate for each in totals) / 1e3,
        "brine_m3": drained["regenerant"],
        "displacement_m3": drained["displacement"],
        "makeup_m3": drained["make-up"],
        "hardness_leak_kg": float(last.served[HARDNESS]) / 1e3,
        "oxidant_exposure_g_h_m3": march.exposure / HOUR,
        "oxidant_peak_mg_l": march.peak,
        "solids_formed_kg": sum(each.formed for each in totals) / 1e3,
        **{f"{name}_over_h": seconds / HOUR for name, seconds in last.over.items()},
    }
    return DissolvedResult(
        site=site,
        ledgers={
            stage.name: ledger_of(total, vessels)
            for stage, total, vessels in zip(train.stages, totals, march.vessels, strict=True)
        },
        free_at_wash={stage.name: total.free_at_wash for stage, total in zip(train.stages, totals, strict=True)},
    )


def ledger_of(total: Totals, vessels: list[Vessel]) -> dict[str, dict[str, float]]:
    """What a stage has done with every species, kg; held is what has come to be held since the start."""
    beds = sum(
        (vessel.stage.area * (bed.taken - bed.first).sum(axis=1) for vessel in vessels for bed in vessel.beds),
        start=NONE,
    )
    held = (1.0 - OXIDANT_ON_CARBON) * beds + sum((vessel.held for vessel in vessels), start=NONE)
    columns = {
        "in": total.came,
        "dosed": total.added,
        "to_service": total.served,
        "to_drain": total.drained,
        "held": held,
        "converted": total.converted,
    }
    return {name: {what: float(each[k]) / 1e3 for what, each in columns.items()} for k, name in enumerate(SPECIES)}


def ledger_error(result: DissolvedResult) -> float:
    """The largest share of any dissolved species not accounted for, at any stage."""
    worst = 0.0
    for ledger in result.ledgers.values():
        for name in SPECIES[:FLOC]:
            row = ledger[name]
            came = row["in"] + row["dosed"]
            gone = row["to_service"] + row["to_drain"] + row["held"] + row["converted"]
            worst = max(worst, abs(came - gone) / came if came > 0.0 else abs(gone))
    return worst
