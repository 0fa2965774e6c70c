"""A case with what sliders say written into its text, for “My plant” and for saving."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any

import tomlkit

from sim.case.dotted import parts_of
from sim.case.quantities import System
from sim.web.cases_read import parsed
from sim.web.shelf import Held
from sim.web.sliders import Slider, in_other_units, known, rinse_sliders, settings_of, start_sliders
from sim.web.worker import Asked
from sim.web.worth_sliders import LIMIT, worth_sliders


@dataclass(frozen=True, slots=True, kw_only=True)
class Carried:
    """A case with its sliders' settings in its text: what they changed, and where they stand in the other units.

    `told` are pairs: the setting, and its value beside the one of the case as it was.
    """

    held: Held
    told: tuple[tuple[str, str], ...]
    switched: Asked


def every_slider(data: Mapping[str, Any], system: System) -> tuple[Slider, ...]:
    """The sliders of all questions, each once."""
    washes = [_of_stage(each, stage["name"]) for stage in data["stage"]
              for each in rinse_sliders(data, stage["name"], system)]  # fmt: skip
    every = [*worth_sliders(data, system), *washes, *start_sliders(data, system)]
    return tuple({each.key: each for each in every}.values())


def _of_stage(slider: Slider, stage: str) -> Slider:
    return replace(slider, group=f"{slider.group} of {stage}") if slider.key.startswith("stage.") else slider


def moved_settings(held: Held, asked: Asked, system: System) -> dict[str, Any]:
    """What an address changes in the case, whichever question it comes from; Refused for what no question has."""
    data = parsed(held)
    return settings_of(every_slider(data, system), dict(asked), data)


def carried(held: Held, asked: Asked, system: System) -> Carried:
    """The case with these settings in its text; the text is not yet read as a case."""
    data, moved = parsed(held), dict(asked)
    sliders = every_slider(data, system)
    settings = settings_of(sliders, moved, data)
    others = {each.key: each for each in every_slider(data, "us" if system == "si" else "si")}
    switched = ((each.key, in_other_units(each, others[each.key], moved[each.key])) for each in sliders
                if each.key in moved)  # fmt: skip
    return Carried(
        held=replace(held, text=written_in(held.text, settings)),
        told=tuple(_told(sliders, moved)),
        switched=tuple(sorted(switched)),
    )


def _told(sliders: tuple[Slider, ...], moved: Mapping[str, str]) -> Iterator[tuple[str, str]]:
    known(sliders, moved)
    for slider in sliders:
        value = slider.read(moved[slider.key]) if slider.key in moved else slider.value
        if value == slider.value:
            continue
        if slider.key == LIMIT:
            yield f"{slider.group}, {slider.label}", "asked of the page alone; a case has no place for it"
            continue
        own = "blank" if slider.value is None else f"{slider.value:.10g} {slider.shown}"
        new = "blank" if value is None else f"{value:.10g} {slider.shown}"
        yield f"{slider.group}, {slider.label}", f"{new}, was {own}"


def written_in(text: str, settings: Mapping[str, Any]) -> str:
    """The text of a case with values at dotted keys, comments and layout kept; None leaves a key out.

    Items of lists go by their position.
    """
    document = tomlkit.parse(text)
    for key, value in settings.items():
        *path, last = parts_of(key)
        place: Any = document
        for part in path:
            place = _inside(place, part, top=place is document)
        if value is not None:
            place[last] = _inline(value)
        elif last in place:
            del place[last]
    return tomlkit.dumps(document)


def _inside(place: Any, part: str, *, top: bool) -> Any:
    """The table at a key, made where there is none or a single value stands for it."""
    if isinstance(place, list):
        return place[int(part)]
    if not isinstance(place.get(part), dict | list):
        place[part] = tomlkit.table() if top else tomlkit.inline_table()
    return place[part]


def _inline(value: Any) -> Any:
    """A table as one that stands on its key's own line, so that no key after it ends up inside."""
    if not isinstance(value, Mapping):
        return value
    table = tomlkit.inline_table()
    for key, item in value.items():
        table[key] = _inline(item)
    return table
