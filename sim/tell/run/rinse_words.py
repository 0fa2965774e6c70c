"""One wash looked at closely, in words and figures."""

from collections.abc import Iterator

from plots.words import Amount, Label, Sentence, amount, label, say
from sim.case.quantities import System
from sim.case.records import Case
from sim.study.returned import Returned
from sim.tell.present import UNITS, finely_written, solids_unit
from sim.tell.run.rinse_view import jar_texts


def first_jar_words(case: Case, returned: Returned, system: System) -> Sentence:
    """What the first jar after a wash reads."""
    unit = solids_unit(case.feed.turbidity_ratio, system)
    (first,) = jar_texts([returned.jars[0][1] * unit.per_result_unit])
    return say("rinse.first_jar", solids=amount(first, unit.symbol))


def rinse_facts(returned: Returned, system: System) -> Iterator[tuple[Label, Amount | Label]]:
    """Names and figures of what a wash takes and sends on."""
    volume, mass, grams = (UNITS[system][kind] for kind in ("volume", "mass", "small mass"))
    backwash, rinse = (
        amount(text, volume.symbol)
        for text in finely_written([each * volume.per_result_unit or None for each in
                                    (returned.backwash_m3, returned.rinse_m3)])
    )  # fmt: skip
    (drained,) = finely_written([returned.to_drain_kg * mass.per_result_unit])
    yield label("rinse.backwash"), backwash
    yield label("rinse.rinse"), rinse if returned.rinse_m3 else label("rinse.no_rinse")
    yield label("rinse.drained"), amount(drained, mass.symbol)
    if returned.sent_on_kg is not None:
        (sent,) = finely_written([returned.sent_on_kg * grams.per_result_unit])
        yield label("rinse.sent_on"), label("rinse.a_wash", mass=amount(sent, grams.symbol))
