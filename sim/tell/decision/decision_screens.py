"""The first screens of a decision: the answer against today's way, the card's figures, what would change it."""

from collections.abc import Iterator, Mapping, Sequence
from typing import Literal

from plots.words import Code, Kind, Name, Sentence, label, paragraph, say
from sim.case.quantities import System
from sim.study.decide.advice import Advice
from sim.study.decide.ends import TODAY, Ends
from sim.study.decide.limits import exceeded, unsure
from sim.study.decide.trials import Tried
from sim.tell.comparison.first_screen import FirstScreen, laid_out
from sim.tell.decision import advice_words
from sim.tell.decision.decision_tables import heads
from sim.tell.decision.sure_words import advice_ranges, assumed_sure, least_sure, range_rows
from sim.tell.decision.told import broken_words, figure, worse_keys
from sim.tell.decision.unusual_words import unusual_in_short
from sim.tell.listing import Listing
from sim.tell.present import ABSENT
from sim.tell.sentences import fault_words, quoted

Today = Literal["keeps", "breaks"]
CARD = ("water", "downtime_h", "breakthrough_risk")


def advice_screen(advice: Advice, system: System, ends: Ends | None, *, whole: bool = False) -> FirstScreen:
    """Of the best settings; `whole` has all that would change them."""
    ranges, money = advice_ranges(advice, ends, system), advice_words.currency(advice)
    bests = {each.policy: each.best for each in advice.policies if each.best is not None}
    sure = [assumed_sure(advice, ends, *least_sure(advice, ends))] if bests else []
    today = label("decision_screen.today", way=Name(advice.in_use))
    return FirstScreen(
        title=f"{advice.case.title} ({advice_words.runs_words(advice)})",
        answer=(*advice_words.foremost(advice), *advice_words.answer(advice, system), *sure),
        table=figures_listing(advice, [today, *bests], bests, ends, money, system),
        legend=kept_words(advice, system),
        change=(*advice_words.binding_words(advice, system), *(ranges.change if whole else ranges.brief)),
        foot=foot(advice),
    )


def figures_listing(
    advice: Advice, names: Sequence[str], settings: Mapping[str, Tried], ends: Ends | None, money: str, system: System
) -> Listing:
    """The card's figures of a year, time over the limit, what gets worse, the cost: today's, then each setting.

    `names` are the heads of all; `settings` have the keys that `ends` knows them by.
    """
    worse = worse_keys(list(settings.values()), advice.today, system) if settings else {}
    beside = ["over_limit_h", *(key for key in worse if key not in (*CARD, "over_limit_h")), "cost"]
    rows = []
    for key in (*CARD, *beside):
        texts = [figure(tried, key, system) for tried in (advice.today, *settings.values())]
        if key in CARD or set(texts) != {ABSENT}:
            rows.append((heads([key], system, money)[0], *texts))
        if key == "over_limit_h" and ends is not None and settings:
            rows += range_rows(advice, [TODAY, *settings], ends)
    return laid_out(label("decision_screen.a_year"), names, rows)


def kept_words(advice: Advice, system: System) -> Sentence:
    """Whether today's keeps the limits as others do, of which ways no setting does, what is beyond the usual."""
    none = [each.policy for each in advice.policies if each.best is None]
    today: Today = "breaks" if unsure(advice.limits, advice.today, advice.today) else "keeps"
    all_keep = say("advice.all_keep", today=Kind(today))
    kept = say("advice.others_keep", today=Kind(today), ways=quoted(none)) if none else all_keep
    return paragraph(kept, *_broken_today(advice, system), *unusual_in_short(advice))


def _broken_today(advice: Advice, system: System) -> Iterator[Sentence]:
    """What today's breaks in the mean."""
    if broken := exceeded(advice.limits, advice.today, advice.today):
        limits = broken_words(broken, advice.today, advice.today, system)
        yield say("advice.today_breaks", count=len(broken), limits=limits)


def hint() -> Sentence:
    """How to have more than the first screen."""
    return say("decision.more", option=Code("--all"))


def foot(advice: Advice) -> tuple[Sentence, ...]:
    return (*fault_words(advice.case), *advice_words.use_words(advice), say("advice.not_an_instruction"))
