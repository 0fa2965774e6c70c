"""What a study of settings or of worth does, while it goes on."""

from typing import assert_never

from plots.words import Code, Kind, Label, Name, label
from sim.study.decide.trials import Phase


def phase_words(phase: Phase) -> Label:
    """A phase in a line."""
    match phase.what:
        case "searching":
            return label("phase.searching", place=phase.place, count=phase.count, way=Name(phase.name))
        case "confirming":
            return label("phase.confirming", place=phase.place, count=phase.count, way=Name(phase.name))
        case "failing":
            return label("phase.failing", device=Kind(phase.name))
        case "seasons":
            return label("phase.seasons")
        case "constants":
            return label("phase.constants", place=phase.place, count=phase.count, key=Code(phase.name))
        case "all constants":
            return label("phase.all_constants", place=phase.place, count=phase.count)
        case _:
            assert_never(phase.what)
