"""When valves move elsewhere, as far as the gauges of a train feel it."""

from sim.case.records import Case
from sim.weather.streams import stream

DAY = 86_400.0


def jolts(case: Case, *, seed: int, replicate: int) -> list[dict[str, float]]:
    """Time [s] and stage (its place in the train) of every valve movement, in the order of time.

    Poisson at each stage's own rate; a stage's numbers depend on its name alone.
    """
    found: list[tuple[float, int]] = []
    for k, stage in enumerate(case.stages):
        if stage.valve_spike is not None and stage.valve_spike.a_day > 0.0:
            draws = stream(f"valves {stage.name}", seed=seed, replicate=replicate)
            time = 0.0
            while (time := time + draws.exponential(DAY / stage.valve_spike.a_day)) < case.run.length:
                found.append((time, k))
    return [{"time": time, "stage": k} for time, k in sorted(found)]
