"""Small plants of one filter, as case files: drawn at random, or with chosen numbers."""

from dataclasses import dataclass
from pathlib import Path

from hypothesis import strategies as st
from hypothesis.strategies import DrawFn


@dataclass(frozen=True, kw_only=True)
class Drawn:
    """The numbers of a plant; what stands in the case as its present settings comes last."""

    days: int = 60
    random: bool = False
    solids: float = 6.0  # mg/L
    coldest: float = 9.0  # degC
    swing: float = 3.0
    night: float = 1.0  # m3/h
    peak: float = 5.0
    diameter: float = 0.8  # m
    size: float = 0.7  # mm
    gain: float = 4.0  # Pa/m per g/m3
    limit: float = 1.0  # mg/L
    rating: str = ""
    backwash: int = 9  # min
    lost_production: float | None = None  # shells per m3
    longest: int = 9  # d
    every: int = 2
    at: str = "02:00:00"
    volume: float = 150.0
    above: float = 30.0
    hold: int = 3

    def text(self) -> str:
        """The case file."""
        hourly = ", ".join(f'"{self.peak if 6 <= hour < 16 else self.night:g} m3/h"' for hour in range(24))
        solids = (
            f'{{ median = "{self.solids:g} mg/L", spread = 1.4, memory = "2 d" }}' if self.random
            else f'"{self.solids:g} mg/L"'
        )  # fmt: skip
        wander = 'variation = { spread = 1.15, memory = "3 d" }\n' if self.random else ""
        rating = f', pressure_rating = "{self.rating}"' if self.rating else ""
        lost = "" if self.lost_production is None else f'lost_production = "{self.lost_production:g} per m3"\n'
        mean = self.coldest + self.swing
        return f"""title = "A small plant"
use = "process"
[run]
start = 2027-02-01T00:00:00
length = "{self.days} d"
[feed]
temperature = {{ mean = "{mean:g} degC", swing = "{self.swing:g} degC", highest_on = 2027-08-01 }}
suspended_solids = {solids}
[demand]
hourly = [{hourly}]
{wander}[[stage]]
name = "bed"
limit = "{self.limit:g} mg/L"
longest_run = "{self.longest} d"
coagulated = true
unfilterable = 0.02
viscosity_exponent = 0.0
ripening = "none"
cells = 6
vessel = {{ diameter = "{self.diameter:g} m", height = "1.5 m"{rating} }}
head_loss = {{ law = "ergun", growth = "linear", valve = "15 kPa at {self.peak:g} m3/h" }}
[[stage.layer]]
medium = "sand"
depth = "0.7 m"
size = "{self.size:g} mm"
uniformity = 1.0
filter_coefficient = "10 1/m"
head_loss_gain = "{self.gain:g} Pa/m per g/m3"
[[stage.step]]
do = "backwash"
minutes = {self.backwash}
flow = "20 m3/h"
[[stage.step]]
do = "rinse"
minutes = 12
flow = "5 m3/h"
[policy.clock.bed]
start_on = "calendar"
every = "{self.every} d"
at = {self.at}
[policy.meter.bed]
start_on = "volume"
volume = "{self.volume:g} m3"
[policy.switch.bed]
start_on = "pressure drop"
above = "{self.above:g} kPa"
hold = "{self.hold} min"
[prices]
currency = "shells"
water = "3 per m3"
labour = "6 per wash"
{lost}meter = {{ price = "400 each" }}
switch = {{ price = "250 each" }}
"""

    def write(self, folder: Path, name: str = "plant") -> Path:
        """The case as a file."""
        path = folder / f"{name}.toml"
        path.write_text(self.text(), encoding="utf-8")
        return path


@st.composite
def plants(draw: DrawFn, *, random: bool) -> Drawn:
    """Plants over what is usual of a small one, and present settings good and bad."""
    peak = draw(st.sampled_from((3.0, 5.0, 7.0)))
    return Drawn(
        days=40 if random else 60,
        random=random,
        solids=draw(st.integers(2, 15)),
        coldest=draw(st.integers(2, 14)),
        swing=draw(st.integers(0, 6)),
        night=draw(st.sampled_from((0.0, 0.5, 2.0))),
        peak=peak,
        diameter=draw(st.sampled_from((0.7, 0.8, 1.0))),
        size=draw(st.sampled_from((0.5, 0.7, 1.0))),
        gain=draw(st.sampled_from((2.0, 5.0, 12.0))),
        limit=draw(st.sampled_from((0.5, 1.0, 3.0))),
        rating=draw(st.sampled_from(("", "0.8 bar", "3 bar"))),
        backwash=draw(st.integers(6, 14)),
        lost_production=draw(st.sampled_from((None, 5.0))),
        longest=draw(st.integers(5, 14)),
        every=draw(st.integers(1, 5)),
        at=draw(st.sampled_from(("02:00:00", "11:00:00", "21:30:00"))),
        volume=draw(st.sampled_from((20.0, 150.0, 600.0))),
        above=draw(st.sampled_from((4.0, 15.0, 60.0, 700.0))),
        hold=draw(st.integers(1, 9)),
    )
