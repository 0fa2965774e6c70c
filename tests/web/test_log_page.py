"""“What does my log say?”: a log to its end over the port and in a browser without script; what means no good."""

import re
import tomllib
from html import unescape
from pathlib import Path
from typing import Any

import pytest

from sim.log.records import What
from sim.web.errors import Refused
from sim.web.log import FILES, HOW, MOST_ROWS, held_log
from tests.cli.small import small_case
from tests.log.made_log import HAND, make_log
from tests.web.serving import Answer, Served
from tests.web.test_browser import tab
from tests.web.test_hostile import MARKUP, SENTENCE

SIX_HOURS = 6 * 3600.0
HEAD = "time,flow [m3/h],pressure drop [kPa]\n"


@pytest.fixture(scope="module")
def case(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return Path(small_case(tmp_path_factory.mktemp("small")))


def log_of(case: Path, columns: tuple[What, ...] = HAND) -> bytes:
    """Nine days of the small plant, whose bed clogs sooner than its case says."""
    truth = {"stage.sand.layer.0.deposit_density": "45 kg/m3"}
    path = case.with_name("log.csv")
    make_log(path, case, stage="sand", days=9.0, every=SIX_HOURS, columns=columns, truth=truth)
    return path.read_bytes()


def opened(page: Served, case: Path) -> str:
    """The id of the case, once the page holds it."""
    taken = page.upload(case.name, case.read_bytes())
    found = re.search(r"case=([0-9a-f]{16})", taken.headers["location"])
    assert found is not None
    return found[1]


def sent(page: Served, case_id: str, content: bytes, name: str = "log.csv") -> str:
    """Where a log is answered."""
    taken = page.upload(name, content, f"/log?case={case_id}")
    assert taken.status == 303, taken.text
    where = taken.headers["location"]
    assert re.fullmatch(rf"/log\?case={case_id}&log=[0-9a-f]{{16}}", where), "no more than names in the address"
    return where


def words(answer: Answer) -> str:
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", answer.text)).split())


def refused(answer: Answer) -> str:
    found = SENTENCE.search(answer.text)
    assert found is not None, answer.text
    return unescape(re.sub(r"<[^>]+>", "", found[1])).strip()


def test_a_log_gives_constants_causes_and_a_case(page: Served, case: Path) -> None:
    before = set(page.folder.iterdir())
    where = sent(page, opened(page, case), log_of(case), 'plant <script>alert("x")</script>.csv')
    answer = page.settled(where)
    assert answer.status == 200
    said = words(answer)
    assert "The log settles" in said
    assert "growth of the pressure drop" in said
    assert "What the log leaves open" in said
    assert "What may be wrong" in said
    assert "data:image/svg+xml" in answer.text
    assert "<script>alert" not in answer.text
    saved = page.ask(where.replace("/log?", "/log/save?"))
    made = tomllib.loads(saved.text)
    assert saved.headers["content-disposition"].endswith('_fitted.toml"')
    told = next(each for each in made["range"] if each["of"].endswith("deposit_density"))
    low, high = (float(told[end].split()[0]) for end in ("low", "high"))
    assert low < 45.0 < high
    report, tables = (page.ask(where.replace("/log?", f"/log/save/{name}?")) for name in FILES)
    assert "growth of the pressure drop" in report.text
    assert "<script>alert" not in report.text
    assert tables.headers["content-disposition"].endswith('tables.xlsx"')
    assert page.ask(where.replace("/log?", "/log/save/fit.toml?")).status == 404
    used = page.post(where.replace("/log?", "/log/use?"), {})
    assert used.status == 303
    assert "fitted" in page.ask(used.headers["location"]).text
    assert set(page.folder.iterdir()) == before


def test_washes_without_marks_are_confirmed_first(page: Served, case: Path) -> None:
    unmarked = tuple(each for each in HAND if each not in (What.WASH, What.DRAIN))
    where = sent(page, opened(page, case), log_of(case, unmarked))
    asked = page.settled(where)
    assert "The log marks no washes" in words(asked)
    assert "The log settles" not in words(asked)
    assert page.ask(where.replace("/log?", "/log/save?")).status == 303
    assert "The log settles" in words(page.settled(f"{where}&washes=seen"))


BAD = {
    "not UTF-8": "café;1\n".encode("latin-1"),
    "a workbook": b"PK\x03\x04\x14\x00\x06\x00\xff\xfe\x00\x00",
    "too many rows": HEAD.encode() + b"2027-01-01 00:00,1,2\n" * (MOST_ROWS + 5),
    "a line too long": b"a" * 30_000,
}


@pytest.mark.parametrize("name", BAD)
def test_what_is_no_log_is_refused_at_once(page: Served, name: str) -> None:
    answer = page.upload("log.csv", BAD[name], "/log")
    assert answer.status == 422
    assert refused(answer).endswith(".")
    assert name != "not UTF-8" or "Save it anew as CSV in UTF-8" in refused(answer)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "no header"),
        ("\0\0\0", "allowed is"),
        (HEAD + "2027-01-01 00:00,=cmd|'/c calc'!A0,2\n2027-01-02 00:00,1,2\n", "=cmd|'/c calc'!A0"),
        (HEAD.replace("flow", MARKUP) + "2027-01-01 00:00,1,2\n2027-01-02 00:00,1,2\n", "flow"),
        (HEAD + "2027-01-01 00:00,1,-2\n2027-01-02 00:00,1,2\n", "-2 kPa"),
        (HEAD + "2027-01-01 00:00,nan,2\n2027-01-02 00:00,1,2\n", "nan"),
    ],
)
def test_a_bad_log_is_one_sentence(page: Served, case: Path, text: str, said: str) -> None:
    answer = page.settled(sent(page, opened(page, case), text.encode()))
    assert answer.status == 422
    assert said in refused(answer)
    assert MARKUP not in answer.text


def test_what_is_no_form_or_no_log_of_this_page(page: Served) -> None:
    assert refused(page.post("/log", {"gaps": "hold"})) == "No file was chosen."
    assert page.ask("/log?log=0000000000000000").status == 404
    assert page.upload("log.csv", b"a" * 1_048_576, "/log").status == 413
    assert page.ask("/log").status == 200


@pytest.mark.parametrize("end", ["", "\n"])
def test_the_most_rows_are_counted_with_or_without_a_last_line_end(end: str) -> None:
    rows = [HEAD.strip(), *["2027-01-01 00:00,1,2"] * MOST_ROWS]
    assert held_log(("\n".join(rows) + end).encode(), "a.csv", {}).text
    with pytest.raises(Refused, match="rows"):
        held_log(("\n".join([*rows, rows[-1]]) + end).encode(), "a.csv", {})


def test_a_field_sent_twice_is_refused(page: Served) -> None:
    part = '--e\r\nContent-Disposition: form-data; name="gaps"\r\n\r\nhold\r\n'
    file = '--e\r\nContent-Disposition: form-data; name="file"; filename="a.csv"\r\n\r\na\r\n--e--\r\n'
    headers = {"Content-Type": "multipart/form-data; boundary=e", "Origin": page.address}
    answer = page.ask("/log", method="POST", headers=headers, body=(part + part + file).encode())
    assert (answer.status, refused(answer)) == (400, "This form holds a field twice.")


def test_only_what_the_form_has_says_how_a_log_is_read() -> None:
    given = held_log(b"a", "a.csv", {"gaps": "hold"})
    assert dict(given.how) == {name: values[0] for name, values in HOW.items()} | {"gaps": "hold"}
    for fields in ({"gaps": "invent"}, {"zone": "UTC"}):
        with pytest.raises(Refused):
            held_log(b"a", "a.csv", fields)


def test_without_script_the_answer_comes_by_itself(browser: Any, page: Served, case: Path, tmp_path: Path) -> None:
    case_id, path = opened(page, case), tmp_path / "mine.csv"
    path.write_bytes(log_of(case))
    with tab(browser, page, java_script_enabled=False) as shown:
        shown.goto(f"{page.address}/log?case={case_id}")
        shown.set_input_files("#file", path)
        shown.click("text=Fit it")
        shown.wait_for_url(re.compile("log="))
        page.settled(shown.url.removeprefix(page.address))
        shown.wait_for_selector("#found .answer")
        assert "mine.csv" in shown.inner_text("#found h2")
        with shown.expect_download() as saved:
            shown.click("text=Save the fitted case")
        assert saved.value.suggested_filename.endswith("_fitted.toml")
