"""Results made by hand, so that text, marks and files are tested without running a plant."""

from datetime import datetime

from sim.case.records import Assumption, Case
from sim.case.series.records import Demand, Feed, Run, Steady
from sim.case.stage.records import HeadLoss, Layer, Stage, Step, Vessel
from sim.case.trigger.records import Calendar, Policy
from sim.plant.ledger import CHEMISTRY
from sim.plant.records import Cause, Event, Figure, FilterRun, LogEntry, RunResult, Why

POLICIES = ("calendar", "volume", "volume with reserve", "pressure drop")

# The hand results that the reference case is meant to give; here they only fill the table.
FIGURES: dict[str, tuple[Figure, ...]] = {
    "washes": (14, 24, 19, 16),
    "mean_run_h": (101.9, 59.2, 74.9, 88.6),
    "downtime_h": (3.7333, 6.4, 5.0667, 4.2667),
    "treated_m3": (5912.0, 5878.0, 5907.0, 5889.0),
    "unmet_m3": (8.0, 42.0, 13.0, 31.0),
    "drain_m3": (52.27, 89.6, 70.93, 59.73),
    "drain_fraction": (0.00876, 0.015, 0.01186, 0.01004),
    "over_limit_h": (193.2, 0.0, 0.0, 47.3),
    "over_limit_unavoidable_h": (0.0, 0.0, 0.0, 0.0),
    "breakthrough_risk": (0.93, 0.0, 0.0, 0.4),
    "unmet_by_washing_m3": (8.0, 42.0, 13.0, 31.0),
    "wash_short_fraction": (1.0, 1.0, 1.0, 1.0),
    "longest_run_share": (0.0, 0.0, 0.0, 0.0),
    "pressure_share": (0.0, 0.0, 0.0, 1.0),
    "solids_to_service_kg": (1.594, 0.863, 1.069, 1.329),
    "dirty_water_min": (3.0, 3.0, 3.0, 3.0),
    "dirty_water_peak_mg_l": (0.8, 0.8, 0.8, 0.8),
    "dirty_water_kg": (0.00021, 0.00035, 0.00028, 0.00023),
    "peak_dp_kpa": (15.4, 10.1, 11.6, 14.3),
    "unused_capacity": (0.0, 0.31, 0.12, None),
    "backwash_m3": (39.67, 68.0, 53.83, 45.33),
    "rinse_m3": (12.6, 21.6, 17.1, 14.4),
    "solids_in_kg": (29.6, 29.4, 29.5, 29.5),
    "solids_to_drain_kg": (26.1, 28.0, 27.9, 27.0),
    "solids_held_kg": (1.906, 0.537, 0.531, 1.171),
    "cost": (None, None, None, None),
    "waits": (0, 0, 0, 0),
    "waited_h": (0.0, 0.0, 0.0, 0.0),
    "early_triggers": (0, 0, 0, 0),
    "missed_triggers": (0, 0, 0, 0),
    **dict.fromkeys(
        (
            "cascades", "bypass_min", "bypass_kg", "downstream_run_h", "downstream_starts", "product_m3",
            "downstream_stopped_h", "downstream_starved_h", "downstream_starves", "downstream_solids_kg",
            "downstream_over_min", "cartridges_a_year", "solids_dosed_kg", "solids_formed_kg", *CHEMISTRY,
        ),
        (None, None, None, None),
    ),
}

LAYER = Layer(
    medium="sand",
    depth=0.7,
    size=0.0005,
    uniformity=1.0,
    sphericity=0.8,
    porosity=0.42,
    grain_density=2650.0,
    filter_coefficients=(10.0,),
    ultimate_deposit=9000.0,
    deposit_density=60000.0,
    head_loss_gain=None,
    firm_share=None,
    sublayer_sizes=(0.0005,),
)


def made_stage(name: str = "filter") -> Stage:
    """A stage that says what a description needs."""
    return Stage(
        name=name,
        limit=0.5,
        vessel=Vessel(diameter=0.762, height=1.5, pressure_rating=None),
        layers=(LAYER,),
        head_loss=HeadLoss(
            law="ergun",
            viscous=150.0,
            inertial=1.75,
            growth="pore-narrowing",
            valve_constant=0.0,
            tap="vessel",
        ),
        ripening=None,
        sloughing=None,
        mat=None,
        unfilterable=0.0,
        velocity_exponent=0.0,
        reference_rate=12.0 / 3600.0,
        reference_viscosity=1.14e-3,
        tanks=3,
        underdrain_volume=0.0,
        cells_per_layer=20,
        porosity_floor=0.05,
        loose_rate=None,
        firm_rate=None,
        steps=(
            Step(
                do="backwash",
                seconds=600.0,
                flow=0.005,
                water="clean",
                water_solids=None,
                cleaning_rate=0.013,
            ),
            Step(do="rinse", seconds=360.0, flow=0.0025, water="raw", water_solids=None, cleaning_rate=None),
        ),
    )


def made_case(
    *, title: str = "Made by hand", names: tuple[str, ...] = POLICIES, stages: tuple[str, ...] = ("filter",)
) -> Case:
    """A case whose policies and stages have these names; every stage leaves one constant out."""
    trigger = Calendar(every=345_600.0, at=10_800.0)
    return Case(
        title=title,
        run=Run(start=datetime(2027, 1, 4), length=5_184_000.0, allowed_over_limit=None),
        feed=Feed(temperature=Steady(value=15.0), solids=Steady(value=5.0), turbidity_ratio=None),
        demand=Demand(flow=Steady(value=0.001), season=None),
        stages=tuple(made_stage(name) for name in stages),
        policies=tuple(Policy(name=name, triggers=tuple((s, trigger) for s in stages)) for name in names),
        assumptions=tuple(
            Assumption(key=f"stage.{s}.tanks", value=3.0, low=1.0, high=10.0, unit="-", source="common practice")
            for s in stages
        ),
        constants=5 * len(stages),
        source_hash="0" * 64,
    )


def made_result(
    policy: str, figures: dict[str, Figure], stages: tuple[str, ...] = ("filter",), end_s: float = 356_400.0
) -> RunResult:
    """A result with these figures for the site and for each stage, and a wash at a time of its own."""
    log = (
        LogEntry(time_s=356_400.0, who=stages[0], event=Event.WASH_STARTS, why=Cause.CALENDAR),
        LogEntry(
            time_s=357_000.0,
            who=stages[0],
            event=Event.STEP_ENDS,
            why=Why.TIME,
            step="backwash",
            volume_m3=2.83,
            solids_kg=1.6,
        ),
    )
    run = FilterRun(
        stage=stages[0],
        vessel=1,
        number=1,
        start_s=0.0,
        end_s=end_s,
        cause=Cause.CALENDAR,
        volume_m3=410.3,
        load_g_m2=4500.0,
        residual_g_m2=12.0,
        clean_dp_kpa=4.21,
        end_dp_kpa=15.4,
        over_limit_h=12.6,
        unused_capacity=None,
        blocked=False,
        broke_through=True,
    )
    return RunResult(
        policy=policy,
        seed=1,
        replicate=0,
        days=60.0,
        log=log,
        runs=(run,),
        site=figures,
        stages=dict.fromkeys(stages, figures),
        wash_flows=dict.fromkeys(stages, (0.005, 0.0025)),
        counts={"pieces": 1},
    )


def made_results(
    figures: dict[str, tuple[Figure, ...]] = FIGURES,
    names: tuple[str, ...] = POLICIES,
    stages: tuple[str, ...] = ("filter",),
) -> tuple[RunResult, ...]:
    """One result per policy."""
    return tuple(
        made_result(name, {key: values[place] for key, values in figures.items()}, stages, 356_400.0 + 60.0 * place)
        for place, name in enumerate(names)
    )
