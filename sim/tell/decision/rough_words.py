"""What a study would answer so far, in a sentence."""

from plots.words import Kind, Name, Sentence, say
from sim.case.quantities import System
from sim.case.records import Case
from sim.study.decide.trials import Rough
from sim.tell.decision.told import QUANTITIES, amount


def rough_words(rough: Rough, case: Case, system: System) -> Sentence:
    """The way of least cost or water so far, against today."""
    if rough.tried is None:
        return say("advice.rough_none", number=rough.number, count=rough.count)
    money = "" if case.prices is None else Name(case.prices.currency)
    then, now = (
        amount(each.mean(rough.least), QUANTITIES[rough.least], system, money) for each in (rough.tried, rough.today)
    )
    least, way = Kind(rough.least), Name(rough.way)
    return say("advice.rough", least=least, number=rough.number, count=rough.count, way=way, then=then, now=now)
