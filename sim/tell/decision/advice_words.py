"""What a study of settings says, in sentences: what is least where, how sure that is, and what stops a cheaper one.

Advice is never an instruction: it tells of ranges that were tried, and of what the runs showed.
"""

from sim.case.quantities import System
from sim.case.records import Case
from sim.case.spelling import plain_duration
from sim.case.stage.longest_run import usual_longest_runs, with_usual_longest_runs
from sim.case.units import DAY, HOUR
from sim.study.decide.advice import Advice, Advised
from sim.study.decide.doubts_of_settings import doubts_of
from sim.study.decide.knobs import policy_for_all
from sim.study.decide.limits import Limit, exceeded
from sim.study.decide.seasons import WORTH, Seasons
from sim.study.decide.whatif import device_of
from sim.study.many.intervals import Interval
from sim.study.settable import Part
from sim.tell.comparison.doubt_words import first_words, other_words
from sim.tell.decision.told import (
    PART_WORDS,
    QUANTITIES,
    amount,
    broken_words,
    end_words,
    limit_words,
    number,
    refused_words,
    setting_words,
    value_words,
    worse_words,
    year_words,
)
from sim.tell.present import UNITS
from sim.tell.sentences import days_words

HARDLY = 0.005  # of the least: as little as several settings save is told as nothing
WHAT = {"cost": "cost", "water": "water to drain"}
CAUTIONS = (
    "A setting is named as the best of a range tried in this study, not as an instruction. Change one thing at a "
    "time on a plant, and watch its water.",
    "Whoever answers for the plant decides, and local codes come first.",
    "No time over the limit does not mean that nothing harmful is in the water.",
)
NO_INSTRUCTION = "Best of the ranges tried, not an instruction: change one thing at a time, and watch."
NOTHING_WORKS: dict[Part, str] = {
    "every": "no calendar works here", "volume": "no volume works here", "above": "no set point works here",
}  # fmt: skip
BY_CHANCE = "Each statement about the runs holds at 95 % by itself, not all of them together."


def cautions(advice: Advice) -> tuple[str, ...]:
    """What to keep in mind; of intervals only where there are runs to make them."""
    return (*CAUTIONS, *([BY_CHANCE] if advice.replicates > 1 else []))


def currency(advice: Advice) -> str:
    """The case's word for its money."""
    return advice.case.prices.currency if advice.case.prices is not None else ""


def runs_words(advice: Advice) -> str:
    """How many runs there are of each setting that is told."""
    runs = "one run" if advice.replicates == 1 else f"{advice.replicates} runs"
    return f"{runs} of {days_words(advice.case.run.length / DAY)} for each setting"


def foremost(advice: Advice) -> tuple[str, ...]:
    """What has to stand before any answer."""
    return first_words(doubts_of(advice))


def answer(advice: Advice, system: System) -> tuple[str, ...]:
    """What is least with which setting, against today and the best calendar, what gets worse, what the runs show."""
    chosen = advice.chosen
    if chosen is None or chosen.best is None:
        return (" ".join(["No setting that was tried keeps the limits.", *_why_none(advice, system)]),)
    what, quantity, money = advice.least, QUANTITIES[advice.least], currency(advice)
    least, now = chosen.best.mean(what), advice.today.mean(what)
    less = amount(abs(now - least), quantity, system, money)
    device = device_of(next(each for each in advice.case.policies if each.name == chosen.policy))
    own = f", the {device} itself not counted" if device and what == "cost" else ""
    if abs(now - least) <= HARDLY * now:
        return (
            f"Stay with today's “{advice.in_use}” as it is: of the ranges tried in this study no setting that keeps "
            f"the limits has clearly less {WHAT[what]} ({amount(now, quantity, system, money)} a year).",
        )
    saves = f"saves {less} a year" if now >= least else f"takes {less} a year more"
    told = (
        f"Of the ranges tried in this study, the least {WHAT[what]} is with “{chosen.policy}”, "
        f"{best_words(chosen, system)}: it {saves} against today's “{advice.in_use}” "
        f"({number(least, quantity, system)}, not {number(now, quantity, system)}){own}"
        f"{_calendar(advice, chosen, system)}."
    )
    worse = worse_words([chosen.best], advice.today, system)
    return (told, worse, sureness(advice, chosen.best.less_than(advice.today, what), system))


def _calendar(advice: Advice, chosen: Advised, system: System) -> str:
    """What the best calendar takes, by name, where it is not what is chosen."""
    calendar = advice.best_of(advice.calendars)
    if calendar is None or calendar.best is None or calendar is chosen:
        return ""
    best = amount(calendar.best.mean(advice.least), QUANTITIES[advice.least], system, currency(advice))
    return f"; the best calendar, “{calendar.policy}” {best_words(calendar, system)}, has {best}"


def sureness(advice: Advice, less: Interval | None, system: System) -> str:
    """How sure a difference from today is by the runs; empty for a single one."""
    if less is None or less.low is None or less.high is None:
        return ""
    quantity = QUANTITIES[advice.least]
    unit = currency(advice) if quantity == "money" else UNITS[system][quantity].symbol
    low, high = (number(abs(each), quantity, system) for each in (less.low, less.high))
    runs = f"{advice.replicates} runs on other weather than the choice was made on"
    if less.sign > 0:
        return f"Sure to 95 %: {low} to {high} {unit} a year less, by {runs}."
    if less.sign < 0:
        return (
            f"Sure to 95 %: {high} to {low} {unit} a year more, by {runs}; today's setting does not keep the limits."
        )
    return f"By {runs} it cannot be told from today's: {low} {unit} more to {high} {unit} less a year."


def _why_none(advice: Advice, system: System) -> list[str]:
    """The limits that the runs are not sure of, else the nearest miss of each way."""
    unsure = {limit: None for each in advice.policies for limit in each.binding}
    if unsure:
        words = "; ".join(limit_words(each, _allowed_h(advice), system) for each in unsure)
        return [f"The means keep them, but {advice.replicates} runs are not sure of it for: {words}."]
    return [f"“{each.policy}”: {nearest_words(advice, each, system)}." for each in advice.policies]


def nearest_words(advice: Advice, advised: Advised, system: System) -> str:
    """That no setting works, and which limits the nearest one breaks, by how much."""
    part = advised.knobs[0].part if advised.knobs else None
    broken = exceeded(advice.limits, advised.nearest, advice.scouted)
    allowed = _allowed_h(advice)
    breaks = "; ".join(
        f"{limit_words(each, allowed, system)} ({broken_words(each, advised.nearest, advice.scouted, system)})"
        for each in broken
    )
    setting = setting_words(advised.knobs, advised.nearest.candidate.values, system)
    nothing = NOTHING_WORKS.get(part, "it does not work here as it is") if part else "it does not work here as it is"
    return f"{nothing}; the nearest, {setting}, breaks this limit: {breaks}"


def _allowed_h(advice: Advice) -> float | None:
    allowed = advice.case.run.allowed_breach
    return None if allowed is None else allowed / HOUR


def binding_words(advice: Advice, system: System) -> tuple[str, ...]:
    """What stops a cheaper setting of what is chosen."""
    chosen = advice.chosen
    return () if chosen is None else (f"“{chosen.policy}”: {_binding(advice, chosen, system)}.",)


def sentences(advice: Advice, system: System) -> tuple[str, ...]:
    """A sentence for each way to start a wash: the limit that binds, or what none of its settings keeps."""
    return tuple(f"{each.policy}: {_sentence(advice, each, system)}" for each in advice.policies)


def _sentence(advice: Advice, advised: Advised, system: System) -> str:
    allowed = _allowed_h(advice)
    if advised.best is None:
        if advised.outcome == "not sure":
            words = "; ".join(limit_words(each, allowed, system) for each in advised.binding)
            return f"its means keep the limits, the runs are not sure of it: {words}. More runs may be."
        return f"{nearest_words(advice, advised, system)}."
    words = setting_words(advised.knobs, advised.best.candidate.values, system)
    quantity = QUANTITIES[advice.least]
    least = amount(advised.best.mean(advice.least), quantity, system, currency(advice))
    return f"{words}: {least} a year; {_binding(advice, advised, system)}."


def _binding(advice: Advice, advised: Advised, system: System) -> str:
    """What stops a cheaper setting; that nothing does only where no cheaper one was seen."""
    if not advised.knobs:
        return "run as it is, since several triggers at once are not varied"
    if advised.binding:
        words = " and ".join(limit_words(each, _allowed_h(advice), system) for each in advised.binding)
        return f"the next cheaper setting tried breaks this limit: {words}"
    if advised.edges and advised.best is not None:
        values = dict(zip(advised.knobs, advised.best.candidate.values, strict=True))
        ends = ", ".join(f"{PART_WORDS[knob.part]} {value_words(knob, values[knob], system)} is {end_words(knob.end)}"
                         for knob in advised.edges)  # fmt: skip
        return f"what stops a cheaper setting is the end of the range tried in this study: {ends}"
    if advised.rivals:
        return "other settings that cost less in the searching runs are not surely better"
    return "no limit stops a cheaper setting: on either side it gets costlier"


def remarks(advice: Advice, system: System) -> tuple[str, ...]:
    """The limits, the floors, and what else a reader is to know."""
    allowed = _allowed_h(advice)
    words = [limit_words(each, allowed, system) + _today_words(each, advice, system) for each in advice.limits]
    found = [f"Limits for every way to start a wash: {'; '.join([*words, _longest_words(advice.case)])}."]
    found += [
        f"“{each.name}” has a shorter longest run of its own, which was left out: all ways have the same."
        for each in advice.case.policies
        if policy_for_all(advice.case, each) != each
    ]
    for key, minutes in advice.floors.items():
        stage = key.split(".")[1]
        found.append(
            f"Stage {stage}: its rinse takes less than one volume of the vessel's water; everything tried has "
            f"{minutes:g} min in its place."
        )
    found += use_words(advice)
    found += [f"Stage {each} has no rinse, and none was put in." for each in advice.without_rinse]
    usual = [f"{stage} {plain_duration(length)}" for stage, length in usual_longest_runs(advice.case)]
    if usual:
        found.append(
            f"The case gives no longest run; every way to start a wash has the usual one, which is common practice: "
            f"{', '.join(usual)}."
        )
    return (*found, *other_words(doubts_of(advice), system))


NOT_STATED = "What the water is for is not stated"


def use_words(advice: Advice) -> list[str]:
    """Who decides on hours over the limit where people may drink or eat what the water is for."""
    case = advice.case
    if not case.may_be_drunk:
        return []
    who = f"The water is for {case.use}" if case.use else f"{NOT_STATED}: treated as drinking water"
    found = [f"{who}; no run longer and no wash or rinse shorter than at present was tried."]
    if case.judged.limit is not None:
        found.append("Local food and drinking-water rules decide whether any hour over the limit may be.")
    return found


def _longest_words(case: Case) -> str:
    """The longest run of each stage."""
    stages = with_usual_longest_runs(case).stages
    told = [f"{plain_duration(each.longest_run or 0.0)} of {each.name}" for each in stages]
    return f"a longest run of {', '.join(told)}"


def _today_words(limit: Limit, advice: Advice, system: System) -> str:
    """Today's figure where it is the limit."""
    if limit.most is not None:
        return ""
    more = ", a tenth more than today since the weather is random" if advice.case.is_random else ""
    quantity = QUANTITIES[limit.key]
    return f" ({number(limit.allowed(advice.today), quantity, system)} {UNITS[system][quantity].symbol} a year{more})"


def season_words(advice: Advice, seasons: Seasons | None, system: System) -> tuple[str, ...]:
    """Whether settings by season are worth the trouble."""
    if seasons is None:
        return ()
    if seasons.refused:
        return (f"Settings by season were not tried: {refused_words(seasons)}.",)
    if seasons.one is None:
        return ("Settings by season: no year put together from the parts keeps the limits with one setting.",)
    quantity, what = QUANTITIES[advice.least], WHAT[advice.least]
    told = [f"one setting a year, as advised: {amount(seasons.whole, quantity, system, currency(advice))}"]
    for words, year in (("two", seasons.two), ("four", seasons.four)):
        if year is not None and (seasons.spared(year) or 0.0) < HARDLY:
            told.append(f"{words} a year: no less")
        elif year is not None:
            text = amount(seasons.told(year), quantity, system, currency(advice))
            told.append(f"{words} a year: {text} ({year_words(seasons, year, system)})")
    best = max(seasons.spared(seasons.two) or 0.0, seasons.spared(seasons.four) or 0.0)
    verdict = (
        f"Settings by season save up to {100.0 * best:.0f} % of the {what}"
        if seasons.worth_it
        else f"Settings by season save {100.0 * best:.0f} % of the {what} at most, hardly worth the trouble "
        f"(less than {100.0 * WORTH:g} %)"
    )
    how = "What is saved comes from the parts of a year run by themselves, each from a clean bed."
    return (f"{verdict}.", f"With “{seasons.policy}”, {'; '.join(told)}. {how}")


def present_words(advised: Advised, system: System) -> str:
    """The present setting of a policy."""
    return setting_words(advised.knobs, [knob.present for knob in advised.knobs], system)


def best_words(advised: Advised, system: System) -> str:
    """The advised setting of a policy."""
    return "-" if advised.best is None else setting_words(advised.knobs, advised.best.candidate.values, system)
