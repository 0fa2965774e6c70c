"""The figure of a fitted weather: everything on it named, points and bands where the tables have them."""

from datetime import datetime, timedelta

import numpy as np
import pandas as pd
import pytest
from matplotlib.figure import Figure

from plots.inputs import Measure, WeatherPicture
from plots.style import house_style
from plots.weather import weather_figure, weather_files

HOURS = 500


def picture(*, logarithmic: bool = True) -> WeatherPicture:
    numbers = np.random.default_rng(1)
    record, made = numbers.lognormal(1.0, 0.5, HOURS), numbers.lognormal(1.0, 0.5, HOURS)
    record[100:160] = made[100:160] = np.nan
    times = [datetime(2027, 5, 1) + timedelta(hours=hour) for hour in range(HOURS)]
    value, lag = np.geomspace(0.5, 12.0, 9), np.array([1.0, 6.0, 24.0, 168.0])
    above, alike = np.linspace(0.99, 0.001, 9), np.array([0.9, 0.6, 0.3, -0.2])

    def spread(name: str, across: "np.ndarray[tuple[int], np.dtype[np.float64]]", mean: object) -> pd.DataFrame:
        middle = np.asarray(mean, dtype=np.float64)
        return pd.DataFrame(
            {name: across, "record": middle * 0.99, "mean": middle, "low": middle - 0.0005, "high": middle + 0.0005}
        )

    return WeatherPicture(
        measure=Measure("turbidity", "NTU"), lag=Measure("time apart", "h"), lag_ticks=(1, 6, 24, 168, 720),
        alike_words="autocorrelation of logarithms", logarithmic=logarithmic,
        course=pd.DataFrame({"time": times, "record": record, "made": made}),
        above=spread("value", value, above), alike=spread("lag", lag, alike), realisations=40,
    )  # fmt: skip


def drawn(given: WeatherPicture) -> Figure:
    with house_style():
        figure = weather_figure(given)
        figure.draw_without_rendering()
    return figure


def test_axes_say_what_they_show_in_which_unit() -> None:
    record, made, above, alike = drawn(picture()).axes
    assert (record.get_ylabel(), made.get_ylabel()) == ("NTU", "NTU")
    assert (above.get_xlabel(), above.get_ylabel()) == ("turbidity, NTU", "share of the time above")
    assert (alike.get_xlabel(), alike.get_ylabel()) == ("time apart, h", "autocorrelation of logarithms")
    legend = above.get_legend()
    assert legend is not None
    assert [text.get_text() for text in legend.get_texts()] == ["95 % of the realisations", "their mean", "record"]


def test_both_series_have_one_range_and_their_gaps() -> None:
    given = picture()
    record, made, *_ = drawn(given).axes
    assert record.get_ylim() == made.get_ylim()
    for axes, name in ((record, "record"), (made, "made")):
        np.testing.assert_array_equal(axes.lines[0].get_ydata(), given.course[name])


@pytest.mark.parametrize("logarithmic", [True, False])
def test_values_are_drawn_by_their_logarithm_where_asked(logarithmic: bool) -> None:
    record, _, above, alike = drawn(picture(logarithmic=logarithmic)).axes
    scale = "log" if logarithmic else "linear"
    assert (record.get_yscale(), above.get_xscale()) == (scale, scale)
    assert (above.get_yscale(), alike.get_xscale()) == ("logit", "log")
    assert alike.get_ylim()[0] < -0.2, "a correlation below nothing is still seen"


def test_the_points_are_those_of_the_tables() -> None:
    given = picture()
    *_, above, alike = drawn(given).axes
    for axes, table, across in ((above, given.above, "value"), (alike, given.alike, "lag")):
        points = next(line for line in axes.lines if line.get_marker() == "o")
        np.testing.assert_array_equal(points.get_xdata(), table[across])
        np.testing.assert_array_equal(points.get_ydata(), table["record"])


def test_files_repeat_to_the_byte_and_carry_the_caption() -> None:
    first, again = weather_files(picture()), weather_files(picture())
    assert first == again
    svg = first["weather.svg"]
    assert isinstance(svg, str)
    assert "40 realisations" in svg
    assert set(first) == {"weather.svg"}
