"""What starts a wash in a new case: four ways set by one rule, and what that says of each filter."""

from collections.abc import Iterable, Mapping, Sequence
from typing import NamedTuple

from sim.case.quantities import System
from sim.case.record import record
from sim.case.records import Case
from sim.case.trigger.records import devices
from sim.case.units import DAY, DURATION, PRESSURE, VOLUME, Kind
from sim.review.site import site_of
from sim.review.uptake import spent_once
from sim.write.document import Section, section
from sim.write.filters import HOLD_MINUTES, LEAST_SET, RISE
from sim.write.plan import Filter
from sim.write.rule import MARGIN, End, Ending, Settings, endings_of, settings_of, use_of
from sim.write.written import clock, number, plain, plain_span, quantity, span

SHORT_RUN = 8.0  # h of use
LATE = 1.0
"""Share of what the bed takes from which a way comes too late."""

NEARLY = 1.1
"""The same of a pressure drop: its reading of little deposit is that rough."""

ENDS: Mapping[End, str] = {
    "the limit": "until its filtered water comes to the limit",
    "a metal": "until the iron or manganese in its filtered water comes to its limit",
    "the pressure drop": "until its pressure drop has risen as far as is usual",
    "the capacity": "until what a regeneration restores is spent",
    "the longest run": "in its longest run",
}
BARELY = "its clean bed lets nearly as much through as the limit has room for"
SMALL = "the filter is small for such water"
NEVER = 10.0
"""Share of what the bed takes from which a pressure drop is never seen."""

FIRST = "# First: "
"""Begins what a reader has to know before all else."""

OVER = "even when clean: its clean bed"
NO_CHOICE = "nothing to choose between the ways"
LATE_FOR_IT = "too late for it"
SPENT_ONCE = "and nothing restores it"
A_DAY_ALMOST = "a busier day finds the calendar late"
"""One of these is in each of `first_words`: they tell such a line from one that a person began alike."""

RESERVED = "about a day's use, less where the run is short"
IN_USE = "less than a day uses: it washes at once when spent, within the hours of use"


@record
class Ruled:
    """One filter under the rule: its name, how its runs end, what starts its washes, and its limit as written."""

    name: str
    ending: Ending
    settings: Settings
    limit: str


def ruled_of(case: Case, limits: Iterable[str]) -> list[Ruled]:
    """What the rule says of every filter of a case; `limits` as they are written."""
    return [
        Ruled(name=stage.name, ending=each, settings=settings_of(each), limit=limit)
        for stage, each, limit in zip(case.stages, endings_of(case), limits, strict=True)
    ]


RESTORED = """\
#   its bed has taken up all that a regeneration restores: of a softener what its salt gives by the usual table, over
#   the hardness that the resin takes of each volume of water, iron and manganese that reach it counted as the
#   hardness that takes as much room; of oxidising media their batch of permanganate, over what the oxidant in the
#   water leaves to them;
"""
SEES_NOTHING = "by volume in this way too: a pressure drop shows nothing of a bed that is spent"


def rule_words(system: System, *, regenerates: bool) -> str:
    """The rule in plain words, for the head of a file; `regenerates`: one of its beds does."""
    rise = plain(RISE.typical, "pressure", system, 2)
    shown = span(RISE, "pressure", system).removeprefix("assumed: ")
    return f"""\
# What starts a wash is set by one rule, so that a first comparison compares ways and not guesses. At the
# flow of use, a bed washed many times takes some volume of the mean feed before the first of these:
#   its filtered water comes to its limit, in the coldest water;
#   its pressure drop has risen by {rise} above the new bed's, in water of the mean temperature
#   ({shown});
{RESTORED * regenerates}#   its longest run is over.
# Every way washes after {MARGIN:.0%} of that volume, or sooner where it has to: a calendar and a reserve
# wash on whole days. The comment beside each setting gives the share that it comes to."""


def first_words(case: Case, ruled: Sequence[Ruled], system: System) -> tuple[str, ...]:
    """What has to be known before any comparison is read."""
    words = []
    for k, each in enumerate(ruled):
        ending, name = each.ending, each.name
        if ending.breaks:
            through = _solids(case, ending.passing, each.limit)
            words.append(
                f"{name}: over the limit in every hour of use {OVER} lets {through} through,"
                f" where {each.limit} is the limit"
            )
        words += _of_metals(ending, name)
        words += _of_media(case, k)
        if ending.by == "the longest run":
            days = number((case.stages[k].longest_run or 0.0) / DAY, 3)
            later = "its pressure drop comes later" if ending.breaks else "limit and pressure drop come later"
            words.append(
                f"{name}: always washed by its longest run, {days} d, or a little before ({later}): {NO_CHOICE}"
                " for it"
            )
        elif each.settings.every_share >= LATE:
            words.append(
                f"{name}: runs of {_hours(ending)} of use are shorter than the least that a calendar of whole days"
                f" takes, so the calendar comes {LATE_FOR_IT}, and the volume ways wash it within the hours of use"
            )
        if ending.by != "the longest run" and each.settings.every_share < LATE and _is_short(each):
            words.append(
                f"{name}: a day uses {1.0 / ending.days:.0%} of what its bed takes until it has to be washed, so the"
                f" ways by volume wash it within the hours of use, and {A_DAY_ALMOST}; a larger bed, or two"
                " vessels that alternate, would change that"
            )
        unseen = ending.by != "the longest run" and each.settings.above_share > NEARLY
        if unseen and (ending.by != "the capacity" or _washed_by_pressure(case, name)):
            words.append(
                f"{name}: its pressure drop rises too little to show when to wash it, so the pressure drop comes"
                f" {LATE_FOR_IT}"
            )
    return tuple(words)


def _of_metals(ending: Ending, name: str) -> list[str]:
    return [
        f"{name}: over the limit in every hour of use {OVER} lets"
        f" {number(metal.with_solids(ending.passing), 2)} mg/L of {metal.name} through, where"
        f" {number(metal.limit)} mg/L is the limit"
        for metal in ending.broken
    ]


def _of_media(case: Case, k: int) -> list[str]:
    """Oxidising media that take up more than what is dosed gives them back."""
    once = spent_once(site_of(case), k)
    if once is None:
        return []
    stage, use = case.stages[k], use_of(case, k)
    days = number(once / use.mean_a_day, 2)
    return [
        f"{stage.name}: its bed takes up the iron and manganese of {days} d, {SPENT_ONCE}: what is dosed leaves it"
        " some to take up, and no permanganate is brought; from then on they pass"
    ]


def _washed_by_pressure(case: Case, name: str) -> bool:
    return any(
        devices(trigger).switch is not None
        for policy in case.policies
        for stage, trigger in policy.triggers
        if stage == name
    )


def run_words(ruled: Ruled, system: System) -> str:
    """How long the filter runs and why no longer."""
    ending = ruled.ending
    volume = plain(ending.volume, "volume", system, 2)
    words = f"{ruled.name}: takes {volume}, {_hours(ending)} of use, {number(ending.days, 2)} d, {ENDS[ending.by]}"
    if ending.by == "the limit":
        rise = plain(ending.rise, "pressure", system, 2)
        words += f", {ruled.limit}; its pressure drop has risen by {rise} then"
    if ending.hours < SHORT_RUN:
        words += f"; that is short: {BARELY if ending.by == 'the limit' else SMALL}"
    low = "" if ruled.settings.above_share > NEARLY else _low_set_point(ruled, system)
    return f"{words}; its pressure drop is to start a wash at {low}" if low else words


def _low_set_point(ruled: Ruled, system: System) -> str:
    """A set point nearer to the washed bed than usual switches go, in words; "" for one that they reach."""
    above = ruled.settings.above - ruled.settings.clean
    if above >= LEAST_SET:
        return ""
    gap, usual = (plain(each, "pressure", system, 2) for each in (above, LEAST_SET))
    usually = f"usual switches begin at {usual} (common practice, from memory): look up yours"
    return f"{gap} over the washed bed's; {usually}"


def _hours(ending: Ending) -> str:
    return f"{number(ending.hours, 2)} h"


def _solids(case: Case, value: float, limit: str) -> str:
    """Solids [g/m3] in the unit that the limit is given in."""
    ratio = case.feed.turbidity_ratio
    if limit.endswith("NTU") and ratio is not None:
        return f"{number(value / ratio, 2)} NTU"
    return f"{number(value, 2)} mg/L"


WAYS = ("calendar", "volume", "volume with reserve", "pressure drop")
"""The ways of a new case, in its order."""


def policy_sections(filters: Sequence[Filter], ruled: Sequence[Ruled], system: System) -> list[Section]:
    """Calendar, volume, volume with reserve and pressure drop, each for every filter."""
    both = list(zip(filters, ruled, strict=True))
    return [_way(way, planned, each, system) for way in WAYS for planned, each in both]


def _way(way: str, planned: Filter, ruled: Ruled, system: System) -> Section:
    name = f'"{planned.name}"' if " " in planned.name else planned.name
    unseen = way == "pressure drop" and ruled.ending.by == "the capacity"
    start_on = "volume" if unseen else way
    said = f'start_on = "{start_on}"' + f"  # {SEES_NOTHING}" * unseen
    made = section(f'[policy."{way}".{name}]', f"policy.{way}.{planned.name}", said)
    for each in set_by_rule(start_on, ruled, system):
        made.say(f"{each.key} = {each.text}", each.comment)
    if unseen:
        return made
    if way == "pressure drop":
        made.say(f'hold = "{number(HOLD_MINUTES.typical)} min"', plain_span(HOLD_MINUTES, "min"))
    elif way != "volume":
        made.say(f"at = {clock(planned.washes_at)}", "one filter after the other" if way == "calendar" else "")
    return made


class Setting(NamedTuple):
    """One key of a trigger as the rule sets it: its value [SI] of a kind, as a new file has it, and the comment."""

    key: str
    value: float
    kind: Kind
    text: str
    comment: str


def set_by_rule(start_on: str, ruled: Ruled, system: System) -> list[Setting]:
    """What the rule says of one way to start a wash; that which says when the wash comes stands first."""
    settings = ruled.settings

    def volume(key: str, value: float, comment: str) -> Setting:
        return Setting(key, value, VOLUME, quantity(value, "volume", system, 3), comment)

    match start_on:
        case "calendar":
            every = settings.every
            return [Setting("every", every * DAY, DURATION, f'"{every} d"', _every_comment(ruled))]
        case "volume":
            return [volume("volume", settings.volume, _volume_comment(ruled, system))]
        case "pressure drop":
            text = quantity(settings.above, "pressure", system, 3)
            return [Setting("above", settings.above, PRESSURE, text, _above_comment(ruled, system))]
        case "volume with reserve" | "volume with learned reserve":
            comment = _total_comment(ruled, system)
            kept = IN_USE if _is_short(ruled) else RESERVED
            return [volume("volume", settings.total, comment), volume("reserve", settings.reserve, kept)]
        case "signal":
            return []
        case other:
            raise NotImplementedError(f"no rule sets the trigger {other}")


def _every_comment(ruled: Ruled) -> str:
    """What share of the bed's run the interval is."""
    settings = ruled.settings
    late = ": too late, yet a calendar has no less" if settings.every_share >= LATE else ""
    share = f"{settings.every_share:.0%} of the {number(ruled.ending.days, 3)} d"
    return f"{share} that it takes {ENDS[ruled.ending.by]}{late}"


def _volume_comment(ruled: Ruled, system: System) -> str:
    """What share of the bed's volume the trigger is."""
    share = f"{ruled.settings.volume_share:.0%} of the {_takes(ruled, system)}"
    return f"{share} that it takes {ENDS[ruled.ending.by]}"


def _total_comment(ruled: Ruled, system: System) -> str:
    """At what share of the bed's volume the trigger washes."""
    share = f"{ruled.settings.reserve_share:.0%} of the {_takes(ruled, system)}"
    when = IN_USE if _is_short(ruled) else "at its hour once only the reserve is left"
    return f"washes at about {share} where days are alike: {when}"


def _is_short(ruled: Ruled) -> bool:
    """Whether a day uses more than the volume of the way by reserve, whose hour then never comes in time."""
    ending = ruled.ending
    return ending.days > 0.0 and ruled.settings.total < ending.volume / ending.days


def _takes(ruled: Ruled, system: System) -> str:
    return plain(ruled.ending.volume, "volume", system, 3)


def _above_comment(ruled: Ruled, system: System) -> str:
    """At what share of the bed's volume the gauge reads so much, and in which water."""
    ending, settings = ruled.ending, ruled.settings
    flow = plain(ending.use.flow, "flow", system, 3)
    mean = plain(ending.use.temperature, "temperature", system, 2)
    clean = plain(settings.clean, "pressure", system, 3)
    least = plain(settings.above - settings.clean, "pressure", system, 2)
    share = settings.above_share
    if share > (LATE if ending.by == "the longest run" else NEVER):
        return f"{least} above {clean}, when washed in the coldest water: its runs end before it acts"
    at = f"at {flow} of water at {mean}; {clean} when washed, in the coldest water"
    late = f"; it comes late, since a busy hour could cause a rise of less than {least}" if share > LATE else ""
    low = _low_set_point(ruled, system)
    return f"the reading after {share:.0%} of the {_takes(ruled, system)}, {at}{late}{low and '; ' + low}"
