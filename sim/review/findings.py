"""A finding of the review: a figure of the design, the band it is held against, and which advice follows.

It has no words: `sim.tell.review` says it by its name, what it names and its advice.
"""

from collections.abc import Iterator
from math import isclose
from typing import Final, Literal, TypedDict, Unpack

from sim.case.chemistry.records import Product
from sim.case.quantities import Quantity
from sim.case.record import record
from sim.case.series.records import Oxidant
from sim.case.stage.records import Stage

Level = Literal["stop", "look", "fine"]
Side = Literal["below", "above"]
Water = Literal["coldest", "warmest", "steady"]
Taker = Literal["drain", "sump"]
Spike = Literal["unit start", "valve"]
Useless = Literal["rinse first", "settle first", "settle after", "regenerant", "displacement", "make-up"]
Stored = Literal["salt", "permanganate"]
Bed = Literal["carbon", "oxidising media", "resin"]

FindingName = Literal[
    "air_gap_unknown", "no_air_gap", "air_gap_stated", "air_gap_height", "drain_unknown", "drain_flow",
    "drain_speed", "raw_backwash", "backwash_reached", "flow_over_service", "shared_line_pressure",
    "restrictor_pressure", "restrictor_flow", "unheld_freeboard", "dose_left_out", "dose_growth_typical",
    "membrane_unknown", "oxidant_reaches", "oxidant_unknown", "no_oxidant", "carbon_alone", "unit_product",
    "tank_on_a_long_day", "solids_to_unit", "cartridge_lasts", "unit_without_water", "raw_water_sent_on",
    "tank_while_washing", "hold_against_run", "pump_leaves", "set_point_never_met", "set_point_against_pump",
    "clocks_meet", "least_spacing", "washes_share_time", "starts_too_near", "vessels_at_one_hour", "hour_is_closed",
    "flow_at_once", "backwashes_at_once", "washes_a_day", "sump_in_a_day", "filtration_rate", "rate_without_a_vessel",
    "rate_while_another_washes", "clean_pressure", "bed_depth", "grain_size", "contact_time", "reynolds",
    "pressure_unrated", "pressure_at_rest", "set_point_over_rating", "set_point_against_clean", "set_point",
    "set_point_against_supply", "spike", "backwash_rate", "backwash_volume", "expansion", "expansion_otherwise",
    "never_lifted", "lifting_rate", "mixing", "freeboard", "finest_grains", "lifted_under_air", "no_rinse",
    "rinse_volumes", "useless_step", "settle_time", "longest_run", "no_longest_run", "rounded_interval",
    "run_loading", "washwater_share", "solids_before_wash", "known_constant", "oxidant_at_unit",
    "oxidant_without_a_vessel", "only_solids", "carbon_first", "softener_first", "acidity",
    "manganese_stays", "ammonia_unknown", "oxidant_to_resin", "media_unrestored", "contact_without_a_vessel",
    "no_salt", "salt_capacity", "salt_efficiency", "brine_strength", "brine_drawn", "displacement_volume",
    "softener_rinse", "volume_beyond_capacity", "store_lasts",
]  # fmt: skip

Advice = Literal[
    "do", "below", "above", "kept", "again", "watch", "overflow", "idle", "late", "needed", "fed",
]  # fmt: skip
"""Which of the advice of its name: `do` without a figure, `below` or `above` the band, or a variant of these.

`kept`: none, since all there is would lengthen a run or shorten a wash where people may drink the water.
"""

Source = Literal[
    "practice", "memory", "davis", "pressure_filters", "trussell", "wisconsin", "softeners", "mixing", "laminar",
    "air_gap", "lifting", "coarsest", "finest", "second_law", "orifice", "restrictor", "asked", "rating", "drain",
    "supply", "shared_line", "clean_bed", "clean_beds", "pump", "spikes", "hours", "limit", "calendar", "interval",
    "site_hours", "most_a_day", "vessels", "mean_demand", "long_day", "feed_limit", "held", "tank", "levels",
    "chlorine_limit", "carbon_rates", "ten_states", "stoichiometry", "solubility", "brine_tank", "capacity", "store",
    "run", "clocks",
]  # fmt: skip


@record
class Cited:
    """A source in the words of the catalogue that has the figure."""

    text: str


ROUNDING: Final = 1e-9
"""A figure so near to a bound lies on it."""


@record
class Band:
    """What is usual, from `low` to `high` (None: no bound), and who says so."""

    low: float | None = None
    high: float | None = None
    source: Source | Cited = "practice"

    def side(self, value: float) -> Side | None:
        """On which side of the band a value lies; None within."""
        if self.low is not None and value < self.low and not isclose(value, self.low, rel_tol=ROUNDING):
            return "below"
        if self.high is not None and value > self.high and not isclose(value, self.high, rel_tol=ROUNDING):
            return "above"
        return None


def at_least(low: float, source: Source = "practice") -> Band:
    """A band with no upper bound."""
    return Band(low=low, source=source)


def at_most(high: float, source: Source = "practice") -> Band:
    """A band with no lower bound."""
    return Band(high=high, source=source)


class Facts(TypedDict, total=False):
    """What a finding names: names of the case, media, steps, and which of the variants of its words holds."""

    way: str
    one: str
    other: str
    constant: str
    medium: str
    below_it: str
    oxidant: Oxidant
    water: Water
    taker: Taker
    spike: Spike
    useless: Useless
    bed: Bed
    dosed: Product
    stored: Stored


@record
class Finding:
    """One thing that the review has looked at.

    stage: None for the site; value and band: in the SI unit of `measure`, None where there is none; advice: what to
    do, None where nothing is to be done.
    """

    name: FindingName
    level: Level
    stage: str | None
    facts: Facts
    measure: Quantity | None = None
    value: float | None = None
    band: Band = Band()
    advice: Advice | None = None


Findings = Iterator[Finding]


def noted(
    name: FindingName,
    level: Level,
    stage: Stage | None,
    advice: Advice | None = "do",
    source: Source = "practice",
    **facts: Unpack[Facts],
) -> Finding:
    """What has no figure."""
    where = None if stage is None else stage.name
    return Finding(name=name, level=level, stage=where, facts=facts, band=Band(source=source), advice=advice)


def judged(
    name: FindingName,
    stage: Stage | None,
    value: float,
    measure: Quantity,
    band: Band,
    *,
    below: Advice | None = "below",
    above: Advice | None = "above",
    outside: Level = "look",
    goal: bool = False,
    **facts: Unpack[Facts],
) -> Finding:
    """A figure against its band: `outside` with what to do `below` or `above` it, fine within.

    A bound beyond which there is nothing to do is left out, unless the band is a goal: beyond it is fine then.
    """
    side = band.side(value)
    advice = below if side == "below" else above if side == "above" else None
    return Finding(
        name=name,
        level=outside if advice else "fine",
        stage=None if stage is None else stage.name,
        facts=facts,
        measure=measure,
        value=value,
        band=Band(
            low=band.low if below or goal else None, high=band.high if above or goal else None, source=band.source
        ),
        advice=advice,
    )
