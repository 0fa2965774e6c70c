"""A study of worth whose runs are kept: other prices choose from the settings that were tried, without a search."""

import math
import pickle

from sim.case.price.records import NO_PRICES
from sim.case.records import Case
from sim.study.decide.advice import Sought, Wishes, policy_of_today
from sim.study.decide.knobs import knobs_of
from sim.study.decide.payback import Payback, payback
from sim.study.decide.trials import Bench, priced
from sim.study.decide.whatif import device_of

YEAR = 365.25  # d
TRIED = {True: (8, 14), False: (10, 45)}  # settings of a policy, coarsely or not: about so many, and so many a knob


def kept_runs(bench: Bench, wishes: Wishes) -> bytes:
    """Every run of the study, and by policy what was tried: for `worth_by` alone to read."""
    found = payback(bench, wishes)
    sought = {each.policy: (each.knobs, each.scouted) for each in found.advice.policies}
    return pickle.dumps((bench.known, sought), protocol=pickle.HIGHEST_PROTOCOL)


def worth_by(kept: bytes, bench: Bench, wishes: Wishes) -> Payback:
    """What devices are worth at the prices of a bench's case, by runs that this program kept."""
    prices = bench.case.prices or NO_PRICES
    known, sought = pickle.loads(kept)
    bench.known |= {key: priced(each, prices) for key, each in known.items()}
    chosen: Sought = {
        name: (knobs, tuple(priced(each, prices) for each in tried)) for name, (knobs, tried) in sought.items()
    }
    return payback(bench, wishes, chosen)


def days_within(case: Case, filter_years: float, replicates: int, *, coarse: bool) -> int:
    """How many days of a run keep a search within about so many filter-years."""
    base, each = TRIED[coarse]
    today = policy_of_today(case, None)
    sought = [today, *(one for one in case.policies if device_of(one) is not None)]
    tried = sum(base + each * len(knobs_of(case, one, frozenset())) for one in sought)
    return math.floor(filter_years / (tried * len(case.stages) * max(replicates / 2.0, 1.0)) * YEAR)
