"""What differs between two cases as they are read, and what each difference does alone to the case of before."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any, Final

from hydraulics.errors import FilterrunError
from sim.case.dotted import NAMED_BY
from sim.case.load import load_case, read_case
from sim.case.record import record
from sim.case.records import Case
from sim.case.source import parse_toml, read_text
from sim.plant.simulate import simulate
from sim.study.errors import RequestError
from sim.study.single import require_policy

FIGURES: Final = ("drain_m3", "downtime_h", "breakthrough_risk")
Figures = Mapping[str, float]
Parts = tuple[str, ...]
_NO_CHANGE = ("title", "today")


@record
class Change:
    """One value of a case, by the parts of its key, as the old and as the new case have it; None where one has none.

    A list whose items are others, such as the layers of a bed, is one value; so is what starts a wash in another way.
    """

    parts: Parts
    was: Any
    now: Any

    @property
    def key(self) -> str:
        """The dotted key."""
        return ".".join(self.parts)


@record
class Effect:
    """Changes of the old case, and by how much they move each of FIGURES [SI] on the same weather.

    Several where none of them can stand alone; `whole`: not even together, so all changes of the case move them so.
    """

    changes: tuple[Change, ...]
    moved: Figures
    whole: bool = False


@record
class Against:
    """The old and the new case and what each calls the policy, their figures, and the effects, the largest first."""

    old: Case
    policy: str
    new: Case
    new_policy: str
    was: Figures
    now: Figures
    effects: tuple[Effect, ...]


def against(old: Path, new: Path, policy: str, *, seed: int = 1) -> Against:
    """What one policy of a case changed against an old one; without an effect where nothing did.

    Where the old case has no such policy, it is held against the one in use there (`today`). Other policies and
    titles are no changes. Raises CaseError, and RequestError where the old case has neither.
    """
    case, before = load_case(new), _before(old, policy)
    require_policy(case, policy)
    was = _figures(before.case, policy, seed)
    now = was if _same(before.case, case, policy) else _figures(case, policy, seed)
    found = () if now is was else _effects(before, tuple(_changes(before, new)), was, now, seed)
    return Against(
        old=load_case(old), policy=before.own, new=case, new_policy=policy, was=was, now=now,
        effects=tuple(sorted(found, key=lambda each: _size(each.moved, was), reverse=True)),
    )  # fmt: skip


@record
class _Before:
    """The old case as text and as read, its policy `own` called `policy`, as in the new one, by some settings."""

    path: Path
    text: str
    own: str
    policy: str
    settings: Mapping[str, Any]
    case: Case

    def changed(self, settings: Mapping[str, Any]) -> Case:
        """The case with some settings changed."""
        return read_case(self.text, self.path, {**self.settings, **settings})


def _before(path: Path, policy: str) -> _Before:
    case, text = load_case(path), read_text(path)
    own = policy if any(each.name == policy for each in case.policies) else case.today
    if own is None:
        raise RequestError(
            f'--against {path}: it has no policy "{policy}" and does not say which one is in use; '
            "try: today = and the name of one of its policies"
        )
    policies = parse_toml(text, path)["policy"]
    settings = {} if own == policy else {"policy": policies | {policy: policies[own]}}
    return _Before(
        path=path, text=text, own=own, policy=policy, settings=settings, case=read_case(text, path, settings)
    )


def _changes(before: _Before, new: Path) -> Iterator[Change]:
    """Every key that differs; the file of a series is the one beside its own case."""
    was, now = {**parse_toml(before.text, before.path), **before.settings}, parse_toml(read_text(new), new)
    for change in _differing(_with_files(was, before.path.parent), _with_files(now, new.parent), ()):
        if change.parts[0] not in _NO_CHANGE and (change.parts[0] != "policy" or change.parts[1] == before.policy):
            yield change


def _with_files(place: Any, folder: Path) -> Any:
    if isinstance(place, dict):
        return {name: str(folder.resolve() / each) if name == "file" else _with_files(each, folder)
                for name, each in place.items()}  # fmt: skip
    return [_with_files(each, folder) for each in place] if isinstance(place, list) else place


def _differing(was: Any, now: Any, parts: Parts) -> Iterator[Change]:
    if isinstance(was, dict) and isinstance(now, dict) and was.get("start_on") == now.get("start_on"):
        for name in dict.fromkeys((*was, *now)):
            yield from _differing(was.get(name), now.get(name), (*parts, name))
    elif (names := _names(was, parts)) and names == _names(now, parts):
        for name, one, other in zip(names, was, now, strict=True):
            yield from _differing(one, other, (*parts, name))
    elif was != now:
        yield Change(parts=parts, was=was, now=now)


def _names(items: Any, parts: Parts) -> list[str]:
    """What the items of a list of tables go by: a name of their own, else their place."""
    if not isinstance(items, list) or not all(isinstance(each, dict) for each in items):
        return []
    names = [str(each.get(NAMED_BY.get(parts[-1], ""), "")) for each in items]
    return [name if name and names.count(name) == 1 else str(place) for place, name in enumerate(names)]


def _effects(
    before: _Before, changes: Sequence[Change], was: Figures, now: Figures, seed: int
) -> Iterator[Effect]:
    """Each change alone; those that cannot stand so with others of their table, then with all that are left."""
    tables = dict.fromkeys(change.parts[:-1] for change in changes)
    left = list[Change]()
    for table in tables:
        together = list[Change]()
        for change in (each for each in changes if each.parts[:-1] == table):
            found = _moved(before, (change,), was, seed)
            if found is None:
                together.append(change)
            elif found:
                yield Effect(changes=(change,), moved=found)
        found = _moved(before, together, was, seed) if len(together) > 1 else None
        if found is None:
            left += together
        elif found:
            yield Effect(changes=tuple(together), moved=found)
    if left:
        found = _moved(before, left, was, seed)
        if found is None or found:
            yield Effect(changes=tuple(left), moved=found or _less(now, was), whole=found is None)


def _moved(before: _Before, changes: Sequence[Change], was: Figures, seed: int) -> Figures | None:
    """What some changes move; nothing where the case says the same with them, None where it cannot be run."""
    try:
        case = before.changed({each.key: each.now for each in changes})
        return {} if _same(before.case, case, before.policy) else _less(_figures(case, before.policy, seed), was)
    except FilterrunError:
        return None


def _same(one: Case, other: Case, policy: str) -> bool:
    """Whether a run of a policy cannot tell two cases apart."""
    return _bare(one, policy) == _bare(other, policy)


def _bare(case: Case, policy: str) -> Case:
    """A case without what no run depends on: what it is called, and whence its constants are."""
    return replace(
        case, title="", source_hash="", today=None, assumptions=(), constants=0, stated=(), solved=(), remedies=(),
        policies=tuple(each for each in case.policies if each.name == policy),
    )  # fmt: skip


def _figures(case: Case, policy: str, seed: int) -> Figures:
    site = simulate(case, policy, seed=seed).site
    return {key: float(site[key] or 0.0) for key in FIGURES}


def _less(now: Figures, was: Figures) -> Figures:
    return {key: now[key] - was[key] for key in FIGURES}


def _size(moved: Figures, was: Figures) -> float:
    """The largest share by which a figure moves; the risk is one already."""
    return max(abs(moved[key]) / (1.0 if key == "breakthrough_risk" else was[key] or 1.0) for key in FIGURES)
