"""The work behind “Is a meter worth it?”: runs that are kept, and money worked out on top of them.

The runs follow from the case, its own prices and what the sliders change of its water and its use. Other prices
choose from the settings that were tried then, so they are answered without a search.
"""

import math
import pickle
from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from sim.case.price.records import NO_PRICES
from sim.case.records import Case
from sim.case.units import DAY
from sim.study.decide.advice import Sought, Wishes, is_calendar, policy_of_today
from sim.study.decide.knobs import knobs_of
from sim.study.decide.limits import Limit
from sim.study.decide.payback import Payback, payback
from sim.study.decide.trials import Bench, priced
from sim.study.decide.whatif import device_of
from sim.study.many.workers import Crew, Here
from sim.tell.decision.decision_report import simulated
from sim.web.cases_read import YEAR, case_of, parsed
from sim.web.errors import Refused
from sim.web.shelf import Held
from sim.web.sliders import Slider, settings_of
from sim.web.worker import Asked, Tell
from sim.web.worth_sliders import LIMIT, is_money, limit_asked, worth_sliders

SEED = 1
REPLICATES = 6  # of random weather
MOST_DAYS = 366.0
MOST_FILTER_YEARS = 400.0  # that a search may take, by a rough count
LEAST_DAYS = 30.0
TRIED = {True: (8, 14), False: (10, 45)}  # settings of a policy, coarsely or not: about so many, and so many a knob


@dataclass(frozen=True, slots=True, kw_only=True)
class Study:
    """A study as the page asks for it: its case, how far its run is cut, its wishes, its replicates."""

    case: Case
    settings: dict[str, Any]
    whole_days: float
    wishes: Wishes
    replicates: int

    @property
    def command(self) -> str:
        """The command that asks the same of a case."""
        words = ["filterrun payback CASE"]
        if self.wishes.coarse:
            words.append("--coarse")
        if self.replicates > 1:
            words.append(f"--replicates {self.replicates}")
        words += [f"--over-limit {each.most:g}" for each in self.wishes.limits]
        return " ".join(words)


def why_not_the_command(study: Study, sliders: tuple[Slider, ...], asked: Asked) -> str:
    """Why the command on the file of the case can come to other numbers than the page; empty where it cannot."""
    if study.case.run.length / DAY < study.whole_days:
        return "the page runs a part of the time that the case has"
    moved = [each for each in sliders if each.key in dict(asked) and each.read(dict(asked)[each.key]) != each.value]
    if any(not is_money(each) and each.key != LIMIT for each in moved):
        return "water or use are not those of the file"
    if any(is_money(each) for each in moved):
        return "the best is chosen from the settings that were tried at the prices of the file"
    return ""


def study_of(held: Held, asked: Asked) -> Study:
    """The study that an address asks for; Refused where the case has nothing to compare."""
    data = parsed(held)
    sliders = worth_sliders(data, "si")
    return _study(held, settings_of(sliders, dict(asked), data), limit_asked(sliders, dict(asked)))


def _study(held: Held, settings: Mapping[str, Any], limit: float | None) -> Study:
    case = case_of(held, settings)
    _require_both(case)
    coarse = case.is_random or len(case.stages) > 1
    replicates = REPLICATES if case.is_random else 1
    whole = case.run.length / DAY
    days = min(whole, MOST_DAYS, _days_within_bounds(case, coarse=coarse))
    cut = {**settings, **({"run.length": f"{days:g} d"} if days < whole else {})}
    limits = () if limit is None else (Limit("over_limit_h", limit),)
    return Study(
        case=case_of(held, cut) if days < whole else case, settings=cut, whole_days=whole, replicates=replicates,
        wishes=Wishes(limits=limits, coarse=coarse),
    )  # fmt: skip


def _require_both(case: Case) -> None:
    """A calendar to compare with, and a device to be worth something."""
    if not is_calendar(policy_of_today(case, None)):
        raise Refused(
            422,
            "This case washes nowhere by the calendar alone, so there is nothing that a meter could be compared "
            "with; write such a way to start a wash into its text under “My plant”.",
        )
    if all(device_of(each) is None for each in case.policies):
        raise Refused(
            422,
            "This case has no way to start a wash by volume or by pressure drop, so there is no meter or switch to "
            "ask for; write one into its text under “My plant”.",
        )


def _days_within_bounds(case: Case, *, coarse: bool) -> float:
    """How many days of a run the page takes, so that a search stays within its bound."""
    base, each = TRIED[coarse]
    today = policy_of_today(case, None)
    sought = [today, *(one for one in case.policies if device_of(one) is not None)]
    tried = sum(base + each * len(knobs_of(case, one, frozenset())) for one in sought)
    runs = tried * len(case.stages) * (REPLICATES / 2.0 if case.is_random else 1.0)
    return max(math.floor(MOST_FILTER_YEARS / runs * YEAR / DAY), LEAST_DAYS)


def runs(held: Held, asked: Asked, tell: Tell) -> bytes:
    """Every run of the study, and by policy what was tried: for `worth` alone to read."""
    study = study_of(held, asked)
    bench = _bench(held, study, tell)
    found = payback(bench, study.wishes)
    sought = {each.policy: (each.knobs, each.scouted) for each in found.advice.policies}
    return pickle.dumps((bench.known, sought), protocol=pickle.HIGHEST_PROTOCOL)


def worth(kept: bytes, held: Held, asked: Asked, settings: Mapping[str, Any], tell: Tell) -> tuple[Study, Payback]:
    """What devices are worth by runs that were kept; `settings` are all that sliders change, prices among them."""
    sliders = worth_sliders(parsed(held), "si")
    study = _study(held, settings, limit_asked(sliders, dict(asked)))
    prices = study.case.prices or NO_PRICES
    known, sought = pickle.loads(kept)  # from a process of ours
    bench = _bench(held, study, tell)
    bench.known |= {key: priced(each, prices) for key, each in known.items()}
    chosen: Sought = {
        name: (knobs, tuple(priced(each, prices) for each in tried)) for name, (knobs, tried) in sought.items()
    }
    return study, payback(bench, study.wishes, chosen)


def worth_rests_on(study: Study, found: Payback) -> str:
    """How many runs of what length the answer rests on, and how many settings were tried."""
    tried = sum(len(each.tried) for each in found.advice.policies)
    told = f"It rests on {simulated(found.advice)}; {tried} settings were tried"
    days = study.case.run.length / DAY
    if days < study.whole_days:
        told += f"; the page runs the first {days:.0f} days of the {study.whole_days:.0f} that the case has"
    return f"{told}."


def _bench(held: Held, study: Study, tell: Tell) -> Bench:
    bench = Bench(
        path=Path(held.name), case=study.case, crew=Crew(Here, 1), seed=SEED, replicates=study.replicates,
        load=lambda _, changed: case_of(held, {**study.settings, **changed}),
    )  # fmt: skip
    return replace(bench, progress=lambda _done, _of: tell(f"{len(bench.known)} settings tried"))
