"""Studies of one case: compare every policy, run one, check the file; results as tables, text and JSON.

Each command of the program is a call here: `sim.study.compare.compare`, `sim.study.single.run`,
`sim.study.check.check`. Nothing is imported by the package itself, so that a check never loads the plant.
"""
