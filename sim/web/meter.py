"""“Is a meter worth it?”: prices, use and water to move, and what a device saves at them.

The runs follow from the case, its own prices and what the sliders change of its water and its use. Other prices
choose from the settings that were tried then, so they are answered without a search.
"""

from collections.abc import Iterator, Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any, Literal, NamedTuple

from starlette.requests import Request
from starlette.responses import Response

from plots.decision_inputs import StackedBars
from plots.inputs import TextTable
from plots.one import Shown, show_bars
from plots.words import Kind, Label, Sentence, label, localised, paragraph, say, term
from sim.case.price.records import NO_PRICES, Price, Prices
from sim.case.quantities import System
from sim.case.records import Case
from sim.case.trigger.records import by_calendar, devices
from sim.case.units import DAY
from sim.study.decide.advice import Wishes, policy_of_today
from sim.study.decide.kept import days_within, kept_runs, worth_by
from sim.study.decide.limits import Limit
from sim.study.decide.trials import Bench
from sim.study.decide.whatif import device_of
from sim.study.many.workers import Crew, Here
from sim.study.settable import FACTOR, RANGES
from sim.study.version import PROGRAM
from sim.tell.decision import advice_words, payback_words
from sim.tell.decision.decision_report import rests_on
from sim.tell.decision.decision_tables import a_year, bars_tables, what_if_table, worth_table
from sim.tell.decision.files_of_decision import stacked_bars
from sim.tell.decision.payback_screen import payback_screen
from sim.tell.sentences import assumed_count
from sim.web.asking import Question, answer, narrow, question
from sim.web.by_question import part, question_page, setup_for, stood_before, tried
from sim.web.cases_read import case_of, parsed
from sim.web.desk import Going
from sim.web.errors import Refused
from sim.web.shelf import Asked, Held, Stand
from sim.web.sliders import Form, Slider, feed_sliders, moved, settings_of, slider_of, tidied
from sim.web.worker import Job, Tell

PRICES = "prices."
LIMIT = "over_limit"
OwnNumbers = Literal["part of the time", "other water", "other prices"]
"""Why the command on the file of the case can come to other numbers than the page."""
SEED = 1
REPLICATES = 6  # of random weather
MOST_DAYS, LEAST_DAYS = 366.0, 30.0
MOST_FILTER_YEARS = 400.0  # that a search may take, by a rough count


class Study(NamedTuple):
    """A study as the page asks for it: its case, how far its run is cut, its wishes, its replicates."""

    held: Held
    case: Case
    settings: dict[str, Any]
    whole_days: float
    wishes: Wishes
    replicates: int

    def bench(self, tell: Tell) -> Bench:
        """Where its settings are tried."""
        bench = Bench(
            path=Path(self.held.name), case=self.case, crew=Crew(Here, 1), seed=SEED, replicates=self.replicates,
            load=lambda _, changed: case_of(self.held, {**self.settings, **changed}),
        )  # fmt: skip
        return replace(bench, progress=lambda _done, _of: tell(say("page.working.tries", count=len(bench.known))))

    @property
    def command(self) -> str:
        """The command that asks the same of a case."""
        words = [f"{PROGRAM} payback CASE"]
        if self.wishes.coarse:
            words.append("--coarse")
        if self.replicates > 1:
            words.append(f"--replicates {self.replicates}")
        words += [f"--over-limit {each.most:g}" for each in self.wishes.limits]
        return " ".join(words)


class MeterAnswer(NamedTuple):
    """What a meter or a switch is worth: the bars, what would change the answer, and what it rests on."""

    headline: str
    statements: tuple[str, ...]
    figure: Shown
    compared: bool
    reasons: tuple[str, ...]
    tables: tuple[TextTable, ...]
    settings: tuple[TextTable, ...]
    simulated: str
    notes: tuple[str, ...]
    command: str
    about_command: Sentence
    coarse: bool
    assumed: str


def sliders(held: Held, system: System) -> tuple[Slider, ...]:
    """Prices first, since they answer at once; then what changes the runs, and what counts as worth it."""
    data, case = parsed(held), case_of(held)
    given = data.get("prices", {})
    return (
        *_prices(case, given, system),
        *_use(data["demand"], system),
        *([_limit(system)] if "limit" in data["stage"][-1] else []),
        *feed_sliders(data["feed"], system),
        *_counting(case.prices or NO_PRICES, given, system),
    )


def _prices(case: Case, given: Mapping[str, Any], system: System) -> Iterator[Slider]:
    """What the case is priced by, then the devices that it has a trigger for."""
    prices = case.prices or NO_PRICES
    driven = "wash_pressure" in given and "pumping" not in given
    usual = ("water", "sewer", "labour", "lost_production", *(["energy"] if driven else []))
    for name in ("water", "sewer", "energy", "pumping", "labour", "salt", "permanganate", "cartridge",
                 "lost_production"):  # fmt: skip
        if name in usual or (name in given and name != "energy"):
            yield _price(f"{PRICES}{name}", label("page.group.prices"), getattr(prices, name), prices, system)
    triggers = [trigger for policy in case.policies for _, trigger in policy.triggers]
    _, metered, switched, _ = zip(*map(devices, triggers), strict=True)
    for key, group, device, used in (
        ("meter", label("page.group.meter"), prices.meter.device, any(metered)),
        ("switch", label("page.group.switch"), prices.switch, any(switched)),
    ):
        if used:
            for name in ("price", "upkeep", "life"):
                yield _price(f"{PRICES}{key}.{name}", group, getattr(device, name), prices, system)


def _price(key: str, group: Label, own: Price | float | None, prices: Prices, system: System) -> Slider:
    """A price; the case may have it alone, as a range, or not at all."""
    span, name = RANGES[key], key.rpartition(".")[2]
    price = Price(value=own, low=own, high=own) if isinstance(own, float) else own
    about = say("page.slider.blank_in_case")
    if price is not None:
        unit = span.units.unit(system)
        value, low, high = (localised(f"{unit.from_si(each):g}") for each in (price.value, price.low, price.high))
        about = say("page.slider.own", value=value)
        if price.is_range:
            about = say("page.slider.own_range", value=value, low=low, high=high)
        if FACTOR * price.value > span.high:
            span = span._replace(high=tidied(FACTOR * price.value))
    return slider_of(
        key, group, term("slider", name), span, None if price is None else price.value, system, about=about,
        money="" if name == "life" else prices.currency, blank=True,
    )  # fmt: skip


def _use(demand: Mapping[str, Any], system: System) -> Iterator[Slider]:
    """How much water is used, and how unlike its days are."""
    group, from_case = label("page.group.use"), say("page.slider.from_case")
    whole = say("page.slider.share_of_case")
    yield slider_of("use", group, term("slider", "use"), RANGES["use"], 1.0, system, form="use", about=whole)
    if isinstance(demand.get("flow"), dict):
        return  # what was measured varies by itself
    swing = float(demand["season"]["swing"]) if "season" in demand else 0.0
    yield slider_of(
        "swing", group, term("slider", "swing"), RANGES["swing"], swing, system, form="swing",
        about=from_case if "season" in demand else say("page.slider.no_swing"),
    )  # fmt: skip
    random = "variation" in demand
    spread = float(demand["variation"].get("spread", 1.15)) - 1.0 if random else 0.0
    yield slider_of(
        "days", group, term("slider", "days"), RANGES["days"], spread, system, form="days",
        about=paragraph(say("page.slider.within"), from_case if random else say("page.slider.no_difference")),
    )  # fmt: skip


def _limit(system: System) -> Slider:
    return slider_of(
        LIMIT, label("page.group.quality"), term("slider", LIMIT), RANGES[LIMIT], None, system, form="limit",
        about=say("page.slider.as_today"), blank=True,
    )  # fmt: skip


def _counting(prices: Prices, given: Mapping[str, Any], system: System) -> Iterator[Slider]:
    """How money is counted over the years."""
    rows: tuple[tuple[str, float, Form], ...] = (
        ("discount_rate", prices.discount_rate, "share"),
        ("years", prices.years, "whole"),
        ("payback_within", prices.payback_within, "quantity"),
    )
    group = label("page.group.money")
    for name, value, form in rows:
        about = say("page.slider.from_case") if name in given else say("page.slider.usual")
        key = f"{PRICES}{name}"
        yield slider_of(key, group, term("slider", name), RANGES[key], value, system, form=form, about=about)


def _is_money(slider: Slider) -> bool:
    """Whether it changes what things cost, and no run."""
    return slider.key.startswith(PRICES)


def moved_runs(own: tuple[Slider, ...], asked: Asked) -> Asked:
    """What of an address changes runs or limits, each value written in one way only."""
    return tuple(sorted((each.key, f"{value!r}") for each, value in moved(own, asked) if not _is_money(each)))


def blank_prices(own: tuple[Slider, ...]) -> dict[str, str]:
    """What an address says to leave every price of the case blank."""
    return {each.key: "" for each in own if _is_money(each) and each.blank and each.value is not None}


def asked_study(stand: Stand) -> Study:
    """The study that an address asks for; Refused where the case has nothing to compare."""
    held, asked, system = stand
    own = sliders(held, system)
    settings = settings_of(own, stand)
    case = case_of(held, settings)
    _require_both(case)
    coarse = case.is_random or len(case.stages) > 1
    replicates = REPLICATES if case.is_random else 1
    whole = case.run.length / DAY
    days = min(whole, MOST_DAYS, max(days_within(case, MOST_FILTER_YEARS, replicates, coarse=coarse), LEAST_DAYS))
    if days < whole:
        settings["run.length"] = f"{days:g} d"
    most = next((value for each, value in moved(own, asked) if each.key == LIMIT), None)
    limits = () if most is None else (Limit("over_limit_h", most),)
    return Study(held, case_of(held, settings), settings, whole, Wishes(limits=limits, coarse=coarse), replicates)


def _require_both(case: Case) -> None:
    """A calendar to compare with, and a device to be worth something."""
    if not by_calendar(policy_of_today(case, None)):
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


def why_not_the_command(study: Study, own: tuple[Slider, ...], asked: Asked) -> OwnNumbers | None:
    """Why the command on the file of the case can come to other numbers than the page; None where it cannot."""
    if study.case.run.length / DAY < study.whole_days:
        return "part of the time"
    stand = [each for each, _ in moved(own, asked)]
    if any(not _is_money(each) and each.key != LIMIT for each in stand):
        return "other water"
    if any(_is_money(each) for each in stand):
        return "other prices"
    return None


def _about_command(why: OwnNumbers | None) -> Sentence:
    """What the command that is named after it comes to."""
    if why is None:
        return say("page.meter.same_numbers")
    return paragraph(say("page.meter.own_numbers", why=Kind(why)), say("page.meter.searches_anew"))


def run(held: Held, asked: Asked, tell: Tell) -> bytes:
    """The runs behind it, whatever things cost."""
    study = asked_study(Stand(held, asked, "si"))
    return kept_runs(study.bench(tell), study.wishes)


def bars(kept: bytes, stand: Stand, tell: Tell) -> StackedBars:
    """The bars of a study whose runs were kept."""
    study = asked_study(stand)
    return stacked_bars(worth_by(kept, study.bench(tell), study.wishes), stand.system)


def answered(kept: bytes, stand: Stand, before: StackedBars | None, narrow: bool, tell: Tell) -> MeterAnswer:
    """What a device is worth at these prices, by runs that were kept; in grey the bars `before`."""
    study, system = asked_study(stand), stand.system
    found = worth_by(kept, study.bench(tell), study.wishes)
    tell(say("page.working.draws"))
    (compared, year), said = bars_tables(found, system), payback_screen(found, system, None, whole=True)
    verdicts: list[str] = [payback_words.verdict_words(found, each, system) for each in found.decided]
    verdicts = verdicts or [said.answer[0]]
    return MeterAnswer(
        headline=" ".join(verdicts),
        statements=tuple(each for each in said.answer if each not in verdicts),
        figure=show_bars(stacked_bars(found, system), narrow=narrow, earlier=before),
        compared=before is not None,
        reasons=said.change,
        tables=(year, *([worth_table(found, system)] if found.decided else [])),
        settings=(compared, *(what_if_table(found, each, system) for each in found.decided)),
        simulated=rests_on(found, study.whole_days),
        notes=(a_year(found.advice), *advice_words.remarks(found.advice, system), *payback_words.remarks(found)),
        command=study.command,
        about_command=_about_command(why_not_the_command(study, sliders(stand.held, system), stand.moved)),
        coarse=study.wishes.coarse,
        assumed=assumed_count(study.case.assumptions),
    )


def _asked(request: Request) -> Question:
    return question(request, ("was",))


async def jobs(request: Request) -> tuple[Job[bytes], ...]:
    """The runs that an address asks for."""
    return await runs(request, _asked(request))


async def runs(request: Request, asked: Question) -> tuple[Job[bytes], ...]:
    """The runs of a question, then those of where the sliders stood before."""
    own, before = (await setup_for(request, sliders, asked.held)).sliders[asked.system], stood_before(asked)
    stands = (asked.moved,) if before is None else (asked.moved, before)
    return tuple(Job(run, (asked.held, moved_runs(own, each))) for each in stands)


async def _found(request: Request) -> MeterAnswer | Going:
    """The answer, or how far its runs are; prices alone ask for no new ones."""
    asked, kept, drawn = _asked(request), list[bytes](), None
    for each in await runs(request, asked):
        if isinstance(one := await answer(request, each), Going):
            return one
        kept.append(one)
    if (before := stood_before(asked)) is not None:
        drawn = await answer(request, Job(bars, (asked.stand._replace(moved=before),), given=kept[1]))
    if isinstance(drawn, Going):
        return drawn
    return await answer(request, Job(answered, (asked.stand, drawn, narrow(request)), given=kept[0]))


async def show(request: Request) -> Response:
    """The page, with its answer as far as it is there."""
    asked = _asked(request)
    before = await setup_for(request, sliders, asked.held)
    found, refused = await tried(_found(request))
    return question_page(request, "meter", asked, before, found, refused, carries=refused is None,
                         blank=blank_prices(before.sliders[asked.system]))  # fmt: skip


async def show_answer(request: Request) -> Response:
    """The answer alone."""
    return part(request, "meter_answer", _asked(request), await _found(request))
