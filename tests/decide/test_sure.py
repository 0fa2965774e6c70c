"""How sure a decision is: what a single run may not claim, limits that are broken, constants that turn the answer."""

from collections.abc import Iterator
from dataclasses import replace

import numpy as np
import pytest

from sim.case.load import load_case
from sim.study.decide.advice import Wishes
from sim.study.decide.ends import TODAY, Ends, ends_of, margin
from sim.study.decide.limits import Limit
from sim.study.decide.margins import least_margin, worth_margin
from sim.study.decide.payback import Payback, acts, payback
from sim.study.decide.trials import Bench, Tried
from sim.study.many.workers import local
from sim.tell.decision.advice_words import cautions, remarks
from sim.tell.decision.decision_json import payback_json
from sim.tell.decision.decision_tables import a_year, what_if_table, whether_kept, worth_table
from sim.tell.decision.payback_screen import payback_screen
from sim.tell.decision.payback_words import paid_words, turning_words, verdict_words
from sim.tell.decision.sure_words import (
    assumed_sure,
    least_sure,
    money_holds,
    payback_ranges,
    range_rows,
)
from sim.tell.decision.told import bar_name, what_if_words
from tests.decide.steady import steady

ALLOWED = 20.0


@pytest.fixture(scope="module")
def bench(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Bench]:
    path = steady(tmp_path_factory.mktemp("sure"), days=30)
    with local(1) as crew:
        yield Bench(path=path, case=load_case(path), crew=crew, seed=1, replicates=1)


@pytest.fixture(scope="module")
def found(bench: Bench) -> Payback:
    return payback(bench, Wishes(limits=(Limit("over_limit_h", ALLOWED),), coarse=True))


@pytest.fixture(scope="module")
def ends(bench: Bench, found: Payback) -> Ends:
    settings = {each.name: each.tried.candidate for each in found.bars[1:]}
    return ends_of(bench, settings | {TODAY: found.advice.today.candidate})


def test_one_run_claims_no_interval(found: Payback, ends: Ends) -> None:
    assert found.advice.replicates == 1
    screen = payback_screen(found, "si", ends, whole=True)
    told = (*screen.answer, *screen.change, *cautions(found.advice), a_year(found.advice))
    assert not any("95 %" in each or "±" in each for each in (*told, *remarks(found.advice, "si")))
    many = replace(found.advice, replicates=40)
    assert "95 %" in a_year(many)
    assert "95 %" in " ".join(cautions(many))


def test_hours_over_the_limit_are_told_as_they_are(found: Payback, ends: Ends) -> None:
    meter = found.decided[0]
    rows = {row[0]: row[1] for row in worth_table(found, "si").rows}
    assert rows["hours over the limit a year"].count(" instead of ") == 1
    screen = payback_screen(found, "si", ends)
    shown = {row[0]: row[1:] for row in screen.table.rows}
    assert set(shown["time over the limit, h"]) == {"0"}
    case = found.case
    assert any(f"{len(case.assumptions)} of {case.constants} constants are assumed" in each for each in screen.answer)
    assert meter.bar.tried.mean("over_limit_h") <= ALLOWED


def test_what_breaks_a_limit_is_marked_in_words(found: Payback) -> None:
    for each in found.decided:
        table = what_if_table(found, each, "si")
        tried = [each.bar.tried, *(one.tried for one in each.what_ifs)]
        for row, one in zip(table.rows, tried, strict=True):
            assert row[1].startswith("NOT KEPT") == (one.mean("over_limit_h") > ALLOWED)
            assert row[1] == whether_kept(found.advice, one, "si")
    stuck = found.decided[0].what_ifs[-1]
    assert "only the longest run starts a wash, after 20 d" in what_if_words(found.case, stuck)


def test_the_worth_at_the_ends_is_that_of_the_ends(found: Payback, ends: Ends) -> None:
    """Run again with all constants at their high ends, the worth is the one that the test tells."""
    for each in found.decided:
        known = worth_margin(found, each, ends)
        assert known is not None
        assert known.typical == pytest.approx(each.value)
        assert len(known.trials) == len(ends.trials)
        assert known.low <= known.typical <= known.high


def lasting(tried: Tried, hours: float) -> Tried:
    """What a setting showed, with so many hours over the limit."""
    return replace(tried, figures={**tried.figures, "over_limit_h": np.array([hours])})


def test_hours_at_the_ends_are_told_of_a_setting(found: Payback, ends: Ends) -> None:
    """12 h where 20 h are allowed, up to 31 h at an end: whoever may come past what is allowed is to go in steps."""
    tried = found.calendar.tried
    first, second, *_ = ends.trials
    typical, most, least = ({"calendar": lasting(tried, hours), TODAY: lasting(tried, 0.1 * hours)}
                            for hours in (12.0, 31.0, 5.0))  # fmt: skip
    known = replace(ends, typical=typical, trials=(replace(first, tried=most), replace(second, tried=least)))
    assert range_rows(found.advice, [TODAY, "calendar"], known) == [
        ("  over usual ranges", "0.50 to 3.10", "5 to 31"), ("trials within the limits", "3 of 3", "2 of 3"),
    ]  # fmt: skip
    assert assumed_sure(found.advice, known).endswith("may be broken: change settings in steps, and watch the water.")
    calmer = replace(known, trials=known.trials[1:])
    assert range_rows(found.advice, ["calendar"], calmer)[1] == ("trials within the limits", "2 of 2")
    assert assumed_sure(found.advice, calmer).endswith("the limits are kept.")
    free = replace(found.advice, limits=())
    assert "limits" not in assumed_sure(free, calmer), "nothing was asked of the hours"


def test_a_constant_that_turns_the_answer_is_named(found: Payback, ends: Ends) -> None:
    """Were a device worth just less than nothing at one end alone, that end and no other would be named."""
    each = found.decided[0]
    first = ends.trials[0]
    known = margin(ends, lambda tried: -1.0 if tried is first.tried else 1.0)
    assert known is not None
    assert [trial for trial, _ in known.turns] == [first]
    assert known.to_json(each.device, "net present value")["turns"] == [
        {"keys": list(first.keys), "end": first.end, "value": -1.0}
    ]
    turned = bool(worth_margin(found, each, ends).turns)  # type: ignore[union-attr]
    assert any(one.startswith(f"A {each.device} is") for one in payback_ranges(found, ends, "si").order) == turned


def test_the_device_whose_answer_the_ranges_change_is_named(found: Payback) -> None:
    """By the signs of worths: at the prices given, and at the ends of the ranges of the prices."""
    first = found.decided[0]
    for value, ends_of_worth, told in (
        (5.0, (-1.0, 9.0), "Not sure: over the ranges of the prices a meter may not be worth it."),
        (-5.0, (-9.0, 1.0), "Not sure: over the ranges of the prices a meter may be worth it."),
        (5.0, (1.0, 9.0), "Over the ranges tried, what is said of each device stays the same."),
    ):
        valued = replace(first, value=value, price_range=ends_of_worth)
        assert money_holds(replace(found, decided=(valued,)), None) == (told,)
    no_range = replace(found, decided=(replace(first, price_range=None),))
    assert money_holds(no_range, None)[-1] == "No price has a range."
    blank = replace(found, decided=(replace(first, value=None),))
    assert money_holds(blank, None) == ()


def test_a_device_that_never_acts_is_worth_nothing_whatever_is_spared(found: Payback) -> None:
    """With the runs of a dead device in place of its own, the latest time alone does all of it."""
    each = found.decided[0]
    assert acts(each.bar.tried, each.dead)
    assert not acts(each.dead, each.dead)
    nearly = {key: 1.005 * values for key, values in each.dead.figures.items()}
    assert not acts(replace(each.dead, figures=nearly), each.dead)
    assert each.verdict != "idle"
    idle = replace(found, decided=(replace(each, verdict="idle"),))
    told = verdict_words(idle, idle.decided[0], "si")
    assert told.startswith(f"A {each.device} is not worth it: at the best setting found it starts hardly a wash")
    assert paid_words(idle.decided[0], found.prices) == "never: it starts hardly a wash"
    assert turning_words(idle, idle.decided[0], "si") == ()


def test_today_is_told_once_where_no_calendar_keeps_the_limits(found: Payback, ends: Ends) -> None:
    lost = replace(found.advice.policies[0], best=None)
    none = replace(found, advice=replace(found.advice, policies=(lost, *found.advice.policies[1:])))
    screen = payback_screen(none, "si", ends)
    assert screen.answer[0].startswith("No calendar that was tried keeps the limits")
    heads = [column.head for column in screen.table.columns[1:]]
    assert heads == ["today's calendar", *(f"with a {each.device}" for each in none.decided)]
    alone = replace(none, decided=(), bars=none.bars[:2])
    assert not any(each.startswith("How sure") for each in payback_screen(alone, "si", ends).answer)


def test_a_way_that_stands_alone_has_none_to_be_held_against(found: Payback, ends: Ends) -> None:
    """Today's washes are run at the ends too, but are not another way to choose."""
    chosen = found.advice.chosen
    assert chosen is not None
    best = found.calendar.tried
    alone = replace(ends, typical={chosen.policy: best, TODAY: best}, trials=())
    assert least_margin(found.advice, alone) is None
    assert least_sure(found.advice, alone) == ()
    beside = replace(alone, typical=dict(alone.typical) | {"another": best})
    assert least_margin(found.advice, beside) is not None


def test_the_ranges_are_never_told_as_the_same_alone(found: Payback, ends: Ends) -> None:
    """Beside the worth stand the water and the runs within the limits, counted here over all trials one by one."""
    every = [ends.typical, *(trial.tried for trial in ends.trials)]
    told = payback_ranges(found, ends, "si")
    assert told.spread is not None
    shown = {bar.name: bar_name(bar) for bar in found.bars[1:]} | {TODAY: "today's washes"}
    rows = {row[0]: row for row in told.spread.rows}
    data = {each["name"]: each for each in payback_json(found, ends)["order"]["spread"]}
    assert (set(rows), set(data)) == (set(shown.values()), set(shown))
    for name, row in ((name, rows[words]) for name, words in shown.items()):
        kept = sum(tried[name].mean("over_limit_h") <= ALLOWED for tried in every)
        assert row[-1] == f"{kept} of {len(every)}"
        assert data[name]["keep_the_limit"] == kept
        water = [tried[name].mean("water") for tried in every]
        span = data[name]["figures"]["water"]
        assert (span["low"], span["high"]) == (min(water), max(water))
    screen = {row[0]: row[1:] for row in payback_screen(found, "si", ends).table.rows}
    heads = [TODAY, *(bar.name for bar in found.bars[1:])]
    assert list(screen["trials within the limits"]) == [rows[shown[name]][-1] for name in heads]
    assert 1 <= len(told.change) <= 4
    assert told.change[-1].startswith(("What would settle it (common practice): ", "No constant "))
