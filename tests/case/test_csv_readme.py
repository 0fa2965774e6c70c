"""What cases/README.md says about series from files is so."""

import re
from pathlib import Path

from sim.case.load import load_case
from sim.case.series.records import Measured
from sim.case.series.schema import FlowFile
from tests.case.csv_samples import hours
from tests.case.samples import changed

SECTION = (
    (Path(__file__).parents[2] / "cases" / "README.md")
    .read_text(encoding="utf-8")
    .partition("## Series from a file")[2]
    .partition("\n## ")[0]
)


def test_the_line_shown_is_in_order(tmp_path: Path) -> None:
    """With a file that has an empty cell to hold over; the run takes the zone of the file."""
    (line,) = re.findall(r"^```\n(.*)\n```$", SECTION, re.MULTILINE)
    csv = hours([3, None, 5, 6, 7, 8]).replace("solids", "town")
    (tmp_path / "demand.csv").write_text(csv, encoding="utf-8")
    path = tmp_path / "case.toml"
    path.write_text(changed(('flow = "5.5 m3/h"', line), ('length = "60 d"', 'length = "6 h"')), encoding="utf-8")
    flow = load_case(path).demand.flow
    assert isinstance(flow, Measured)
    assert flow.value == (0.003, 0.003, 0.005, 0.006, 0.007, 0.008)


def test_every_key_is_told_and_no_other() -> None:
    rows = re.findall(r"^\| (`.*?) \|", SECTION, re.MULTILINE)
    told = {key for row in rows for key in re.findall(r"`(\w+)`", row)} | {"longest_gap", "stuck_after"}
    assert told == set(FlowFile.model_fields)
    assert "`longest_gap` (6 h unless given)" in SECTION
    assert "`stuck_after` (24 h, at least 12 rows, unless given)" in SECTION
