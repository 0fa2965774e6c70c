"""Exact: what is dissolved along a train, by hand from atomic masses; bands of chemistry in their sources' units."""

import math
from dataclasses import replace
from typing import Any

import pytest

from sim.case.chemistry.records import Dosing, Solute
from sim.case.records import Case
from sim.case.series.records import Changeable, Measured, Profile, Seasonal, Steady, Wander
from sim.case.stage.records import Stage
from sim.review import bands
from sim.review.dissolved import as_chlorine, solids_at, usual_passages, worst_passages
from sim.review.site import highest, lowest, site_of
from sim.wash.regeneration import permanganate_brought, salt_brought
from tests.plant.builders import M3_H, MINUTE
from tests.review.chemical_designs import (
    AIR,
    CHLORINE,
    DRAWN,
    FAST,
    HARD,
    MAKE_UP,
    OXIDISING,
    PERMANGANATE,
    SLOW,
    SOFT,
    SOFTENING,
    STORE,
    UNRESTORED,
    UPFLOW,
    carbon_of,
    named,
    salted,
    soft,
    water,
)
from tests.review.made import BY_VOLUME, TWO_VESSELS, all_of, carbon, found, good, stage

POUND, CUBIC_FOOT, GALLON = 453.59237, 0.3048**3, 3.785411784e-3  # g, m3, m3: NIST SP 811, appendix B.8
GRAIN = POUND / 7000.0
BED = 0.7 * math.pi * 0.762**2 / 4.0  # m3, of one vessel
RATE = 5.5 * M3_H / (math.pi * 0.762**2 / 4.0)


def dosed(dosing: Dosing, **solutes: Any) -> dict[Solute, float]:
    """What comes to the bed of one stage behind a dose, mean feed."""
    (passage,) = usual_passages(site_of(good(stages=(stage(dosing=dosing),), **water(**solutes))))
    return passage.at_bed


def test_bands_are_as_their_sources_have_them() -> None:
    """UFC 3-240-13FN: slow rinse 7.5 to 22.5, fast rinse 35 to 100 gal/ft3; Ten States 4.4.2: 0.3 lb a kilograin;
    a trade page: 3 gpm/ft3 of carbon at the most; the rest from memory."""
    per_bed = GALLON / CUBIC_FOOT
    slow, fast = bands.DISPLACEMENT_VOLUMES, bands.SOFTENER_RINSE_VOLUMES
    assert (slow.low, slow.high) == pytest.approx((7.5 * per_bed, 22.5 * per_bed))
    assert (fast.low, fast.high) == pytest.approx((35.0 * per_bed, 100.0 * per_bed))
    assert bands.SALT_EFFICIENCY.low == pytest.approx(1000.0 * GRAIN / (0.3 * POUND))
    assert bands.FREE_CONTACT.low == pytest.approx(60.0 * CUBIC_FOOT / (3.0 * GALLON))
    assert bands.COMBINED_CONTACT.low == 600.0
    assert (bands.OXIDANT_TO_MEMBRANE.high, bands.OXIDANT_TO_RESIN.high) == (0.05, 1.0)
    assert {name: band.low for name, band in bands.ACIDITY.items()} == {
        "air": 7.2, "chlorine": 6.5, "permanganate": 7.0,
    }  # fmt: skip


def test_chlorine_goes_to_sulphide_then_iron_and_leaves_manganese() -> None:
    """2.081 g Cl2 per g H2S to sulphur, 0.6348 per g iron: 2 less 0.2081 less 0.6348 leave 1.157."""
    left = dosed(CHLORINE, sulphide=0.1, iron=1.0, manganese=0.3)
    assert left["free_chlorine"] == pytest.approx(2.0 - 0.2081 - 0.6348, abs=1e-4)
    assert (left["sulphide"], left["iron"], left["manganese"]) == (0.0, 0.0, 0.3)
    assert dosed(replace(CHLORINE, sulphide_to="sulphate"), sulphide=0.1)["free_chlorine"] == pytest.approx(
        2.0 - 0.8322, abs=1e-4
    )
    assert dosed(CHLORINE, iron=4.0)["iron"] == pytest.approx(4.0 - 2.0 / 0.6348, abs=1e-3)


def test_floc_counts_among_the_solids_that_reach_a_bed() -> None:
    """1.9136 g Fe(OH)3 per g iron, from atomic masses, where chlorine oxidises 1 mg/L; nothing where none is."""
    case = good(stages=(stage(dosing=CHLORINE),), **water(iron=1.0))
    plain = good(stages=(stage(),), **water(iron=1.0))
    assert sum(solids_at(site_of(case), 0)) - sum(solids_at(site_of(plain), 0)) == pytest.approx(1.9136, abs=1e-4)
    with_floc, without = (all_of(each, "solids_before_wash") for each in (case, plain))
    assert with_floc[0].value > without[0].value


def test_permanganate_goes_to_all_three() -> None:
    """0.9433 g KMnO4 per g iron, 1.9177 per g manganese; it oxidises as much as 0.6730 g Cl2 a gram."""
    left = dosed(PERMANGANATE, iron=0.5, manganese=0.1)
    assert left["permanganate"] == pytest.approx(1.0 - 0.5 * 0.9433 - 0.1 * 1.9177, abs=1e-4)
    assert (left["iron"], left["manganese"]) == (0.0, 0.0)
    assert as_chlorine(left) == pytest.approx(left["permanganate"] * 0.9433**-1 * 0.6348, rel=1e-3)


def test_ammonia_binds_chlorine_up_to_the_breakpoint() -> None:
    """5.062 g Cl2 bound per g N; gone again at 7.593, half of it half way; free beyond. The 0.1 that the feed brings
    bound stays, whatever is dosed."""
    for ammonia, combined, free, left in (
        (1.0, 2.1, 0.0, 1.0 - 2.0 / 5.0618),
        (2.0 / 6.3273, 0.1 + 5.0618 * 2.0 / 6.3273 / 2.0, 0.0, 0.0),
        (0.1, 0.1, 2.0 - 0.7593, 0.0),
        (0.0, 0.1, 2.0, 0.0),
    ):
        water_ = dosed(CHLORINE, ammonia=ammonia, combined_chlorine=0.1)
        assert water_["combined_chlorine"] == pytest.approx(combined, abs=1e-4)
        assert water_["free_chlorine"] == pytest.approx(free, abs=1e-4)
        assert water_["ammonia"] == pytest.approx(left, abs=1e-4)


def test_air_needs_ph_and_time() -> None:
    """Nothing without a pH; at one unit more a hundred times the rate, so that the logarithm of what is left is."""
    assert dosed(AIR, iron=1.0)["iron"] == 1.0
    low, high = (dosed(AIR, acidity=Steady(value=each), iron=1.0)["iron"] for each in (5.5, 6.5))
    assert math.log(high) == pytest.approx(100.0 * math.log(low))
    end, beyond = (
        dosed(AIR, acidity=each, iron=1.0)["iron"]
        for each in (
            Steady(value=14.0),
            Changeable(median=12.0, fast=Wander(spread=1.0, memory=7200.0), slow=None, season=None, storms=None),
        )
    )
    assert beyond == end


def test_carbon_halves_in_every_half_length_and_the_blend_goes_round() -> None:
    """Half-lengths of 0.06 and 0.6 m at 20 m/h are shorter at 12.06 m/h; beds in series multiply."""
    ratio = RATE / (20.0 * M3_H)
    halves: dict[Solute, float] = {"free_chlorine": 0.06, "combined_chlorine": 0.6}
    two = (carbon(), named(carbon(), "second", blend=0.25))
    for name, half in halves.items():
        share = 2.0 ** (-0.7 / (half * ratio))
        first, second = usual_passages(site_of(good(stages=two, **water(**{name: 1.0}))))
        assert first.behind[name] == pytest.approx(share)
        assert second.behind[name] == pytest.approx(share * (0.25 + 0.75 * share))
        (deep,) = usual_passages(site_of(good(stages=(carbon_of(depth=1.4),), **water(**{name: 1.0}))))
        assert deep.behind[name] == pytest.approx(share**2)


def test_media_net_what_is_left_of_the_oxidant() -> None:
    """1.2907 g Cl2 per g manganese that the bed takes up: the surplus goes on."""
    left = replace(UNRESTORED, dosing=CHLORINE)
    (passage,) = usual_passages(site_of(good(stages=(left,), **water(manganese=0.5, ammonia=0.0))))
    passing = 2.0 ** (-0.7 / (0.1 * RATE / (20.0 * M3_H)))
    assert passage.behind["free_chlorine"] == pytest.approx(2.0 - (1.0 - passing) * 0.5 * 1.2907, abs=1e-4)
    assert passage.behind["manganese"] == pytest.approx(0.5 * passing)
    (bare,) = usual_passages(site_of(good(stages=(UNRESTORED,), **water(manganese=0.5))))
    assert bare.behind["manganese"] == pytest.approx(0.5 * passing)


def test_resin_lets_its_leakage_pass() -> None:
    (passage,) = usual_passages(site_of(good(stages=(SOFT,), **water(hardness=100.0, iron=1.0, manganese=1.0))))
    assert passage.behind["hardness"] == pytest.approx(3.0)
    assert (passage.behind["iron"], passage.behind["manganese"]) == pytest.approx((0.03, 0.03))


def test_the_worst_is_most_oxidant_least_metal_and_a_vessel_less() -> None:
    feed = water(iron=1.0)["feed"]
    swinging = replace(
        feed, solutes=(("free_chlorine", Seasonal(mean=1.0, swing=0.5, peak_day=1)),
                       ("iron", Seasonal(mean=0.5, swing=0.3, peak_day=1))),
    )  # fmt: skip
    twin = carbon(vessels=TWO_VESSELS)
    case = good(stages=(twin,), feed=swinging)
    site = site_of(case)
    at_worst = 1.5 - 0.2 * 0.6348
    assert worst_passages(site)[0].at_bed["free_chlorine"] == pytest.approx(at_worst, abs=1e-4)
    assert usual_passages(site)[0].at_bed["free_chlorine"] == pytest.approx(1.0 - 0.5 * 0.6348, abs=1e-4)
    both, one = (worst_passages(site, away)[0].behind["free_chlorine"] / at_worst for away in (None, twin))
    assert math.sqrt(both) == pytest.approx(one, rel=1e-3)


def test_ends_of_every_series() -> None:
    day = Profile(hourly=(1.0, 3.0), weekday=(0.5, 2.0))
    season, record = Seasonal(mean=2.0, swing=0.5, peak_day=1), Measured(end=(1.0, 2.0), value=(4.0, 1.0))
    weather = Changeable(median=2.0, fast=Wander(spread=0.0, memory=1.0), slow=None, season=None, storms=None)
    every = (Steady(value=7.0), day, season, record, weather)
    assert [highest(each) for each in every] == [7.0, 6.0, 2.5, 4.0, 2.0]
    assert [lowest(each) for each in every] == [7.0, 0.5, 1.5, 1.0, 2.0]


def test_a_make_up_gives_what_its_water_dissolves_as_far_as_it_is_drawn() -> None:
    """By hand: 0.08 m3 of water dissolve 28.64 kg in 0.090 m3 of brine; the half of that brine has the half."""
    for store in (None, STORE):
        whole, half = (
            replace(SOFT, store=store, steps=(UPFLOW, replace(DRAWN, flow=flow), SLOW, FAST, MAKE_UP))
            for flow in (1.0 * M3_H, 0.5 * 0.08 * (1.0 + 0.35e-6 * 358e3) / (30 * MINUTE))
        )
        assert salt_brought(whole) == pytest.approx(0.08 * 358e3)
        assert salt_brought(half) == pytest.approx(0.04 * 358e3)
    assert (salt_brought(SOFT), permanganate_brought(SOFT)) == (28e3, 0.0)
    assert (salt_brought(OXIDISING), permanganate_brought(OXIDISING)) == (0.0, 1500.0)


def most(case: Case) -> float:
    """The volume that the bed of a case allows [m3]."""
    allowed = found(case, "volume_beyond_capacity").band.high
    assert allowed is not None
    return allowed


def test_a_softener_treats_what_its_salt_restores_over_its_hardness() -> None:
    """28 kg of salt restore 20 kgr for each 6 lb: 13.33 kg of hardness. Of iron 1.792, of manganese 1.822 a gram."""
    restored = 28e3 * 20e3 * GRAIN / (6.0 * POUND)
    assert restored == pytest.approx(13_333.3, abs=0.1)
    assert most(soft()) == pytest.approx(restored / (0.97 * 100.0))
    assert most(soft(blend=0.25)) == pytest.approx(restored / (0.75 * 0.97 * 100.0))
    metals = good(stages=(SOFT,), **water(hardness=100.0, iron=2.0, manganese=1.0))
    assert most(metals) == pytest.approx(restored / (0.97 * (100.0 + 2.0 * 1.792 + 1.822)), rel=1e-4)


def test_media_treat_what_their_permanganate_restores_over_the_metal() -> None:
    """By hand: 1.5 kg KMnO4 give 28.48 eq, and no more than the bed holds, 300 eq/m3; iron takes 1 eq a mole."""
    equivalents = 3.0 * 1500.0 / 158.03
    assert most(good(stages=(OXIDISING,), **water(iron=10.0))) == pytest.approx(
        equivalents / (10.0 / 55.845), rel=1e-4
    )
    much = tuple(replace(each, permanganate=9e3) if each.permanganate else each for each in OXIDISING.steps)
    full = good(stages=(replace(OXIDISING, steps=much),), **water(iron=10.0))
    assert most(full) == pytest.approx(300.0 * BED / (10.0 / 55.845), rel=1e-4)


def test_a_bed_that_takes_up_nothing_of_the_feed_allows_any_volume() -> None:
    fed_with_chlorine = good(stages=(replace(OXIDISING, dosing=CHLORINE),), **water(iron=1.0, ammonia=0.0))
    for case in (fed_with_chlorine, good(), salted(UPFLOW, DRAWN, SLOW, FAST)):
        assert not all_of(case, "volume_beyond_capacity")


def test_a_store_lasts_as_many_regenerations_as_it_holds() -> None:
    """By hand: 1000 kg at 28 kg after each 110 m3, of 132 m3 a day, are 29.8 days; two vessels share the use."""
    lasts = 1e6 / 28e3 * 110.0 / (5.5 * M3_H)
    for vessels in (1, 2):
        twin = soft(store=STORE, vessels=replace(TWO_VESSELS, count=vessels))
        assert found(twin, "store_lasts").value == pytest.approx(lasts)
    assert not all_of(soft(store=replace(STORE, salt=None)), "store_lasts")


def test_efficiency_is_that_of_the_table_and_no_more_than_stoichiometry() -> None:
    """By hand: up to 6 lb/ft3 a gram of salt restores 20/42 of a gram; 1/1.168 of it where a table claims more."""
    assert found(soft(), "salt_efficiency").value == pytest.approx(20.0 / 42.0)
    claims = replace(SOFT.layers[0], uptake=replace(SOFTENING, doses=(1e5,), capacities=(9e4,)))
    assert found(soft(layers=(claims,)), "salt_efficiency").value == pytest.approx(1.0 / 1.167844, rel=1e-4)


def contact(chlorine: Stage, **feed: Any) -> tuple[float | None, float | None]:
    figure = found(good(stages=(chlorine,), **feed), "contact_time")
    return figure.value, figure.band.low


def test_contact_is_held_against_the_chlorine_that_comes() -> None:
    bare, free, combined = (
        contact(carbon(), **each)
        for each in (HARD, water(free_chlorine=1.0), water(combined_chlorine=0.1))
    )
    assert [each[0] for each in (bare, free, combined)] == pytest.approx([BED / (5.5 * M3_H)] * 3)
    assert [each[1] for each in (bare, free, combined)] == [120.0, bands.FREE_CONTACT.low, 600.0]
    assert contact(carbon(), **water(oxidant="chlorine"))[1] == bands.FREE_CONTACT.low
    assert contact(carbon(), **water(oxidant="permanganate"))[1] == 120.0
    behind = good(stages=(carbon(), named(carbon(), "second")), **water(oxidant="chlorine"))
    assert [each.band.low for each in all_of(behind, "contact_time")] == [bands.FREE_CONTACT.low, 120.0]


def test_a_make_up_goes_to_no_drain() -> None:
    drawn = salted(UPFLOW, replace(DRAWN, seconds=1200.0), SLOW, FAST, MAKE_UP)
    without = salted(UPFLOW, replace(DRAWN, seconds=1200.0), SLOW, FAST)
    shares = [found(each, "washwater_share").value for each in (drawn, without)]
    assert shares[0] == shares[1] == pytest.approx((7 / 6 + 0.1 + 0.6 + 1.8) / BY_VOLUME.volume)
