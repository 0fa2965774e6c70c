"""The constants that a case leaves to be assumed, by names that a person reads, and what each of them is."""

from collections.abc import Sequence

from plots.words import Label, Name, Term, colon, items, label, term
from plots.words.catalogue import found
from sim.case.records import Case
from sim.case.stage.records import Stage


def meaning(key: str) -> Term:
    """What the constant under a dotted key is, in a few words; empty where the name says it."""
    name = key.rpartition(".")[2]
    return term("constant", name) if name in found("terms.constant") else Term("")


def constant_name(key: str, stages: Sequence[Stage]) -> Name:
    """The name of a constant behind its stage and medium, where the case has it as a dotted path."""
    stage, layer, name = _parts(key, stages)
    where = ", ".join(dict.fromkeys(part for part in (stage, layer) if part))
    return Name(f"{where}{colon()}{name}" if where else name)


def assumed_names(case: Case) -> tuple[tuple[Label | Name, tuple[str, ...]], ...]:
    """Names of the assumed constants by what they belong to: the site, a stage, or layers that lack the same."""
    layers: dict[tuple[str, str], list[str]] = {}
    for assumption in case.assumptions:
        stage, layer, name = _parts(assumption.key, case.stages)
        layers.setdefault((stage, name), []).append(layer)
    groups: dict[Label | Name, list[str]] = {}
    for (stage, name), media in layers.items():
        group = Name(f"{stage}, {items(media)}" if media[0] else stage) if stage else label("finding.site")
        groups.setdefault(group, []).append(name)
    return tuple((group, tuple(names)) for group, names in groups.items())


def _parts(key: str, stages: Sequence[Stage]) -> tuple[str, str, str]:
    """Stage, layer and rest of a dotted key; empty where there is none."""
    stage = next((each for each in stages if key.startswith(f"stage.{each.name}.")), None)
    if stage is None:
        return "", "", key
    name = key.removeprefix(f"stage.{stage.name}.")
    if not name.startswith("layer."):
        return stage.name, "", name
    _, number, name = name.split(".", 2)
    return stage.name, _layer_name(stage, int(number)), name


def _layer_name(stage: Stage, place: int) -> str:
    """The medium of a layer, with its place counted from the top where the bed has the medium twice."""
    medium = stage.layers[place].medium
    twice = sum(layer.medium == medium for layer in stage.layers) > 1
    return f"{term('medium', medium)} ({place + 1})" if twice else term("medium", medium)
