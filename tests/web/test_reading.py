"""Cases that a browser sends: read strictly, from memory, within bounds; and the word at the gate."""

import tomllib

import pytest

from sim.errors import CaseError
from sim.web.cases_read import case_of, opened, parsed, series_files
from sim.web.errors import Refused
from sim.web.gate import TRIES, TRIES_OF_ALL, WITHIN, Gate, WordNeeded
from sim.web.guard import Hosts
from sim.web.serve import first_case, is_local
from sim.web.shelf import DEMO, MOST_HELD, Held, Shelf
from tests.web.serving import CASES

TEXT = DEMO.read_text(encoding="utf-8")
HERE = "192.0.2.7"
SERIES = (CASES / "dye_works.toml").read_text(encoding="utf-8")


def test_a_case_from_a_browser_takes_no_series_from_files() -> None:
    with pytest.raises(Refused, match="cannot take a series from a file"):
        parsed(opened(SERIES.encode("utf-8"), "dye_works.toml"))


def test_the_case_that_the_page_starts_with_takes_its_own_and_no_other() -> None:
    held = first_case(CASES / "dye_works.toml")
    assert set(series_files(tomllib.loads(SERIES))) == held.series
    assert len(case_of(held).remedies) > 0
    other = Held(SERIES.replace("data/dye_works.csv", "../pyproject.toml"), held.name, held.folder, held.series)
    with pytest.raises(Refused, match="cannot take a series from a file"):
        case_of(other)


def test_a_case_is_bounded_by_its_filter_years() -> None:
    case_of(opened(TEXT.encode("utf-8"), "a.toml"))
    with pytest.raises(Refused, match=r"200 filter-years .* up to 150"):
        case_of(opened(TEXT.replace('"90 d"', '"18262.5 d"').encode("utf-8"), "a.toml"))


def test_a_case_of_no_time_is_refused() -> None:
    with pytest.raises(Refused, match="runs too short"):
        case_of(opened(TEXT.replace('"90 d"', '"0 d"').encode("utf-8"), "a.toml"))


def test_problems_of_a_case_are_those_of_the_strict_reader() -> None:
    with pytest.raises(CaseError) as error:
        case_of(opened(TEXT.replace('"0.5 m"', '"0.5 psi"').encode("utf-8"), "a.toml"))
    assert error.value.problems[0].key == "stage.twin bed.layer.0.depth"


def test_a_shelf_keeps_the_first_case_and_the_newest_others() -> None:
    first = first_case(None)
    shelf = Shelf(first)
    ids = [shelf.put(Held(f"a = {count}", "a.toml")) for count in range(MOST_HELD + 5)]
    assert shelf.get(None) == shelf.get(first.id) == first
    assert shelf.get(ids[-1]).text == f"a = {MOST_HELD + 4}"
    with pytest.raises(Refused, match="no longer"):
        shelf.get(ids[0])


def test_the_gate_opens_to_its_word_alone() -> None:
    gate = Gate()
    with pytest.raises(WordNeeded):
        gate.require({})
    with pytest.raises(Refused, match="not the word"):
        gate.open("acorn acorn acorn x", HERE)
    token = gate.open(f"  {gate.word.upper().replace('-', ' ')} ", HERE)
    gate.require({"filterrun_browser": token})
    with pytest.raises(WordNeeded):
        gate.require({"filterrun_browser": token + "x"})
    with pytest.raises(WordNeeded):
        Gate().require({"filterrun_browser": token})


def test_wrong_words_are_counted_by_address_and_the_count_ends() -> None:
    now = [0.0]
    gate = Gate(clock=lambda: now[0])
    for _ in range(TRIES):
        with pytest.raises(Refused, match="not the word"):
            gate.open("wrong", HERE)
    with pytest.raises(Refused, match="wait a minute") as refused:
        gate.open(gate.word, HERE)
    assert refused.value.status == 429
    assert gate.open(gate.word, "192.0.2.8")
    now[0] = WITHIN + 1.0
    assert gate.open(gate.word, HERE)


def test_all_wrong_words_together_have_a_ceiling_too() -> None:
    gate = Gate(clock=lambda: 0.0)
    for place in range(TRIES_OF_ALL):
        with pytest.raises(Refused, match="not the word"):
            gate.open("wrong", f"192.0.2.{place % 200}")
    with pytest.raises(Refused, match="wait a minute"):
        gate.open(gate.word, HERE)


def test_words_differ_from_start_to_start() -> None:
    assert len({Gate().word for _ in range(50)}) > 45


@pytest.mark.parametrize("host", ["127.0.0.1:8642", "localhost", "LOCALHOST:1", "[::1]:8642", "127.0.0.1"])
def test_local_names_are_allowed(host: str) -> None:
    assert Hosts(frozenset({"127.0.0.1", "localhost", "::1", "[::1]"})).allows(host)


@pytest.mark.parametrize("host", ["evil.example", "192.168.0.7:8642", "127.0.0.1.evil.example", "", "localhost.x:80"])
def test_other_names_are_not(host: str) -> None:
    assert not Hosts(frozenset({"127.0.0.1", "localhost"})).allows(host)


def test_an_open_page_answers_to_numbers_and_never_to_foreign_names() -> None:
    hosts = Hosts(frozenset({"localhost"}), open_=True)
    assert hosts.allows("192.168.0.7:8642")
    assert hosts.allows("[fe80::1]:8642")
    assert not hosts.allows("evil.example")


def test_only_loopback_is_local() -> None:
    assert all(is_local(host) for host in ("127.0.0.1", "127.0.0.9", "::1", "localhost"))
    assert not any(is_local(host) for host in ("0.0.0.0", "::", "192.168.0.7", "school.example"))
