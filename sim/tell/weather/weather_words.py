"""A fitted weather in words: the table against the record, and what is to be known of it."""

from collections.abc import Sequence
from typing import Literal

from plots.words import Amount, Kind, Number, Sentence, amount, label, localised, say, term
from sim.case.series.records import Changeable, UnsettledSeason
from sim.case.spelling import hundredths, short
from sim.study.weather import Likeness, WeatherFit
from sim.tell.listing import Column, Listing

Family = Literal["temperature", "demand", "solids"]
FAMILIES: dict[str, Family] = {"feed.temperature": "temperature", "demand.flow": "demand"}
"""What kind of random weather a key of a case has; every other key has that of solids."""


def likeness_listing(fit: WeatherFit) -> Listing:
    """Every measure: the record, the mean over the realisations, and where 95 % of them lie."""
    return Listing(
        columns=(
            Column("", "words"),
            Column(label("column.unit"), "words"),
            Column(label("fitted.record"), "numbers"),
            Column(label("fitted.fitted"), "numbers"),
            Column(label("fitted.low"), "numbers"),
            Column(label("fitted.high"), "numbers"),
        ),
        rows=tuple(
            (term("likeness", each.name), fit.history.unit if each.kind == "level" else "", *_numbers(each, fit))
            for each in fit.likeness
        ),
    )


def _numbers(each: Likeness, fit: WeatherFit) -> Sequence[Number]:
    values = (each.record, each.mean, each.low, each.high)
    if each.kind == "level" and isinstance(fit.fitted, UnsettledSeason):
        return [localised(hundredths(value)) for value in values]
    return [localised(f"{value:.2f}" if each.kind == "correlation" else short(value)) for value in values]


def _apart(each: Likeness) -> Amount | Number:
    """How far the mean of what was made is from the record."""
    apart = each.mean - each.record
    if each.kind == "level":
        return amount(localised(f"{100.0 * apart / each.record:+.0f}"), "%")
    return localised(f"{apart:+.2f}")


def remarks(fit: WeatherFit) -> tuple[Sentence, ...]:
    """What was left out, every measure of the record outside of what the fitted weather gives, what storms count."""
    found = []
    family = Kind(FAMILIES.get(fit.history.key, "solids"))
    if fit.zeros:
        found.append(say("fitted.zeros", count=fit.zeros))
    for each in fit.likeness:
        if each.near is False and not each.low <= each.record <= each.high:
            record, mean, *_ = _numbers(each, fit)
            measure, apart = term("likeness", each.name), _apart(each)
            found.append(say("fitted.unlike", family=family, measure=measure, record=record, mean=mean, apart=apart))
    if isinstance(fit.fitted, Changeable) and fit.fitted.storms is not None:
        found.append(say("fitted.storms"))
    return tuple(found)
