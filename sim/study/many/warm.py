"""Imported once by the process that workers are forked from: it loads the compiled code, so each is born with it."""

from pathlib import Path

from sim.processes import tied_to_parent

# A day with a wash in it leads through all compiled code of a run.
DAY = """
title = "A day"
[run]
start = 2027-01-01T00:00:00
length = "1 d"
[feed]
temperature = "15 degC"
suspended_solids = "5 mg/L"
[demand]
flow = "5 m3/h"
[[stage]]
name = "sand"
limit = "1 mg/L"
vessel = { diameter = "1 m", height = "1.5 m" }
head_loss = { law = "ergun", growth = "linear" }
layer = [{ medium = "sand", depth = "0.7 m", size = "0.6 mm" }]
step = [{ do = "backwash", minutes = 9, flow = "30 m3/h" }, { do = "rinse", minutes = 6, flow = "5 m3/h" }]
[policy.one.sand]
start_on = "volume"
volume = "50 m3"
"""


def _warm() -> None:
    from sim.case.load import read_case
    from sim.plant.simulate import simulate

    simulate(read_case(DAY, Path("a day"), {}), "one")


with tied_to_parent():  # the first time it compiles, for longer than anybody waits
    _warm()
