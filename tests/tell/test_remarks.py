"""What the figures of the site do not tell: a stage before the last over its limit."""

from dataclasses import replace

from sim.case.records import Case
from sim.study.compare import Comparison
from sim.tell.comparison.first_screen import screen_of_one
from sim.tell.comparison.remarks import earlier_stage
from tests.study.made import FIGURES, LAYER, made_case, made_results

STAGES = ("media", "carbon")


def of_media(case: Case, stage: str, medium: str) -> Case:
    """The case with another medium in a stage."""
    layers = (replace(LAYER, medium=medium),)
    return replace(case, stages=tuple(replace(s, layers=layers) if s.name == stage else s for s in case.stages))


def test_the_stage_before_the_last_that_is_longest_over_its_limit_is_named() -> None:
    case, results = made_case(stages=STAGES), made_results(stages=STAGES)
    clean = FIGURES | {"over_limit_h": (0.0,) * 4, "breakthrough_risk": (0.0,) * 4}
    last = made_results(clean, stages=STAGES)
    mixed = tuple(
        replace(low, stages={"media": high.stages["media"], "carbon": low.stages["carbon"]})
        for low, high in zip(last, results, strict=True)
    )
    (told,) = earlier_stage(case, mixed, "si")
    assert "stage media is over its own limit for 193 h with “calendar”: " in told
    assert told.endswith("93 % of the filter runs of that stage broke through.")
    assert screen_of_one(Comparison(case=case, seed=1, results=mixed), "si").change[0] == told
    assert earlier_stage(case, last, "si") == ()
    assert earlier_stage(made_case(), made_results(), "si") == ()
    assert earlier_stage(of_media(case, "media", "resin"), mixed, "si") == (), "its chemistry is not followed"
