"""What a study of faults writes: a table in SI, and its figure."""

import pandas as pd

from plots.faults import Failing, fault_figure_files
from plots.inputs import Measure
from plots.words import Name, label
from sim.case.quantities import System
from sim.study.faults import FaultStudy, Row
from sim.study.frames import as_csv
from sim.study.single import place_of
from sim.tell.faults.fault_screen import from_words, length_words
from sim.tell.faults.fault_tables import worst_of_kinds
from sim.tell.faults.fault_words import fault_label
from sim.tell.present import UNITS, converted

OF_FIGURES = ("figures", "figures_until_noticed", "more", "more_until_noticed")


def fault_files(study: FaultStudy, system: System, *, png: bool = False) -> dict[str, str | bytes]:
    """The files by name."""
    return {"faults.csv": as_csv(fault_table(study)), **fault_figure_files(failing(study, system), png=png)}


def fault_table(study: FaultStudy) -> pd.DataFrame:
    """A row as JSON has it, its figures in columns of their own; of what noticed it the reading and its days."""
    rows = []
    for row in study.to_json()["rows"]:
        plain = {key: value for key, value in row.items() if key not in (*OF_FIGURES, "noticed")}
        parts = {f"{part} {key}": value for part in OF_FIGURES for key, value in row[part].items()}
        rows.append(plain | parts)
    return pd.DataFrame(rows)


def failing(study: FaultStudy, system: System) -> Failing:
    """The figure: a row for each kind of fault, the stage that it harms most for each way."""
    labels = {row.kind: str(fault_label(row.fault, system)) for row in worst_of_kinds(study) if row.fault is not None}
    worst: dict[tuple[object, str], Row] = {}
    for row in study.rows:
        known = worst.get((row.kind, row.policy))
        if row.fault is not None and (known is None or row.rank > known.rank):
            worst[row.kind, row.policy] = row
    volume = UNITS[system]["volume"]
    table = pd.DataFrame(
        {
            "kind": [labels[row.kind] for row in worst.values()],
            "policy": [row.policy for row in worst.values()],
            "drain": [converted(row.more["drain_m3"], volume) for row in worst.values()],
            "over": [row.harm.over_h for row in worst.values()],
            "until": [row.harm_until.over_h for row in worst.values()],
        }
    )
    return Failing(
        title=label("fault.title", title=Name(study.case.title), start=from_words(study),
                    length=length_words(study)),
        kinds=tuple(labels.values()),
        policies=study.policies,
        places=tuple(place_of(study.case, policy) for policy in study.policies),
        table=table,
        drain=Measure(label("fault.drain_change"), volume.symbol),
        over=Measure(label("fault.over_change"), UNITS[system]["hours"].symbol),
        unnoticed=label("fault.unnoticed", length=length_words(study)),
    )  # fmt: skip
