"""Pictures, report and sheets made by hand: names that try to be more than text, numbers that are easy to follow."""

import math
from datetime import date, datetime, timedelta

import numpy as np
import pandas as pd

from plots.inputs import (
    Answer,
    Bed,
    Column,
    Compared,
    Course,
    DissolvedSignal,
    Head,
    Measure,
    Pictures,
    Report,
    RunBars,
    Sheet,
    Span,
    Spread,
    TextTable,
    VesselSignal,
    WashBars,
    WeekPicture,
)

TITLE = '</title><script>alert("1")</script> & "quoted" \'twice\' C:\\plant\\new.toml ../etc $a_1$ {x} %s'
STAGE = "=1+1"
POLICIES = ('<b>calendar</b> & "co"', "$volume_1$ {0}", "pressure drop", "volume with reserve")
CAUSES = (
    "calendar", "volume", "reserve reached", "reserve spent", "pressure drop", "longest run", "end of simulation"
)  # fmt: skip
START = datetime(2027, 1, 4)
DAYS = 28


def made_course(policy: str = POLICIES[0], *, limit: float | None = 0.5, set_point: float | None = 14.0) -> Course:
    """Washes every four days; the pressure drop climbs from 4 to 15, the solids from 0.1 to 0.7."""
    hours = np.arange(0.5, DAYS * 24.0)
    grown = (hours % 96.0) / 96.0
    table = pd.DataFrame(
        {
            "time": [START + timedelta(hours=float(hour)) for hour in hours],
            "pressure": 4.0 + 11.0 * grown,
            "solids": 0.1 + 0.6 * grown**2,
        }
    )
    table.loc[hours % 96.0 < 1.0, ["pressure", "solids"]] = math.nan
    return Course(
        policy=policy,
        place=POLICIES.index(policy),
        stage=STAGE,
        table=table,
        pressure=Measure("pressure drop", "kPa"),
        solids=Measure("filtered solids", "mg/L"),
        set_point=set_point,
        limit=limit,
        washes=tuple(START + timedelta(days=day) for day in range(4, DAYS, 4)),
        days=(DAYS, 2.0 * DAYS),
        over_h=(104.0, 208.0),
    )


def made_runs(policies: tuple[str, ...] = POLICIES, *, each: int = 7, over: float = 0.5) -> RunBars:
    """`each` runs of four days for every policy, ended by a cause of its own; half a day of each over the limit."""
    rows = [
        (policy, START + timedelta(days=4 * number), START + timedelta(days=4 * number + 4), CAUSES[place], 4.0, over)
        for place, policy in enumerate(policies)
        for number in range(each)
    ]
    table = pd.DataFrame(rows, columns=["policy", "start", "end", "cause", "length", "over"])
    return RunBars(
        stage=STAGE, policies=policies, causes=CAUSES, table=table, length=Measure("length of a filter run", "d")
    )


def made_bed(policies: tuple[str, ...] = POLICIES) -> Bed:
    """Two layers of ten cells; the deposit falls with depth, less with every policy."""
    tops = np.arange(20) * 0.035
    parts = [
        pd.DataFrame({"policy": policy, "top": tops, "bottom": tops + 0.035, "deposit": (9.0 - place) * (1.0 - tops)})
        for place, policy in enumerate(policies)
    ]
    layers = pd.DataFrame(
        {"medium": ["anthracite", "sand"], "top": [0.0, 0.35], "bottom": [0.35, 0.7], "most": [12.0, 9.0]}
    )
    return Bed(
        stage=STAGE,
        layers=layers,
        slices=pd.concat(parts, ignore_index=True),
        depth=Measure("depth below the bed's surface", "m"),
        deposit=Measure("deposit", "kg/m3"),
        holds=12.0,
        shown=policies[0],
        ends=dict.fromkeys(policies, START + timedelta(days=8)),
        places={policy: POLICIES.index(policy) for policy in policies},
        used=None,
    )


def made_compared() -> tuple[Compared, ...]:
    """One figure that every policy has, one that one of them has not."""
    return (
        Compared(measure=Measure("time over the limit", "h"), values=(193.0, 0.0, 46.0, math.nan),
                 texts=("193", "0", "46", "-")),
        Compared(measure=Measure("water to drain", "m3"), values=(52.3, 89.6, 59.7, 70.9),
                 texts=("52.3", "89.6", "59.7", "70.9")),
    )  # fmt: skip


def made_spread(each: int = 40) -> tuple[Spread, ...]:
    """Runs that lie apart, runs that are all alike, and a policy without the figure."""
    draw = np.random.default_rng(8)
    over = tuple(tuple(draw.gamma(4.0, 10.0 * (place + 1), each).tolist()) for place in range(3))
    nothing = (math.nan,) * each
    means = tuple(sum(values) / each for values in over)
    return (
        Spread(measure=Measure("time over the limit", "h"), values=(*over, nothing), means=(*means, math.nan),
               low=(*(0.9 * mean for mean in means), math.nan), high=(*(1.1 * mean for mean in means), math.nan),
               texts=("40.1 ±4.0", "80.2 ±8.0", "120 ±12", "-")),
        Spread(measure=Measure("water to drain", "m3"), values=tuple((52.3 + place,) * each for place in range(4)),
               means=(52.3, 53.3, 54.3, 55.3), low=(52.3, 53.3, 54.3, 55.3), high=(52.3, 53.3, 54.3, 55.3),
               texts=("52.3", "53.3", "54.3", "55.3")),
    )  # fmt: skip


def made_dissolved(each: int, *, limit: float | None = 20.0) -> tuple[DissolvedSignal, ...]:
    """So many things dissolved, over a limit in the second half of a week, with a regeneration of each kind."""
    begin = START + timedelta(days=7)
    hours = [begin + timedelta(hours=hour) for hour in range(169)]
    return tuple(
        DissolvedSignal(
            measure=Measure(f"softener {place}, sent on: hardness", "mg/L"),
            table=pd.DataFrame({"time": hours, "dissolved": [4.0] * 84 + [40.0] * 85}),
            limit=limit,
            regenerated=(begin + timedelta(days=2),),
            unrestored=(begin + timedelta(days=4),),
        )
        for place in range(each)
    )


def made_week(*, rounds: int = 2, vessels: tuple[str, ...] = (STAGE, "carbon 2"), unit: bool = True) -> WeekPicture:
    """A week in which the vessels are washed one after the other at three, `rounds` nights from the second on."""
    begin = START + timedelta(days=7)
    hours = [begin + timedelta(hours=hour) for hour in range(169)]
    table = pd.DataFrame({"time": hours, "flow": [9.0 * (place % 3 > 0) for place in range(169)], "level": 15.0})
    bars = []
    for night in range(1, rounds + 1):
        for place, vessel in enumerate(vessels):
            at = begin + timedelta(days=night, hours=3, minutes=20 * place)
            bars += [
                (vessel, "backwash", at, at + timedelta(minutes=10)),
                (vessel, "rinse", at + timedelta(minutes=10), at + timedelta(minutes=20)),
            ]
    first = begin + timedelta(days=1, hours=3)
    signals = tuple(
        VesselSignal(
            name=vessel,
            table=pd.DataFrame({"time": hours, "pressure": 20.0}),
            pressure=Measure(vessel, "kPa"),
            set_point=24.0 if place == 0 else None,
            early=(first,) if place == 0 else (),
            missed=(first + timedelta(days=3),) if place == 0 else (),
        )
        for place, vessel in enumerate(vessels)
    )
    return WeekPicture(
        policy=POLICIES[0],
        place=0,
        number=2,
        start=begin,
        end=hours[-1],
        table=table,
        flow=Measure("flow to service", "m3/h"),
        level=Measure("level of the tank", "m3") if unit else None,
        marks=(12.0, 22.0) if unit else None,
        signals=signals,
        dissolved=(),
        washes=WashBars(vessels=vessels, table=pd.DataFrame(bars, columns=["vessel", "step", "start", "end"])),
        held=(Span(first, first + timedelta(minutes=15)),) if unit else (),
        raw=(Span(first + timedelta(minutes=15), first + timedelta(minutes=20)),) if unit else (),
        starved=(Span(first + timedelta(minutes=30), first + timedelta(minutes=33)),) if unit else (),
    )


def made_pictures() -> Pictures:
    """One of each figure."""
    return Pictures(
        policies=POLICIES,
        compared=made_compared(),
        courses=(made_course(),),
        runs=(made_runs(),),
        beds=(made_bed(),),
        week=(START + timedelta(days=7), START + timedelta(days=14)),
        in_week=made_week(),
    )


def made_answer() -> Answer:
    """An answer with names that look like markup."""
    columns = (Column("in 28 days", "words"), *(Column(name, "numbers") for name in POLICIES))
    rows = (("water to drain, m3", "52.3", "89.6", "59.7", "70.9"),)
    return Answer(
        sentences=(f"Take {POLICIES[0]}: it saves 37.3 m3.", "What gets worse with it: nothing."),
        table=TextTable(caption="Side by side", columns=columns, rows=rows),
        notes=("How the table is read.",), change=("Samples of a settle it.",),
    )  # fmt: skip


def made_report() -> Report:
    """Every place of the report filled, with names that look like markup in most of them."""
    table = TextTable(
        caption=f"Stage {STAGE}",
        columns=(Column("what starts a wash", "words"), *(Column(name, "numbers") for name in POLICIES)),
        rows=(("washes", "14", "24", "16", "19"), ("water to drain, m3", "52.3", "89.6", "59.7", "70.9")),
        strong=frozenset({(1, 1)}),
        starts=frozenset({1}),
        even=True,
    )
    events = TextTable(
        caption="Events", columns=(Column("time", "words"), Column("stage", "words")), rows=(("2027-01-08", STAGE),)
    )
    columns = (Column("constant", "words"), Column("low", "numbers"))
    assumed = TextTable(caption="Assumed", columns=columns, rows=((f"{STAGE}.a", "1"),))
    return Report(
        title=TITLE,
        simulated="28 days simulated",
        facts=(("case", TITLE),),
        answer=made_answer(),
        given=events,
        settings=(events,),
        comparison=(table,),
        comparison_notes=("* best in its row",),
        dissolved=events,
        drawn_note="Some are drawn.",
        week=f"Week 2 with {POLICIES[0]}",
        events=events,
        events_note="All events are in the workbook.",
        assumed="1 constant assumed.",
        known=(f"{STAGE}: solved",),
        order=("The order turns if", "a is low"),
        spread=assumed,
        assumptions=assumed,
        sources=("A handbook <1st edition>",),
    )


def made_head() -> Head:
    return Head(case="felt.toml", program="program 1", made=date(2027, 3, 1), prepared_by="A & B", prepared_for="<C>")


def made_sheets() -> tuple[Sheet, ...]:
    """Texts that look like formulas, links and numbers, a missing number, a date."""
    table = pd.DataFrame(
        {
            "stage": [STAGE, "+1", "@SUM(A1)", "https://example.org", "007"],
            "water to drain, m3": [52.3, None, math.nan, 0.0, 3],
            "time": [START] * 5,
        },
        dtype=object,
    )
    return (Sheet(name="Comparison", table=table), Sheet(name="Empty", table=table.iloc[:0]))
