"""What the figure of a fitted weather is drawn from."""

from datetime import timedelta

import numpy as np
import pandas as pd

from plots.inputs import Measure, WeatherPicture
from plots.weather import weather_files as drawn_files
from plots.words import label, term
from sim.case.series.records import Changeable, Demand
from sim.study.weather import BAND, WeatherFit
from sim.weather.fit_daily import daily_means
from sim.weather.measures import Values, autocorrelation, share_above

HOURLY_LAGS = (1, 2, 3, 4, 6, 9, 12, 18, 24, 36, 48, 72, 120, 168, 240, 336, 504, 720)
DAILY_LAGS = (1, 2, 3, 4, 5, 7, 10, 14, 21, 28)
LEVELS = 40
LEAST_SHARE = 1e-6  # what is drawn for never; the axis is that of the logit


def weather_files(fit: WeatherFit, *, png: bool = False) -> dict[str, str | bytes]:
    """The figure by file name."""
    return drawn_files(_picture(fit), png=png)


def _picture(fit: WeatherFit) -> WeatherPicture:
    daily = not isinstance(fit.fitted, Changeable)
    logarithmic = isinstance(fit.fitted, Changeable)
    recorded, made = _in_unit(fit, fit.recorded), tuple(_in_unit(fit, each) for each in fit.made)
    times = [fit.history.start + timedelta(hours=hour) for hour in range(len(recorded))]
    of_days = isinstance(fit.fitted, Demand)
    return WeatherPicture(
        measure=Measure(term("series", fit.history.key), fit.history.unit),
        lag=Measure(label("fitted.apart"), "d" if daily else "h"),
        lag_ticks=(1, 2, 3, 5, 7, 14, 28) if daily else (1, 3, 6, 12, 24, 72, 168, 720),
        alike_words=label("fitted.alike_days") if daily else label("fitted.alike_logarithms"),
        logarithmic=logarithmic,
        course=pd.DataFrame({"time": times, "record": recorded, "made": made[0]}),
        above=_above(recorded, made, logarithmic),
        alike=_alike(recorded, made, daily, least=20 if of_days else 1),
        realisations=len(made),
    )


def _in_unit(fit: WeatherFit, values: Values) -> Values:
    at_zero, at_one = fit.history.in_file_unit(0.0), fit.history.in_file_unit(1.0)
    return at_zero + (at_one - at_zero) * values


def _above(recorded: Values, made: tuple[Values, ...], logarithmic: bool) -> pd.DataFrame:
    known = recorded[np.isfinite(recorded)]
    low, high = np.quantile(known, [0.001, 0.9995])
    levels = np.geomspace(low, high, LEVELS) if logarithmic else np.linspace(low, high, LEVELS)

    def of(values: Values) -> Values:
        return np.clip(share_above(values, levels), LEAST_SHARE, 1.0 - LEAST_SHARE)

    return _spread("value", levels, of(recorded), [of(each) for each in made])


def _alike(recorded: Values, made: tuple[Values, ...], daily: bool, least: int) -> pd.DataFrame:
    lags = DAILY_LAGS if daily else HOURLY_LAGS

    def of(values: Values) -> Values:
        return autocorrelation(daily_means(values, least) if daily else np.log(values), lags)

    return _spread("lag", np.array(lags, dtype=np.float64), of(recorded), [of(each) for each in made])


def _spread(name: str, across: Values, record: Values, made: list[Values]) -> pd.DataFrame:
    low, high = np.quantile(made, BAND, axis=0)
    return pd.DataFrame({name: across, "record": record, "mean": np.mean(made, axis=0), "low": low, "high": high})
