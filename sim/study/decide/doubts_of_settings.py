"""What would change a reader's mind about a decision: of today's washes, and of the setting told of each policy."""

from dataclasses import replace

from sim.study.costs import YEAR_DAYS
from sim.study.decide.advice import Advice
from sim.study.decide.trials import Tried
from sim.study.doubts import Doubt, cannot_keep, in_order, of_case, of_figures, of_policy


def doubts_of(advice: Advice) -> tuple[Doubt, ...]:
    """All that applies, by what the confirming runs showed: the best setting of a policy, the present one without."""
    settings = {each.policy: each.best or each.present for each in advice.policies}
    is_today = advice.today.candidate
    told = {"today": advice.today, **{name: tried for name, tried in settings.items() if tried.candidate != is_today}}
    found: list[Doubt] = list(of_case(advice.case))
    if advice.case.judged.limit is not None:
        hours = {name: _hours(tried) for name, tried in told.items()}
        found += cannot_keep(advice.case.judged.name, hours, YEAR_DAYS)
    for name, tried in told.items():
        policy = replace(tried.candidate.policy, name=name)
        found += [*of_policy(advice.case, policy), *of_figures(advice.case, policy, tried.worst)]
    return in_order(found)


def _hours(tried: Tried) -> tuple[float, float]:
    return tried.mean("over_limit_h"), tried.mean("unavoidable_h")
