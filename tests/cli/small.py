"""A short case of two policies for the commands' tests, and ways to run them."""

from pathlib import Path

from click.testing import CliRunner, Result

from sim.cli.group import main_command

STAGE = """
[[stage]]
name = "sand"
limit = "0.6 mg/L"
vessel = {{ diameter = "0.9 m", height = "1.5 m" }}
head_loss = {{ law = "ergun", growth = "pore-narrowing", valve = "4 kPa at 6 m3/h" }}
ripening = "none"
[[stage.layer]]
medium = "sand"
depth = "{depth}"
size = "0.7 mm"
uniformity = 1.0
sphericity = 0.8
porosity = 0.42
filter_coefficient = "8 1/m"
ultimate_deposit = "9 kg/m3"
deposit_density = "60 kg/m3"
[[stage.step]]
do = "backwash"
minutes = 9
flow = "24 m3/h"
cleaning_rate = "0.7 1/min"
[[stage.step]]
do = "rinse"
minutes = 8
flow = "6 m3/h"
"""

SMALL = """title = "{title}"
[run]
start = 2027-03-01T00:00:00
length = "9 d"
[feed]
temperature = "11 degC"
suspended_solids = "7 mg/L"
[demand]
flow = "6 m3/h"
{stage}
[policy."two nights".sand]
start_on = "calendar"
every = "2 d"
at = 02:30:00
[policy."by volume".sand]
start_on = "volume"
volume = "360 m3"
[drain]
air_gap = true
"""


def small_text(*, title: str = "A short one", depth: str = "0.8 m") -> str:
    """The case file's text; a depth above 1.5 m does not fit its vessel."""
    return SMALL.format(title=title, stage=STAGE.format(depth=depth))


def small_case(folder: Path, **changes: str) -> str:
    """The case as a file in this folder."""
    path = folder / "small.toml"
    path.write_text(small_text(**changes), encoding="utf-8")
    return str(path)


def call(*words: str | Path, color: bool = False) -> Result:
    """Run the program in this process; standard output and error are kept apart.

    `color`: as at a terminal, where what steers one is not taken out.
    """
    return CliRunner().invoke(main_command, [str(word) for word in words], prog_name="filterrun", color=color)
