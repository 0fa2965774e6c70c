"""The frozen records of series and of weather: what a value is through time, SI, as in `records`."""

from datetime import date, datetime
from typing import Literal

from sim.case.chemistry.records import Solute
from sim.case.record import record


@record
class Steady:
    """One value at all times."""

    value: float


@record
class Profile:
    """A value for each hour of the day (0-1 h first) times a factor for each weekday (Monday first)."""

    hourly: tuple[float, ...]
    weekday: tuple[float, ...]


@record
class Seasonal:
    """mean + swing cos(2 pi (day of year - peak_day) / 365.25); `peak_day` (1-366) has the highest value."""

    mean: float
    swing: float
    peak_day: int


@record
class Season:
    """A yearly factor 1 + swing cos(2 pi (day of year - peak_day) / 365.25), swing between 0 and 1."""

    swing: float
    peak_day: int


@record
class Measured:
    """Values from a file: `value[i]` holds from end[i - 1], or from the start of the run, up to `end[i]`.

    Ends rise, in seconds from the start of the run; the last one is the end of the run.
    """

    end: tuple[float, ...]
    value: tuple[float, ...]

    def times(self, factor: float) -> "Measured":
        """The same times with their values times a factor."""
        return Measured(end=self.end, value=tuple(factor * value for value in self.value))


@record
class Wander:
    """How a quantity strays from its usual value: normal with standard deviation `spread`, of the logarithm or in the
    quantity's own unit as its owner says; the autocorrelation falls by the factor e in `memory` [s]."""

    spread: float
    memory: float


@record
class Storms:
    """Spells that break out at random, `per_year` in the mean, with the yearly factor `season` on their rate.

    Each lifts the water to `height` times its usual value in the mean (exponentially distributed above 1); what it
    adds falls by the factor e in `length` [s]. Storms that meet add up.
    """

    per_year: float
    height: float
    length: float
    season: Season | None


@record
class Changeable:
    """A random series: median * season * exp(fast + slow) * (1 + what storms add), one value an hour; `median` [SI]
    is that of the water between storms, over the year."""

    median: float
    fast: Wander
    slow: Wander | None
    season: Season | None
    storms: Storms | None


@record
class UnsettledSeason:
    """A season with weather about it: one value a day, which strays from the seasonal one by `wander` [same unit]."""

    usual: Seasonal
    wander: Wander


Series = Steady | Profile | Seasonal | Measured | Changeable


Oxidant = Literal["chlorine", "permanganate", "none"]


@record
class Run:
    """When the run starts, how long it lasts [s], time over the limit allowed in a year [s].

    All times of day are read from the run's own clock, which never jumps: the standard time of its place. `zone` is
    that clock's offset from universal time ("UTC+1"), None where neither the case nor a series of it says. `summer`:
    from when to when [s from the start] a clock there that follows daylight saving is ahead, and by how much [s].
    """

    start: datetime
    length: float
    allowed_over_limit: float | None
    zone: str | None = None
    summer: tuple[tuple[float, float, float], ...] = ()


@record
class Coagulant:
    """What is dosed ahead of the first stage: `product`, and the filterable solids that its floc adds to the feed.

    These are `adds` [g/m3], and `adds_per_solids` g for each g of the feed's own solids where the dose follows its
    turbidity; else `dose` [g/m3] is that of the product.
    """

    product: str
    adds: float
    adds_per_solids: float
    dose: float | None = None


@record
class Feed:
    """Water that is drawn for the first stage: temperature [degC], its own suspended solids [g/m3].

    `turbidity_ratio` is g/m3 of solids per NTU, None when the case speaks of solids only; `oxidant` is what the feed
    carries, None where nobody says; `coagulant` is dosed to all that goes into the train, not to wash water from
    elsewhere. `solutes`: what is dissolved in it [g/m3], each at most once; `acidity`: its pH, None if unknown.
    """

    temperature: Steady | Seasonal | Measured | UnsettledSeason
    solids: Series
    turbidity_ratio: float | None
    oxidant: Oxidant | None = None
    coagulant: Coagulant | None = None
    solutes: tuple[tuple[Solute, Series], ...] = ()
    acidity: Series | None = None

    @property
    def is_random(self) -> bool:
        """Whether the seed makes a difference to it."""
        series = (self.solids, self.acidity, *(each for _, each in self.solutes))
        return any(isinstance(each, Changeable) for each in series) or isinstance(self.temperature, UnsettledSeason)


@record
class Demand:
    """What the train is asked to deliver [m3/s], times the yearly factor if there is one; nothing on `closed` days.

    `wander` is a factor that changes from day to day: lognormal about a mean of 1, its spread that of the logarithm.
    With a unit downstream the demand is what leaves the unit's tank.
    """

    flow: Steady | Profile | Measured
    season: Season | None
    wander: Wander | None = None
    closed: tuple[date, ...] = ()

    @property
    def is_random(self) -> bool:
        """Whether the seed makes a difference to it."""
        return self.wander is not None


Remedied = Literal[
    "below zero, taken as zero", "below zero, taken as missing", "stuck, taken as missing",
    "filled by holding the value before", "filled by interpolation", "began anew, counted on",
]  # fmt: skip


@record
class Remedy:
    """What a remedy named in the case has changed in a series from a file.

    `key` is the series' dotted key; `what` is the remedy; `count` values of
    the `of` that the run takes from the file, at most `longest` [s] of them in a row.
    """

    key: str
    what: Remedied
    count: int
    of: int
    longest: float
