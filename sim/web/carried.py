"""A case with what sliders say written into its text, for “My plant” and for saving."""

from collections.abc import Iterator
from dataclasses import replace
from typing import Any, NamedTuple

from plots.words import Amount, Name, Term, amount, label, localised, term
from sim.case.dotted import parts_of
from sim.case.quantities import System
from sim.web import meter, rinse, start
from sim.web.case_text import Path, written_in
from sim.web.cases_read import case_of, parsed
from sim.web.shelf import Asked, Held, Stand
from sim.web.sliders import Slider, in_other_units, moved, settings_of
from sim.web.worker import Tell


class Carried(NamedTuple):
    """A case with its sliders' settings in its text: what they changed, and where they stand in the other units.

    `shown` are pairs: the setting, and its value beside the one of the case as it was.
    """

    held: Held
    shown: tuple[tuple[str, str], ...]
    switched: Asked


def every_slider(held: Held, system: System) -> tuple[Slider, ...]:
    """The sliders of all questions, each once."""
    names = [stage["name"] for stage in parsed(held)["stage"]]
    washes = [
        replace(each, group=label("page.group.wash_of", stage=Name(name))) if each.key.startswith("stage.") else each
        for name in names for each in rinse.sliders(held, name, system)
    ]  # fmt: skip
    every = [*meter.sliders(held, system), *washes, *start.sliders(held, system)]
    return tuple({each.key: each for each in every}.values())


def moved_settings(stand: Stand) -> dict[str, Any]:
    """What an address changes in the case, whichever question it comes from; Refused for what no question has."""
    return settings_of(every_slider(stand.held, stand.system), stand)


def carry(stand: Stand, _tell: Tell) -> Carried:
    """The case with these settings in its text, once that has been read without a problem."""
    held, asked, system = stand
    sliders, others = every_slider(held, system), every_slider(held, "us" if system == "si" else "si")
    settings: dict[Path, Any] = {
        tuple(parts_of(key)): value for key, value in moved_settings(stand).items()
    }
    written = replace(held, text=written_in(held.text, settings))
    case_of(written)
    return Carried(
        held=written,
        shown=tuple(_shown(sliders, asked)),
        switched=tuple(sorted(in_other_units(sliders, others, asked))),
    )


def _shown(sliders: tuple[Slider, ...], asked: Asked) -> Iterator[tuple[str, str]]:
    for slider, value in moved(sliders, asked):
        if slider.key == meter.LIMIT:
            became = label("page.carried.page_alone")
        else:
            became = label("page.carried.was", new=_value(slider, value), own=_value(slider, slider.value))
        yield f"{slider.group}, {slider.label}", became


def _value(slider: Slider, value: float | None) -> Amount | Term:
    return term("slider", "blank") if value is None else amount(localised(f"{value:.10g}"), slider.shown)
