"""A filter on a steady feed whose best setting follows from hand arithmetic, and a small one in random weather."""

import math
from pathlib import Path

STEADY = """title = "Steady feed, linear costs"
use = "process"
[run]
start = 2027-01-01T00:00:00
length = "{days} d"
[feed]
temperature = "15 degC"
suspended_solids = "10 mg/L"
[demand]
flow = "6 m3/h"
[[stage]]
name = "sand"
limit = "5 mg/L"
longest_run = "20 d"
vessel = {{ diameter = "1 m", height = "1.5 m" }}
head_loss = {{ law = "ergun", growth = "linear", valve = "0 kPa at 6 m3/h" }}
ripening = "none"
unfilterable = 0.0
velocity_exponent = 0.0
reference_rate = "{rate} m/s"
reference_temperature = "15 degC"
cells = 20
[[stage.layer]]
medium = "sand"
depth = "0.7 m"
size = "0.6 mm"
uniformity = 1.0
filter_coefficient = "60 1/m"
ultimate_deposit = "60 kg/m3"
head_loss_gain = "5 Pa/m per g/m3"
[[stage.step]]
do = "backwash"
minutes = 10
flow = "30 m3/h"
water = "clean"
cleaning_rate = "5 1/min"
[[stage.step]]
do = "rinse"
minutes = 10
flow = "6 m3/h"
[policy.calendar.sand]
start_on = "calendar"
every = "1 d"
at = 03:00:00
[policy.volume.sand]
start_on = "volume"
volume = "40 m3"
[policy.pressure.sand]
start_on = "pressure drop"
above = "9 kPa"
hold = "10 s"
[prices]
currency = "shells"
water = "2 per m3"
sewer = "1 per m3"
labour = "4 per wash"
lost_production = "0 per m3"
meter = {{ price = "100 each" }}
switch = {{ price = "100 each" }}
"""

AREA = math.pi / 4.0  # m2 of a bed of 1 m
FLOW = 6.0 / 3600.0  # m3/s
GAIN, SOLIDS = 5.0, 10.0  # Pa/m per g/m3, g/m3
BACKWASH, RINSE = 10.0 / 60.0 * 30.0, 10.0 / 60.0 * 6.0  # m3


def steady(folder: Path, days: int = 120) -> Path:
    """The case as a file."""
    path = folder / "steady.toml"
    path.write_text(STEADY.format(days=days, rate=repr(FLOW / AREA)), encoding="utf-8")
    return path


def ahead_of_another(folder: Path, limit: float, days: int = 60) -> Path:
    """The filter ahead of a deeper one that keeps back what it lets through, its own limit in mg/L, washed daily."""
    path = folder / "ahead.toml"
    head, rest = STEADY.format(days=days, rate=repr(FLOW / AREA)).split("[[stage]]\n")
    stage, settings = rest.split("[policy.", 1)
    later = stage.replace('"sand"', '"polish"', 1).replace("0.7 m", "1 m")
    calendar = f"[policy.{settings.split('[policy.')[0]}"
    both = f"{calendar}{calendar.replace('.sand', '.polish').replace('03:00', '05:00')}"
    stage = stage.replace("5 mg/L", f"{limit:g} mg/L").replace("0.7 m", "0.4 m")
    path.write_text(f"{head}[[stage]]\n{stage}[[stage]]\n{later}{both}", encoding="utf-8")
    return path


RANDOM = """title = "A small filter on a changeable river"
use = "process"
[run]
start = 2027-01-01T00:00:00
length = "365 d"
allowed_over_limit = "30 h"
[feed]
temperature = "12 degC"
[feed.suspended_solids]
median = "6 mg/L"
spread = 1.5
memory = "2 d"
season = { swing = 0.4, highest_on = 2027-02-01 }
[demand]
flow = "5 m3/h"
variation = { spread = 1.2, memory = "3 d" }
[[stage]]
name = "sand"
limit = "1.0 mg/L"
longest_run = "10 d"
coagulated = true
unfilterable = 0.02
ripening = "none"
cells = 6
vessel = { diameter = "0.8 m", height = "1.4 m" }
head_loss = { law = "ergun", growth = "linear" }
layer = [{ medium = "sand", depth = "0.7 m", size = "0.6 mm", uniformity = 1.0 }]
step = [{ do = "backwash", minutes = 10, flow = "20 m3/h" }, { do = "rinse", minutes = 10, flow = "5 m3/h" }]
[policy.calendar.sand]
start_on = "calendar"
every = "2 d"
at = 03:00:00
[policy.volume.sand]
start_on = "volume"
volume = "250 m3"
[prices]
currency = "shells"
water = { typical = "2 per m3", low = "1 per m3", high = "4 per m3" }
lost_production = "0 per m3"
meter = { price = "500 each" }
"""


def changeable(folder: Path) -> Path:
    """The case as a file."""
    path = folder / "changeable.toml"
    path.write_text(RANDOM, encoding="utf-8")
    return path
