"""The frozen records of series and of weather: what a value is through time, SI, as in `records`."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Steady:
    """One value at all times."""

    value: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Profile:
    """A value for each hour of the day (0-1 h first) times a factor for each weekday (Monday first)."""

    hourly: tuple[float, ...]
    weekday: tuple[float, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Seasonal:
    """mean + swing cos(2 pi (day of year - peak_day) / 365.25); `peak_day` (1-366) has the highest value."""

    mean: float
    swing: float
    peak_day: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Season:
    """A yearly factor 1 + swing cos(2 pi (day of year - peak_day) / 365.25), swing between 0 and 1."""

    swing: float
    peak_day: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Measured:
    """Values from a file: `value[i]` holds from end[i - 1], or from the start of the run, up to `end[i]`.

    Ends rise, in seconds from the start of the run; the last one is the end of the run.
    """

    end: tuple[float, ...]
    value: tuple[float, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Wander:
    """How a quantity strays from its usual value: normal with standard deviation `spread`, of the logarithm or in the
    quantity's own unit as its owner says; the autocorrelation falls by the factor e in `memory` [s]."""

    spread: float
    memory: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Storms:
    """Spells that break out at random, `per_year` in the mean, with the yearly factor `season` on their rate.

    Each lifts the water to `height` times its usual value in the mean (exponentially distributed above 1); what it
    adds falls by the factor e in `length` [s]. Storms that meet add up.
    """

    per_year: float
    height: float
    length: float
    season: Season | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Changeable:
    """A random series: median * season * exp(fast + slow) * (1 + what storms add), one value an hour; `median` [SI]
    is that of the water between storms, over the year."""

    median: float
    fast: Wander
    slow: Wander | None
    season: Season | None
    storms: Storms | None


@dataclass(frozen=True, slots=True, kw_only=True)
class UnsettledSeason:
    """A season with weather about it: one value a day, which strays from the seasonal one by `wander` [same unit]."""

    usual: Seasonal
    wander: Wander


Series = Steady | Profile | Seasonal | Measured | Changeable
