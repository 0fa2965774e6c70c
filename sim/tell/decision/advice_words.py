"""What a study of settings says, in sentences: what is least where, how sure that is, and what stops a cheaper one.

Advice is never an instruction: it names the best of ranges that were tried, and what the runs showed.
"""

from collections.abc import Iterator
from typing import Literal

from plots.words import (
    Amount,
    Code,
    Items,
    Kind,
    Label,
    Name,
    Sentence,
    in_days,
    items,
    label,
    localised,
    paragraph,
    say,
    span,
)
from plots.words import amount as with_unit
from plots.words import number as localised_number
from sim.case.dotted import parts_of
from sim.case.quantities import System
from sim.case.records import Case
from sim.case.stage.longest_run import usual_longest_runs, with_usual_longest_runs
from sim.case.units import DAY, HOUR, MINUTE
from sim.study.decide.advice import Advice, Advised
from sim.study.decide.doubts_of_settings import doubts_of
from sim.study.decide.knobs import policy_for_all
from sim.study.decide.limits import exceeded
from sim.study.decide.seasons import WORTH, Seasons
from sim.study.decide.whatif import device_of
from sim.study.many.intervals import Interval
from sim.tell.comparison.doubt_words import first_words, other_words
from sim.tell.decision.told import (
    QUANTITIES,
    amount,
    broken_words,
    end_words,
    limits_words,
    number,
    setting_words,
    unit_of,
    worse_words,
    year_words,
)
from sim.tell.present import ABSENT, duration

Drunk = Literal["drinking", "food", "not stated"]
"""What the water is for, where people may drink it."""
HARDLY = 0.005  # of the least: as little as several settings save is no saving


def cautions(advice: Advice) -> tuple[Sentence, ...]:
    """What to keep in mind; of intervals only where there are runs to make them."""
    always = say("advice.caution_range"), say("advice.caution_who"), say("advice.caution_water")
    return (*always, *([say("advice.caution_chance")] if advice.replicates > 1 else []))


def currency(advice: Advice) -> Name:
    """The case's word for its money."""
    return Name(advice.case.prices.currency if advice.case.prices is not None else "")


def runs_words(advice: Advice) -> Label:
    """How many runs there are of each setting that is shown."""
    return label("advice_runs", runs=advice.replicates, length=in_days(advice.case.run.length / DAY))


def foremost(advice: Advice) -> tuple[Sentence, ...]:
    """What has to stand before any answer."""
    return first_words(doubts_of(advice))


def answer(advice: Advice, system: System) -> tuple[Sentence, ...]:
    """What is least with which setting, against today and the best calendar, what gets worse, what the runs show."""
    chosen = advice.chosen
    if chosen is None or chosen.best is None:
        return _none(advice, system)
    what, today = advice.least, Name(advice.in_use)
    least, now = chosen.best.mean(what), advice.today.mean(what)
    if abs(now - least) <= HARDLY * now:
        return (say("advice.stay", least=Kind(what), today=today, now=_least(now, advice, system)),)
    difference = _least(abs(now - least), advice, system)
    figures = [number(each, QUANTITIES[what], system) for each in (least, now)]
    setting, way = best_words(chosen, system), Name(chosen.policy)
    first = (
        say("advice.saves", least=Kind(what), way=way, setting=setting, less=difference, today=today, then=figures[0],
            now=figures[1])
        if now >= least
        else say("advice.takes_more", least=Kind(what), way=way, setting=setting, more=difference, today=today,
                 then=figures[0], now=figures[1])
    )  # fmt: skip
    return (
        first, *only_rinses(advice, chosen, system), *_device(advice, chosen), *_calendar(advice, chosen, system),
        worse_words(chosen.best, advice.today, system),
        *sureness(advice, chosen.best.less_than(advice.today, what), system),
    )  # fmt: skip


def _least(value: float, advice: Advice, system: System) -> Amount:
    """An amount of what is to be least."""
    return amount(value, QUANTITIES[advice.least], system, currency(advice))


def _device(advice: Advice, chosen: Advised) -> Iterator[Sentence]:
    """That the cost is without the device that it takes."""
    device = device_of(next(each for each in advice.case.policies if each.name == chosen.policy))
    if device and advice.least == "cost":
        yield say("advice.device_not_counted", device=Kind(device))


def _calendar(advice: Advice, chosen: Advised, system: System) -> Iterator[Sentence]:
    """What the best calendar takes, by name, where it is not what is chosen."""
    calendar = advice.best_of(advice.calendars)
    if calendar is not None and calendar.best is not None and calendar is not chosen:
        least = _least(calendar.best.mean(advice.least), advice, system)
        yield say("advice.calendar", way=Name(calendar.policy), setting=best_words(calendar, system), least=least)


def sureness(advice: Advice, less: Interval | None, system: System) -> Iterator[Sentence]:
    """How sure a difference from today is by the runs; nothing of a single one."""
    if less is None or less.low is None or less.high is None:
        return
    unit, runs = unit_of(advice.least, system, currency(advice)), advice.replicates
    low, high = (number(abs(each), QUANTITIES[advice.least], system) for each in (less.low, less.high))
    if less.sign > 0:
        yield say("advice.surely_less", range=span(low, high, unit), runs=runs)
    elif less.sign < 0:
        yield say("advice.surely_more", range=span(high, low, unit), runs=runs)
    else:
        yield say("advice.not_clear", more=with_unit(low, unit), less=with_unit(high, unit), runs=runs)


def _none(advice: Advice, system: System) -> tuple[Sentence, ...]:
    """That nothing keeps the limits: those that the runs are not sure of, else the nearest miss of each way."""
    unsure = list({limit: None for each in advice.policies for limit in each.binding})
    if unsure:
        limits = limits_words(unsure, system)
        return say("advice.none_surely"), say("advice.unsure", runs=advice.replicates, limits=limits)
    return say("advice.none"), *(nearest_words(advice, each, system) for each in advice.policies)


def why_none(advice: Advice, advised: Advised, system: System) -> Sentence:
    """Why no setting of a way is advised."""
    if advised.outcome == "not sure":
        return say("advice.way_unsure", way=Name(advised.policy), limits=limits_words(advised.binding, system))
    return nearest_words(advice, advised, system)


def nearest_words(advice: Advice, advised: Advised, system: System) -> Sentence:
    """Which limits the nearest setting of a way breaks, by how much."""
    broken = exceeded(advice.limits, advised.nearest, advice.scouted)
    return say(
        "advice.nearest", count=len(broken), way=Name(advised.policy),
        setting=setting_words(advised.knobs, advised.nearest.candidate.values, system),
        limits=broken_words(broken, advised.nearest, advice.scouted, system),
    )  # fmt: skip


def binding_words(advice: Advice, system: System) -> tuple[Sentence, ...]:
    """What stops a cheaper setting of what is chosen."""
    return () if advice.chosen is None else (_binding(advice.chosen, system),)


def sentences(advice: Advice, system: System) -> tuple[Sentence, ...]:
    """Of each way to start a wash: its best setting and the limit that binds, or what none of its settings keeps."""
    return tuple(_sentence(advice, each, system) for each in advice.policies)


def _sentence(advice: Advice, advised: Advised, system: System) -> Sentence:
    if advised.best is None:
        return why_none(advice, advised, system)
    least = _least(advised.best.mean(advice.least), advice, system)
    best = say("advice.best_of_way", way=Name(advised.policy), setting=best_words(advised, system), least=least)
    return paragraph(best, _binding(advised, system))


def _binding(advised: Advised, system: System) -> Sentence:
    """What stops a cheaper setting; that nothing does only where no cheaper one was seen."""
    way = Name(advised.policy)
    if not advised.knobs:
        return say("advice.as_it_is", way=way)
    if advised.binding:
        limits = advised.binding
        return say("advice.limit_stops", count=len(limits), way=way, limits=limits_words(limits, system))
    if advised.edges and advised.best is not None:
        values = dict(zip(advised.knobs, advised.best.candidate.values, strict=True))
        ends = [f"{setting_words([knob], [values[knob]], system)} ({end_words(knob.end)})" for knob in advised.edges
                if knob.end]  # fmt: skip
        return say("advice.range_ends", way=way, ends=items(ends))
    return say("advice.rivals", way=way) if advised.rivals else say("advice.nothing_stops", way=way)


def remarks(advice: Advice, system: System) -> tuple[Sentence, ...]:
    """The limits, the floors, and what else a reader is to know."""
    return (
        *_limits(advice, system), *_rinses(advice), *use_words(advice), *_longest_runs(advice),
        *other_words(doubts_of(advice), system),
    )  # fmt: skip


def _limits(advice: Advice, system: System) -> Iterator[Sentence]:
    case, allowed = advice.case, advice.case.run.allowed_over_limit
    yield say("advice.limits", limits=limits_words(advice.limits, system, advice.today))
    if case.is_random and any(each.most is None for each in advice.limits):
        yield say("advice.a_tenth_more")
    if allowed is not None and any(each.key == "risk" for each in advice.limits):
        yield say("advice.allowed", time=with_unit(localised_number(allowed / HOUR), "h"))


def _rinses(advice: Advice) -> Iterator[Sentence]:
    """What was changed of the rinses, or could not be."""
    for key, minutes in advice.floors.items():
        yield say("advice.longer_rinse", stage=Name(key.split(".")[1]), time=duration(minutes * MINUTE))
    for stage in advice.without_rinse:
        yield say("advice.no_rinse", stage=Name(stage))


def only_rinses(advice: Advice, advised: Advised, system: System) -> Iterator[Sentence]:
    """How a setting that reads like today's differs from it all the same: in rinses that were too short."""
    present = setting_words(advised.knobs, [knob.present for knob in advised.knobs], system)
    if advised.policy != advice.in_use or best_words(advised, system) != present:
        return
    for key, minutes in advice.floors.items():
        _, name, _, place, _ = parts_of(key)
        stage = next(each for each in advice.case.stages if each.name == name)
        then, now = (with_unit(localised(f"{each:g}"), "min")
                     for each in (minutes, stage.steps[int(place)].seconds / MINUTE))  # fmt: skip
        yield say("advice.only_rinse", stage=Name(stage.name), then=then, now=now)


def use_words(advice: Advice) -> list[Sentence]:
    """Who decides on hours over the limit where people may drink or eat what the water is for."""
    case = advice.case
    if not case.may_be_drunk:
        return []
    found = [say("advice.no_longer_runs", use=Kind(case.use or "not stated"))]
    return found if case.judged.limit is None else [*found, say("advice.local_rules")]


def _longest_runs(advice: Advice) -> Iterator[Sentence]:
    """The longest run of each stage, and whose it is."""
    case = advice.case
    yield say("advice.longest_runs", runs=_by_stage(with_usual_longest_runs(case)))
    if usual := usual_longest_runs(case):
        yield say("advice.usual_longest_runs", stages=items([stage for stage, _ in usual]))
    for each in case.policies:
        if policy_for_all(case, each) != each:
            yield say("advice.own_longest_run", way=Name(each.name))


def _by_stage(case: Case) -> Items:
    return items([f"{each.name} {duration(each.longest_run or 0.0)}" for each in case.stages])


def season_words(advice: Advice, seasons: Seasons | None, system: System) -> tuple[Sentence, ...]:
    """Whether settings by season are worth the trouble."""
    if seasons is None:
        return ()
    if seasons.refused:
        return (say("seasons.refused", error=Code(seasons.refused)),)
    if seasons.one is None:
        return (say("seasons.none"),)
    best = max(seasons.spared(seasons.two) or 0.0, seasons.spared(seasons.four) or 0.0)
    verdict = (
        say("seasons.worth_it", least=Kind(advice.least), share=_percent(best))
        if seasons.worth_it
        else say("seasons.not_worth_it", least=Kind(advice.least), share=_percent(best), worth=_percent(WORTH))
    )
    return (verdict, paragraph(*_years(advice, seasons, system), say("seasons.how")))


def _years(advice: Advice, seasons: Seasons, system: System) -> Iterator[Sentence]:
    """What one, two and four settings a year take."""
    yield say("seasons.one", way=Name(seasons.policy), least=_least(seasons.whole, advice, system))
    for count, year in ((2, seasons.two), (4, seasons.four)):
        told = seasons.told(year)
        if year is None or told is None:
            continue
        if (seasons.spared(year) or 0.0) < HARDLY:
            yield say("seasons.no_less", count=count)
        else:
            settings = year_words(seasons, year, system)
            yield say("seasons.several", count=count, least=_least(told, advice, system), settings=settings)


def _percent(share: float) -> Amount:
    return with_unit(localised_number(100.0 * share), "%")


def present_words(advised: Advised, system: System) -> Items:
    """The present setting of a policy."""
    return setting_words(advised.knobs, [knob.present for knob in advised.knobs], system)


def best_words(advised: Advised, system: System) -> Items:
    """The advised setting of a policy."""
    if advised.best is None:
        return Items(ABSENT)
    return setting_words(advised.knobs, advised.best.candidate.values, system)
