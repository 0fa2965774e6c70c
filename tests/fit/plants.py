"""Plants drawn at random, each with constants of its own, and the logs that they would have written.

The case that a fit begins with has the usual values; the constants of the plant are drawn from their usual ranges, a
valve and a clean bed up to half as much or twice. Some logs lack a column, have one flow only, or few rows.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from sim.case.load import load_case
from sim.case.records import Case
from sim.fit.records import Constant
from sim.log.reading import read_log
from sim.log.records import Log, What
from tests.log.made_log import NOISE, make_log

HOUR = 3600.0
STAGE = "filter"
FILTERS, CARBON, RESIN = "filter", "carbon", "resin"


@dataclass(frozen=True)
class Plant:
    """A case as it would be written, what its constants truly are (of the first key of each), how its log is kept."""

    case: Case
    settings: Mapping[str, Any]
    text: str
    truth: Mapping[Constant, float]
    law: str
    columns: tuple[What, ...]
    every: float
    days: float
    seed: int
    hidden: frozenset[Constant]  # what such a log cannot tell

    def log(self, folder: Path) -> Log:
        """Its log, written and read."""
        path = folder / f"log_{self.seed}.csv"
        base = folder / f"plant_{self.seed}.toml"
        base.write_text(self.text, encoding="utf-8")
        make_log(
            path, base, seed=self.seed, days=self.days, every=self.every, columns=self.columns, truth=self.settings,
            noise={**NOISE, What.TOTAL: (0.0, 0.0, 2)},
        )  # fmt: skip
        return read_log(path)


def draw(seed: int, folder: Path, kind: str | None = None) -> Plant:
    """The plant of a seed, of a kind that is drawn too unless it is given."""
    rng = np.random.default_rng(seed)
    kind = kind or str(rng.choice([FILTERS, CARBON, RESIN], p=[0.5, 0.25, 0.25]))
    one_flow, by_hand = rng.random() < 0.15, rng.random() < 0.2
    no_outlet, no_temperature = rng.random() < 0.2, rng.random() < 0.15
    diameter = float(rng.uniform(0.5, 1.1))
    area = math.pi * diameter**2 / 4.0
    most = float(rng.uniform(8.0, 16.0)) * area  # m3/h at the busiest hour
    text = _text(rng, kind, diameter, most, one_flow)
    base = folder / f"plant_{seed}.toml"
    base.write_text(text, encoding="utf-8")
    law = str(rng.choice(["linear", "pore-narrowing"]))
    case = load_case(base)
    settings, truth = _truth(rng, case, kind, law, area, most)
    columns = [What.FLOW, What.TOTAL, What.PRESSURE_DROP, What.TURBIDITY_IN, What.WASH]
    hidden = {Constant.SOLIDS_PER_TURBIDITY}
    if no_outlet:
        hidden.add(Constant.CAPTURE)
    else:
        columns.append(What.TURBIDITY_OUT)
    if no_temperature:
        hidden.add(Constant.CLEANING)
    else:
        columns.append(What.TEMPERATURE)
    if one_flow:
        hidden |= {Constant.VALVE, Constant.CLEAN_BED}
    if kind == CARBON:
        columns += [What.CHLORINE_IN, What.CHLORINE_OUT]
    if kind == RESIN:
        columns += [What.HARDNESS_IN, What.HARDNESS_OUT]
    every = 24.0 * HOUR if by_hand else float(rng.choice([1.0, 2.0, 4.0])) * HOUR
    return Plant(
        case=case, settings=settings, text=text, truth=truth, law=law, columns=tuple(columns), every=every, days=31.0,
        seed=seed, hidden=frozenset(hidden),
    )  # fmt: skip


def _text(rng: np.random.Generator, kind: str, diameter: float, most: float, one_flow: bool) -> str:
    """The case file: a filter of one or two layers, of carbon, or of resin."""
    area = math.pi * diameter**2 / 4.0
    hours = [f'"{most:.3g} m3/h"'] * 24
    if not one_flow:
        quiet = most * float(rng.uniform(0.2, 0.5))
        hours = [f'"{most if 6 <= hour < 22 else quiet:.3g} m3/h"' for hour in range(24)]
    turbidity = rng.uniform(3.0, 8.0)
    lines = [
        'title = "A plant drawn at random"', 'use = "process"', "[run]", "start = 2027-03-01T00:00:00",
        'length = "31 d"', "[feed]",
        f'temperature = "{rng.uniform(8, 20):.1f} degC"' if one_flow else
        f'temperature = {{ mean = "{rng.uniform(10, 18):.1f} degC", swing = "{rng.uniform(2, 8):.1f} degC", '
        "highest_on = 2027-08-01 }",
        'solids_per_turbidity = "1 mg/L per NTU"', "[feed.turbidity]", f'median = "{turbidity:.2f} NTU"',
        "spread = 1.3", 'memory = "2 d"',
    ]  # fmt: skip
    if kind == CARBON:
        lines.insert(6, f'free_chlorine = "{rng.uniform(0.5, 2.0):.2f} mg/L"')
    if kind == RESIN:
        lines.insert(6, f'hardness = "{rng.uniform(100, 300):.0f} mg/L"')
    lines += [
        "[demand]", f"hourly = [{', '.join(hours)}]", "[[stage]]", f'name = "{STAGE}"', 'limit = "20 mg/L"',
        'longest_run = "12 d"',
        f'vessel = {{ diameter = "{diameter:.3f} m", height = "2.4 m", pressure_rating = "6 bar" }}',
        f'head_loss = {{ law = "ergun", growth = "linear", valve = "10 kPa at {most:.4g} m3/h" }}',
        "coagulated = true",
    ]  # fmt: skip
    media = {
        FILTERS: [("sand",), ("anthracite", "sand")][int(rng.integers(2))], CARBON: ("carbon",), RESIN: ("resin",)
    }[kind]  # fmt: skip
    for medium in media:
        deep = {"sand": 0.6, "anthracite": 0.45, "carbon": 0.6, "resin": 0.9}[medium]
        lines += ["[[stage.layer]]", f'medium = "{medium}"', f'depth = "{deep * rng.uniform(0.8, 1.2):.2f} m"']
    wash = {"sand": 40.0, "anthracite": 40.0, "carbon": 28.0, "resin": 12.0}[media[-1]] * area
    lines += ["[[stage.step]]", 'do = "backwash"', "minutes = 10", f'flow = "{wash:.3g} m3/h"']
    if kind == RESIN:
        volume = 0.9 * area
        lines += [
            "[[stage.step]]", 'do = "regenerant"', "minutes = 30", f'flow = "{2 * volume:.3g} m3/h"',
            f'salt = "{120 * volume:.3g} kg"', 'direction = "co-current"',
            "[[stage.step]]", 'do = "displacement"', "minutes = 40", f'flow = "{2 * volume:.3g} m3/h"',
        ]  # fmt: skip
    lines += ["[[stage.step]]", 'do = "rinse"', "minutes = 10", f'flow = "{most:.3g} m3/h"']
    lines += [f'[policy."by the clock".{STAGE}]', 'start_on = "calendar"']
    lines += [f'every = "{int(rng.integers(2, 5))} d"', "at = 03:00:00"]
    return "\n".join(lines) + "\n"


def _truth(
    rng: np.random.Generator, case: Case, kind: str, law: str, area: float, most: float
) -> tuple[dict[str, Any], dict[Constant, float]]:
    """Settings that make the case the plant, and what the first key of each constant then is [SI]."""

    def within(low: float, high: float) -> float:
        return float(np.exp(rng.uniform(math.log(low), math.log(high))))

    stage, base = case.stages[0], f"stage.{STAGE}"
    valve, bed, capture, cleaning = within(0.5, 2.0), within(0.7, 1.5), within(0.6, 1.6), within(0.5, 1.8)
    settings: dict[str, Any] = {
        f"{base}.head_loss.growth": law,
        f"{base}.head_loss.valve": f"{10 * valve:.6g} kPa at {most:.4g} m3/h",
        f"{base}.head_loss.viscous": 150.0 * bed,
        f"{base}.head_loss.inertial": 1.75 * bed,
        f"{base}.loose_rate": f"{0.8 * cleaning:.8g} 1/min",
        f"{base}.firm_rate": f"{0.06 * cleaning:.8g} 1/min",
    }
    flow = float(f"{most:.4g}") / HOUR
    truth = {
        Constant.VALVE: float(f"{10 * valve:.6g}") * 1e3 / flow**2,
        Constant.CLEAN_BED: 150.0 * bed,
        Constant.CLEANING: float(f"{0.8 * cleaning:.8g}") / 60.0,
    }
    growth = within(1.5, 10.0) / 5.0 if law == "linear" else within(20.0, 60.0) / 30.0
    for n, layer in enumerate(stage.layers):
        assumed = next(
            each.value for each in case.assumptions if each.key == f"{base}.layer.{n}.typical_coefficient"
        )
        settings[f"{base}.layer.{n}.typical_coefficient"] = f"{assumed * capture:.8g} 1/m"
        truth.setdefault(Constant.CAPTURE, assumed * capture)
        if law == "linear":
            settings[f"{base}.layer.{n}.head_loss_gain"] = f"{layer.head_loss_gain * growth:.8g} Pa/m per g/m3"
            truth.setdefault(Constant.GROWTH, layer.head_loss_gain * growth)
        else:
            settings[f"{base}.layer.{n}.deposit_density"] = f"{layer.deposit_density * growth / 1e3:.8g} kg/m3"
            truth.setdefault(Constant.GROWTH, layer.deposit_density * growth)
    if kind == CARBON:
        half = within(0.05, 0.4)
        settings[f"{base}.layer.0.half_length"] = f"{half:.6g} m"
        truth[Constant.HALF_LENGTH] = float(f"{half:.6g}")
    if kind == RESIN:
        factor = within(0.7, 1.3)
        settings[f"{base}.layer.0.capacity_factor"] = factor
        truth[Constant.SOFTENER_CAPACITY] = factor
    return settings, truth
