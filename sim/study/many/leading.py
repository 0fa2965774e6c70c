"""Which policies many runs show to be better by a figure, and which of them lead."""

from sim.case.quantities import Better
from sim.study.many.repeat import RISK_KPI, Repeated

ROUNDING = 1e-9  # of a figure: a difference below it comes from how sums are rounded


def beats(repeated: Repeated, one: str, other: str, key: str, better: Better | None) -> bool:
    """Whether the runs show that one policy is better than another by a figure."""
    if key == RISK_KPI:
        mine, theirs = repeated.risk(one), repeated.risk(other)
        lower = mine is not None and theirs is not None and mine.mean < theirs.mean
        return lower and repeated.risks_differ(one, other)
    pair, base = repeated.pair(one, other, key), repeated.mean(other, key)
    if pair is None or base is None or abs(pair.difference.mean) <= ROUNDING * abs(base.mean):
        return False
    return pair.difference.sign == (-1 if better == "less" else 1)


def leaders(repeated: Repeated, key: str, better: Better | None) -> tuple[str, ...]:
    """The policies that have the figure and that no other is shown to be better than."""
    names = [name for name in repeated.figures.policies if repeated.mean(name, key) is not None]

    def is_beaten(name: str) -> bool:
        return any(beats(repeated, other, name, key, better) for other in names if other != name)

    return tuple(name for name in names if not is_beaten(name))
