"""Property: whatever a file says, it loads or is refused with a whole message; nothing else happens."""

from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from sim.case.load import load_case
from sim.errors import CaseError
from tests.case.samples import SMALL
from tests.case.whole_train import WHOLE

RICH = (Path(__file__).parents[2] / "cases" / "reference.toml").read_text(encoding="utf-8")
SEASONS = SMALL.replace(
    'suspended_solids = "5 mg/L"',
    'turbidity = { mean = "4 NTU", swing = "1 NTU", highest_on = 2027-07-20 }\n'
    'solids_per_turbidity = "1.2 mg/L per NTU"',
).replace(
    'medium = "sand"',
    'medium = "sand"\nsieve = { opening = ["0.3 mm", "2 mm"], passing = [1, 99] }\n'
    'filter_coefficient = { particle_size = "5 um", particle_density = "1050 kg/m3" }',
)
LINES = sorted({line for text in (RICH, SEASONS, WHOLE) for line in text.split("\n") if line})

odd_values = st.sampled_from(
    [
        "0",
        "-1",
        "nan",
        "inf",
        "1e300",
        "true",
        "[]",
        "{}",
        "[[]]",
        "[{}]",
        '""',
        '"none"',
        '"5 m"',
        '"-5 mg/L"',
        '"1e300 m3/h"',
        "2027-01-04",
        "03:00:00",
        '["22:00-06:00"]',
        "[2027-01-04]",
        "{ a = 1 }",
        '[{ do = "rinse" }, 3]',
    ]
)


@st.composite
def mangled(draw: st.DrawFn) -> str:
    """A case with some lines lost, moved, doubled, taken from another case, or with another value."""
    lines = draw(st.sampled_from([RICH, SEASONS, WHOLE])).split("\n")
    for _ in range(draw(st.integers(1, 4))):
        at = draw(st.integers(0, len(lines) - 1))
        match draw(st.sampled_from(["lose", "move", "double", "take", "value"])):
            case "lose":
                del lines[at]
            case "move":
                lines.insert(draw(st.integers(0, len(lines) - 1)), lines.pop(at))
            case "double":
                lines.insert(draw(st.integers(0, len(lines))), lines[at])
            case "take":
                lines.insert(at, draw(st.sampled_from(LINES)))
            case "value":
                key, sign, _ = lines[at].partition(" = ")
                lines[at] = f"{key} = {draw(odd_values)}" if sign else lines[at]
    return "\n".join(lines)


@pytest.fixture(scope="module")
def path(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("any") / "case.toml"


def loads_or_refuses(path: Path) -> None:
    try:
        load_case(path)
    except CaseError as error:
        problems = error.problems
    else:
        return
    assert problems
    for problem in problems:
        assert problem.given.isprintable()
        assert problem.allowed.isprintable()
        assert problem.try_.isprintable()
        assert "" not in (problem.given, problem.allowed, problem.try_)


@settings(max_examples=300, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(text=mangled())
def test_mangled_cases(text: str, path: Path) -> None:
    path.write_text(text, encoding="utf-8")
    loads_or_refuses(path)


@settings(max_examples=100)
@given(content=st.binary(max_size=200) | st.text(max_size=100).map(str.encode))
def test_any_bytes(content: bytes, path: Path) -> None:
    path.write_bytes(content)
    loads_or_refuses(path)
