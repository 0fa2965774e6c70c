"""A fitted weather on the screen."""

import click
from rich.console import Console

from sim.cli.screen import list_out, say
from sim.study.weather import WeatherFit
from sim.tell.review.told_words import remedy_words
from sim.tell.weather.weather_words import likeness_listing, paste, remarks


def show(console: Console, fit: WeatherFit) -> None:
    """The lines for a case, then the table against the record and what is to be known of it."""
    click.echo(paste(fit))  # to be copied, so never wrapped
    list_out(console, likeness_listing(fit))
    for line in (*remedy_words(fit.history.remedies), *remarks(fit)):
        say(console, line)
