"""One wash looked at closely, in words and figures."""

from collections.abc import Iterator

from sim.case.quantities import System
from sim.case.records import Case
from sim.study.returned import Returned
from sim.tell.present import UNITS, finely_written, solids_unit
from sim.tell.run.rinse_view import jar_texts


def first_jar_words(case: Case, returned: Returned, system: System) -> str:
    """What the first jar after a wash reads."""
    unit = solids_unit(case.feed.turbidity_ratio, system)
    (first,) = jar_texts([returned.jars[0][1] * unit.per_result_unit])
    return f"The first jar, half a minute after the return to service, reads {first} {unit.symbol}."


def rinse_facts(returned: Returned, system: System) -> Iterator[tuple[str, str]]:
    """Names and figures of what a wash takes and sends on."""
    volume, mass, grams = (UNITS[system][kind] for kind in ("volume", "mass", "small mass"))
    backwash, rinse = finely_written([each * volume.per_result_unit or None for each in
                                      (returned.backwash_m3, returned.rinse_m3)])  # fmt: skip
    (drained,) = finely_written([returned.to_drain_kg * mass.per_result_unit])
    yield "water of the backwash, to drain", f"{backwash} {volume.symbol}"
    yield "water of the rinse, to drain", f"{rinse} {volume.symbol}" if returned.rinse_m3 else "none: no rinse"
    yield "solids of this wash, to drain", f"{drained} {mass.symbol}"
    if returned.sent_on_kg is not None:
        (sent,) = finely_written([returned.sent_on_kg * grams.per_result_unit])
        yield "solids sent on in dirty water, mean of all washes", f"{sent} {grams.symbol} a wash"
