"""The moments of a moving picture are those of the run: beds as in their section, signals as in the trace."""

import json

import pytest

from plots.inputs import THOUSANDTHS, Frames
from sim.case.load import load_case
from sim.plant.simulate import simulate
from sim.plant.trace import bed_sections, moments, trace
from sim.study.weeks import weeks, worst_week
from sim.tell.run.frames import BANDS, FIGURES, LENGTH, frames, stretch_around
from sim.web.shelf import DEMO
from tests.web.serving import CASES

ALIKE = {"rel": 0.5 * 10.0 ** (1 - FIGURES) * 1.01, "abs": 1e-12}
CASES_HELD = [(DEMO, "volume with reserve"), (CASES / "boiler_house.toml", "calendar, 85 minutes apart")]


@pytest.mark.parametrize(("path", "way"), CASES_HELD, ids=["one bed", "train with a tank"])
def test_ten_moments_are_those_of_section_and_trace(path, way) -> None:
    case = load_case(path)
    window = stretch_around(worst_week(weeks(case, way))[0], case.run.length)
    assert window.end_s - window.start_s == LENGTH
    made = frames(case, simulate(case, way), window, "si")
    places = sorted({round(k * (len(made.t) - 1) / 9) for k in range(10)})
    times = [window.start_s + made.t[place] * 3600.0 for place in places]
    samples = {(each.time_s, each.stage): each for each in trace(case, way, times=times)}
    ratio = case.feed.turbidity_ratio
    for place, time, (sections, _), moment in zip(
        places, times, bed_sections(case, way, times=times), moments(case, way, times=times), strict=True
    ):
        for bed in made.beds:
            cells, sample = [each for each in sections if each.stage == bed.name], samples[time, bed.name]
            shown = bed.deposit[place]
            assert len(shown) == len(bed.bottoms) <= BANDS
            top = 0.0
            for share, bottom in zip(shown, bed.bottoms, strict=True):
                inside = [each.deposit_kg_m3 for each in cells
                          if top - 1e-3 < each.top_m and each.bottom_m < bottom + 1e-3]  # fmt: skip
                thousandth = bed.holds / THOUSANDTHS
                assert share * thousandth == pytest.approx(sum(inside) / len(inside), abs=0.51 * thousandth)
                top = bottom
            if sample.phase == "service" and sample.flow_m3_h > 0.0:
                assert bed.pressure[place] == pytest.approx(sample.signal_kpa - sample.spike_kpa, **ALIKE)
                assert bed.outlet[place] == pytest.approx(sample.outlet_mg_l / ratio, **ALIKE)
            else:
                assert bed.pressure[place] is None
        if made.level is not None:
            assert made.level[place] == pytest.approx(moment.train.level_m3, **ALIKE)
    assert (made.level is not None) == (case.downstream is not None)


def test_washes_are_those_of_the_log_with_their_reasons() -> None:
    made = of_the_demo("pressure drop")
    window, result = made_window("pressure drop"), simulate(load_case(DEMO), "pressure drop")
    runs = [run for run in result.runs if run.cause is not None and window.start_s < run.end_s < window.end_s]
    assert [wash.why for wash in made.washes] == [run.cause for run in runs]
    assert len(runs) > 1
    for wash, run in zip(made.washes, runs, strict=True):
        assert wash.start * 3600.0 + window.start_s == pytest.approx(run.end_s, abs=0.02)
        # 9 min backwash, 2 min settle, 6 min rinse.
        assert [str(name) for name, _, _ in wash.steps] == ["backwash", "settle", "rinse"]
        assert (wash.end - wash.start) * 60.0 == pytest.approx(17.0, abs=0.01)


def test_a_wash_lightens_the_bed_and_its_curves_break_off() -> None:
    made = of_the_demo("calendar")
    wash = made.washes[0]
    before = made.t.index(wash.start)
    within = before + 1
    after = next(place for place, t in enumerate(made.t) if t > wash.end)
    bed = made.beds[0]
    assert sum(bed.deposit[after]) < 0.5 * sum(bed.deposit[before])
    assert bed.pressure[before] is not None
    assert bed.pressure[within] is None
    assert bed.pressure[after] < bed.pressure[before]


def test_one_json_says_all_of_it() -> None:
    made = of_the_demo("calendar")
    data = json.loads(made.as_json)
    assert {"t", "feed", "level", "beds", "washes"} <= data.keys()
    assert {"deposit", "pressure", "outlet"} <= data["beds"][0].keys()
    assert len(data["t"]) == len(data["clock"]) == len(data["beds"][0]["deposit"]) == len(data["beds"][0]["outlet"])
    assert data["washes"][0]["why"] == "calendar"
    us = json.loads(of_the_demo("calendar", "us").as_json)
    # 1 psi is 6.894757 kPa (NIST SP 811).
    assert data["beds"][0]["pressure"][0] == pytest.approx(6.894757 * us["beds"][0]["pressure"][0], rel=2e-3)


def made_window(way: str):
    case = load_case(DEMO)
    return stretch_around(worst_week(weeks(case, way))[0], case.run.length)


def of_the_demo(way: str, system="si") -> Frames:
    case = load_case(DEMO)
    return frames(case, simulate(case, way), made_window(way), system)
