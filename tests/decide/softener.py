"""A softener on a steady feed, so small that what its salt restores follows by hand."""

import math
from pathlib import Path

SOFTENER = """title = "A softener by itself"
use = "process"
[run]
start = 2031-01-06T00:00:00
length = "8 d"
[feed]
temperature = "15 degC"
suspended_solids = "0 mg/L"
hardness = "300 mg/L"
[demand]
{demand}
[[stage]]
name = "softener"
limits = {{ hardness = "30 mg/L" }}
vessel = {{ diameter = "0.5 m", height = "1.5 m" }}
longest_run = "6 d"
ripening = "none"
{store}[[stage.layer]]
medium = "resin"
depth = "0.8 m"
leakage = 0.0
half_length = "3 cm"
[stage.layer.capacity]
doses = ["100 kg/m3", "200 kg/m3"]
gives = ["50 kg/m3", "70 kg/m3"]
[[stage.step]]
do = "backwash"
minutes = 10
flow = "3 m3/h"
[[stage.step]]
do = "regenerant"
minutes = 30
flow = "0.3 m3/h"
{salt}[[stage.step]]
do = "displacement"
minutes = 60
flow = "0.6 m3/h"
[[stage.step]]
do = "rinse"
minutes = 20
flow = "2 m3/h"
{made_up}[policy.clock.softener]
start_on = "calendar"
every = "1 d"
at = 02:00:00
[policy.meter.softener]
start_on = "volume"
volume = "12 m3"
[prices]
currency = "shells"
water = "0 per m3"
salt = "0.5 per kg"
lost_production = "0 per m3"
meter = {{ price = "300 each" }}
"""
STEADY = 'flow = "1 m3/h"'
EVEN_DAYS = 'flow = "0.56 m3/h"'
CLOSED_TWO_DAYS = 'hourly = [' + ", ".join(['"1 m3/h"'] * 24) + ']\nweekday = [1.0, 1.0, 0.1, 0.1, 1.0, 0.1, 0.1]'
RESIN = math.pi / 4.0 * 0.5**2 * 0.8  # m3
HARDNESS = 300.0  # g/m3
SALT = 20_000.0  # g


def softener(folder: Path, demand: str = STEADY, *, tank: bool = False) -> Path:
    """The case as a file: 20 kg of salt for a regeneration, or what 60 L of make-up dissolve."""
    path = folder / "softener.toml"
    made_up = '[[stage.step]]\ndo = "make-up"\nminutes = 6\nflow = "0.6 m3/h"\n' if tank else ""
    path.write_text(
        SOFTENER.format(
            demand=demand, salt="" if tank else 'salt = "20 kg"\n', made_up=made_up,
            store='store = { solubility = "350 g/L" }\n' if tank else "",
        ),
        encoding="utf-8",
    )  # fmt: skip
    return path
