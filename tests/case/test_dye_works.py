"""The case that comes with series from a file: its file is what its recipe makes, and every remedy is told."""

from sim.case.load import load_case
from sim.case.series.records import Measured
from tests.case import dye_works
from tests.case.csv_samples import HOUR

CASE = dye_works.FILE.parents[1] / "dye_works.toml"


def test_the_file_is_what_the_recipe_makes() -> None:
    assert dye_works.FILE.read_text(encoding="utf-8") == dye_works.text()


def test_the_case_takes_three_series_from_it() -> None:
    case = load_case(CASE)
    series = (case.feed.solids, case.feed.temperature, case.demand.flow)
    for each in series:
        assert isinstance(each, Measured)
        assert len(each.value) == 70 * 24
        assert each.end[-1] == case.run.length == 70 * 24 * HOUR


def test_what_is_filled_is_what_the_recipe_left_out() -> None:
    (remedy,) = load_case(CASE).remedies
    silent = [count for _, count in dye_works.SILENT]
    assert (remedy.key, remedy.what) == ("feed.turbidity", "filled by interpolation")
    assert (remedy.count, remedy.of, remedy.longest) == (sum(silent), 70 * 24, max(silent) * HOUR)
