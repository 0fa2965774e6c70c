"""The frozen records that a case file becomes: plain data, SI inside, no units and no file left.

Units: m, s, kg, Pa, degC; solids concentration and deposit g/m3 (1 mg/L = 1 g/m3); flow m3/s; times of
day in seconds after midnight. Every record can be pickled and compared; none checks itself: `load_case` is
their only maker.
"""

from collections.abc import Mapping
from typing import Literal, get_args

from sim.case.fault.records import Fault
from sim.case.price.records import Prices
from sim.case.record import record
from sim.case.series.records import Demand, Feed, Remedy, Run
from sim.case.stage.records import Stage
from sim.case.train.records import NO_RULES, Downstream, Pump, Washing
from sim.case.trigger.records import Policy
from sim.case.wash.records import Drain, Supply

Use = Literal["membrane", "process", "food", "drinking"]
USES: tuple[str, ...] = get_args(Use)
"""What filtered water can be for."""

CHOICES: Mapping[str, tuple[str, str]] = {
    "coagulated": ("false", "true"),
    "law": ("ergun", "carman-kozeny"),
    "growth": ("linear", "pore-narrowing"),
}
"""By the last part of their key, what 0 and 1 of an assumed choice mean."""


@record
class Assumption:
    """A constant that the case file left out and the run uses, or that it gives with a range: this has no source.

    `key` is the dotted path where the file could give it; value, low and high are in `unit`, SI as in the
    records, or 0 and 1 of CHOICES.
    """

    key: str
    value: float
    low: float
    high: float
    unit: str
    source: str


@record
class Solved:
    """A constant that a known run gave.

    Its dotted key, its value and the range that is usual in `unit` (SI); gain, time and flow of the known run as the
    file has them.
    """

    key: str
    value: float
    low: float
    high: float
    unit: str
    known: tuple[str, str, str]


@record
class Case:
    """Everything one study needs.

    `constants` counts the physical constants that the runs use, `assumptions` are those of them the file leaves out,
    `stated` those that it gives with a range, `solved` those that a known run told;
    `source_hash` is the SHA-256 of the file's content, not of its layout, and of the series it takes from others;
    `remedies` tell what was changed in these. Without a `supply` a wash reaches any flow it asks for.
    `use` is what the filtered water is for, None where nobody says; `today` names the policy in use now. Without
    `prices` nothing is known of what water costs; without `pump` any flow asked for is reached.
    `faults`: what fails in a run, in the order of the file.
    """

    title: str
    run: Run
    feed: Feed
    demand: Demand
    stages: tuple[Stage, ...]
    policies: tuple[Policy, ...]
    assumptions: tuple[Assumption, ...]
    constants: int
    source_hash: str
    remedies: tuple[Remedy, ...] = ()
    solved: tuple[Solved, ...] = ()
    stated: tuple[Assumption, ...] = ()
    supply: Supply | None = None
    drain: Drain | None = None
    downstream: Downstream | None = None
    pump: Pump | None = None
    washing: Washing = NO_RULES
    prices: Prices | None = None
    use: Use | None = None
    today: str | None = None
    faults: tuple[Fault, ...] = ()

    @property
    def is_random(self) -> bool:
        """Whether its weather or its demand depends on seed and replicate."""
        return self.feed.is_random or self.demand.is_random

    @property
    def ranged(self) -> tuple[Assumption, ...]:
        """The constants with a range: those that are assumed, then those that the case gives with one."""
        return (*self.assumptions, *self.stated)

    @property
    def judged(self) -> Stage:
        """The stage whose water a verdict goes by: the last whose media are followed in all that they are for.

        The last stage of all where there is none such.
        """
        known = [stage for stage in self.stages if not stage.only_solids]
        return (known or list(self.stages))[-1]

    @property
    def may_be_drunk(self) -> bool:
        """Whether people may drink or eat what the water is for, as where nobody says what that is.

        No advice then lengthens a run or shortens a wash or a rinse beyond the present setting.
        """
        return self.use in ("drinking", "food", None)
