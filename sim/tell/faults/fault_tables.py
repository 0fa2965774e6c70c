"""Every row of a study of faults as text, and the worst of each kind."""

from collections.abc import Iterable, Iterator, Mapping, Sequence

from plots.words import Name, Number, count, label
from sim.case.quantities import Quantity, System
from sim.plant.records import Figure
from sim.study.faults import SAME_H, SAME_M3, FaultStudy, Row, over_hours
from sim.study.faults_read import BROKEN, RUNS
from sim.tell.faults.fault_words import fault_label, noticed_label
from sim.tell.listing import Column, Listing, listing_of
from sim.tell.present import ABSENT, UNITS, column

Cells = Sequence[str]


def worst_of_kinds(study: FaultStudy) -> list[Row]:
    """A row of each kind of fault, with the way and the stage that it harms most; the most harmful first."""
    worst: dict[str, Row] = {}
    for row in study.rows:
        if row.kind is not None and (row.kind not in worst or row.rank > worst[row.kind].rank):
            worst[row.kind] = row
    return sorted(worst.values(), key=lambda row: row.rank, reverse=True)


def first_listing(study: FaultStudy, most: int, system: System) -> Listing:
    """Each way with nothing failing, the most forgiving first; of so many kinds those that harm it most below it."""
    kinds = worst_of_kinds(study)[:most]
    rows = [row for way in study.order() for row in (study.usual(way), *(x for x in kinds if x.policy == way))]
    return _listing(study, rows, system, whole=False)


def whole_listing(study: FaultStudy, system: System) -> Listing:
    """Every row, way by way."""
    rows = [row for way in study.order() for row in (study.usual(way), *study.of(way))]
    return _listing(study, rows, system, whole=True)


def _listing(study: FaultStudy, rows: Sequence[Row], system: System, *, whole: bool) -> Listing:
    staged = whole and len(study.case.stages) > 1
    return listing_of(
        [
            (Column(label("fault.what"), "long words"), [_what(row, system) for row in rows]),
            *([(Column(label("fault.stage"), "long words"), [_stage(row) for row in rows])] if staged else []),
            *((Column(head, "numbers"), texts) for head, texts in _figures(study, rows, system, whole=whole)),
            (Column(label("fault.noticed"), "long words"),
             ["" if row.fault is None else noticed_label(row) for row in rows]),
        ]
    )  # fmt: skip


def _what(row: Row, system: System) -> str:
    if row.fault is None:
        return Name(row.policy)
    return f"- {fault_label(row.fault, system)}"


def _stage(row: Row) -> str:
    return "" if row.fault is None or row.fault.stage is None else Name(row.fault.stage)


def _figures(
    study: FaultStudy, rows: Sequence[Row], system: System, *, whole: bool
) -> Iterator[tuple[str, Cells]]:
    volume = UNITS[system]["volume"].symbol
    yield label("fault.drain", unit=volume), _changes(rows, "drain_m3", "volume", SAME_M3, system)
    yield label("fault.downtime"), _changes(rows, "downtime_h", "hours", SAME_H, system)
    if any(row.figures[BROKEN] is not None for row in rows):
        yield label("fault.broken"), [_broken(row) for row in rows]
    yield label("fault.over"), _signed(rows, [_over(row, row.more) for row in rows], "hours", system)
    until = _signed(rows, [_over(row, row.more_until) for row in rows], "hours", system)
    yield label("fault.over_until"), ["" if row.fault is None else text
                                      for row, text in zip(rows, until, strict=True)]  # fmt: skip
    if whole and any(row.harm.unmet_m3 for row in study.rows if row.fault is not None):
        yield label("fault.unmet", unit=volume), _changes(rows, "unmet_m3", "volume", SAME_M3, system)
    if whole and any(row.figures["downstream_solids_kg"] for row in rows):
        yield label("fault.unit"), _changes(rows, "downstream_solids_kg", "mass", 0.0, system)


def _over(row: Row, more: Mapping[str, Figure]) -> Figure:
    """Hours over the limit that is over longest; of a fault what it has more, below 0 where it has less."""
    return _beyond(over_hours(row.figures if row.fault is None else more), SAME_H)


def _broken(row: Row) -> str:
    part, every = int(row.figures[BROKEN] or 0), int(row.figures[RUNS] or 0)
    return label("fault.part", part=count(part), whole=count(every)) if every else ABSENT


def _changes(rows: Sequence[Row], key: str, quantity: Quantity, same: float, system: System) -> Cells:
    """What each way has with nothing failing, and what a fault adds to it."""
    values = [row.figures[key] if row.fault is None else _beyond(row.more[key], same) for row in rows]
    return _signed(rows, values, quantity, system)


def _beyond(value: Figure, same: float) -> Figure:
    return 0.0 if value is not None and abs(value) < same else value


def _signed(rows: Sequence[Row], values: Iterable[Figure], quantity: Quantity, system: System) -> Cells:
    known = list(values)
    texts = column(known, quantity, system)
    return [_plus(text) if row.fault is not None and value else text
            for row, value, text in zip(rows, known, texts, strict=True)]  # fmt: skip


def _plus(text: Number) -> Number:
    return text if text.startswith(("-", "<", ">")) else Number(f"+{text}")
