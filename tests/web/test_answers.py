"""The page over its port: the same numbers everywhere, states in addresses, cases opened, changed and saved."""

import io
import json
import re
import tomllib
from html import unescape
from pathlib import Path
from urllib.parse import urlencode

import pytest

from plots.words import label, say, speaking, typeset
from sim.web.pages import own_text
from sim.web.plant import edit
from sim.web.serve import first_case
from sim.web.shelf import DEMO, Stand, shipped
from sim.web.start import answered
from tests.cli.small import call
from tests.cli.test_words import CLAIMS, JARGON, found
from tests.web.serving import CASES, WORTH, Served, served

TEXT = DEMO.read_text(encoding="utf-8")
MOVED = {"policy.calendar.twin bed.every": "2.5", "policy.pressure drop.twin bed.above": "30"}
WEB = Path(__file__).parent.parent.parent / "sim" / "web"
TEMPLATES = [path for folder in ("cases", "static", "templates") for path in sorted((WEB / folder).glob("*.*"))]


def rows(html: str) -> dict[str, list[str]]:
    """The cells of a page's comparison by the row's name, marks taken off."""
    table = html.partition("<caption>All figures</caption>")[2].partition("</table>")[0]
    found = {}
    for row in re.findall(r"<tr.*?</tr>", table, re.DOTALL):
        cells = [unescape(re.sub(r"<span.*?</span>|<.*?>", "", each)).strip()
                 for each in re.findall(r"<t[hd].*?</t[hd]>", row, re.DOTALL)]  # fmt: skip
        found[cells[0]] = cells[1:]
    assert len(found) > 12
    return found


def in_step(page: Served, text: str, moved: dict[str, str], changes: dict[str, str], folder: Path) -> None:
    """The page, its report, its workbook and its JSON at moved sliders, against compare on a file changed by hand."""
    pytest.importorskip("openpyxl")
    case = re.search(r"case=([0-9a-f]+)", page.upload("case.toml", text.encode("utf-8")).headers["location"])
    assert case is not None
    query = urlencode({"case": case[1], **moved})
    shown = rows(page.settled(f"/start/answer?{query}").text)
    assert page.settled(f"/files?{query}").status == 200
    assert rows(page.ask(f"/files/report.html?{query}").text) == shown
    result = json.loads(page.ask(f"/files/result.json?{query}").text)
    for old, new in changes.items():
        assert old in text
        text = text.replace(old, new)
    (folder / "case.toml").write_text(text, encoding="utf-8")
    told = json.loads(call("compare", str(folder / "case.toml"), "--json", "-").stdout)
    assert result["policies"] == told["policies"]
    assert result["order"] == told["order"]
    assert shown["washes"] == [str(each["site"]["washes"]) for each in told["policies"]]
    drained = [each["site"]["drain_m3"] for each in told["policies"]]
    for cell, value in zip(shown["water to drain, m³"], drained, strict=True):
        assert float(cell.replace(",", "")) == pytest.approx(value, rel=0.01)
    book = _workbook(page.ask(f"/files/tables.xlsx?{query}").content)
    assert book["water to drain, m3"] == pytest.approx(drained, rel=1e-9)


def test_the_same_case_gives_the_same_numbers_on_the_page_in_the_report_and_in_json(
    page: Served, tmp_path: Path
) -> None:
    whole = (CASES / "reference.toml").read_text(encoding="utf-8")
    before, _, after = whole.partition('[policy."volume".filter]')
    text = before + after[after.index('[policy."pressure drop"') :]  # two policies are drawn in half the time
    moved = {"policy.calendar.filter.every": "2.5", "policy.pressure drop.filter.above": "10"}
    in_step(page, text, moved, {'every = "4 d"': 'every = "2.5 d"', 'above = "14 kPa"': 'above = "10 kPa"'}, tmp_path)


@pytest.mark.long
def test_the_same_where_constants_are_assumed(page: Served, tmp_path: Path) -> None:
    in_step(page, TEXT, MOVED, {'every = "4 d"': 'every = "2.5 d"', '"42 kPa"': '"30 kPa"'}, tmp_path)


def _workbook(content: bytes) -> dict[str, list[float]]:
    from openpyxl import load_workbook

    sheet = load_workbook(io.BytesIO(content))["Comparison"]
    lines = [[cell.value for cell in row] for row in sheet.iter_rows()]
    return {str(line[1]): line[2:] for line in lines if line[0] == "site"}


def test_an_untouched_page_shows_what_compare_shows(page: Served) -> None:
    told = json.loads(call("compare", str(DEMO), "--no-ranges", "--json", "-").stdout)
    shown = rows(page.settled("/start/answer").text)
    assert shown["washes"] == [str(each["site"]["washes"]) for each in told["policies"]]
    answer = call("compare", str(DEMO), "--no-ranges").stdout.splitlines()[2]
    assert unescape(page.settled("/start").text).count(typeset(answer)) == 1


def test_a_state_is_its_address(page: Served) -> None:
    query = urlencode({**MOVED, "policy.pressure drop.twin bed.above": "5", "units": "us"})
    html = page.settled(f"/start?{query}").text
    assert 'name="policy.calendar.twin bed.every" value="2.5"' in html
    assert 'name="policy.pressure drop.twin bed.above" value="5"' in html
    assert "gal" in html
    # The change to SI carries the settings over: 5 psi are 34.4738 kPa (NIST SP 811).
    assert re.search(r'data-switch href="/start\?[^"]*pressure\+drop.twin\+bed.above=34.4738', html)


def test_other_units_show_the_same_run(page: Served) -> None:
    si, us = (rows(page.settled(f"/start/answer?units={units}").text) for units in ("si", "us"))
    assert si["washes"] == us["washes"]
    for metric, customary in zip(si["treated water, m³"], us["treated water, gal"], strict=True):
        gallons = float(customary.replace(",", ""))
        assert gallons * 3.785411784e-3 == pytest.approx(float(metric.replace(",", "")), rel=2e-3)


def test_no_answer_stands_there_before_a_guess(page: Served) -> None:
    before = page.settled("/rinse").text
    assert "Write down your guess" in before
    assert "The first jar" not in before
    assert page.ask("/rinse/answer").status == 400
    after = page.settled("/rinse?guess=3").text
    assert "Your guess was 3 NTU." in after
    assert "The first jar, half a minute after water flows again, reads" in after
    assert page.ask("/rinse?guess=lots").status == 422
    assert page.ask("/rinse?guess=3+psi").status == 422


def test_a_guess_is_asked_for_without_a_rinse_and_what_feeds_it_is_shown(page: Served) -> None:
    asked = page.settled("/rinse").text
    assert re.search(r'name="stage.0.step.2.minutes" value="0"', asked)
    assert "rinse of 6 min is left out here." in asked
    assert re.search(r'name="feed.turbidity.median" value="4"', asked)
    # An address that says where sliders stand is left alone.
    assert re.search(r'name="stage.0.step.2.minutes" value="2"', page.settled("/rinse?stage.0.step.2.minutes=2").text)


def test_a_guess_counts_for_the_settings_that_it_was_made_at(page: Served) -> None:
    first = page.settled("/rinse?guess=3&stage.0.step.2.minutes=0").text
    found = re.search(r'name="at" value="(\w+)"', first)
    assert found is not None
    moved = page.settled(f"/rinse?guess=3&at={found[1]}&stage.0.step.2.minutes=6").text
    assert "Your guess was 3" not in moved
    assert "Your guess of 3 NTU was for other settings" in moved
    # What stands as the case has it may be left out of an address or not.
    again = page.settled(f"/rinse?guess=3+NTU&at={found[1]}&stage.0.step.2.minutes=0.0&stage.0.step.0.minutes=9").text
    assert "Your guess was 3 NTU." in again


def test_less_rinse_gives_a_dirtier_first_jar_and_takes_less_water(page: Served) -> None:
    def jar(minutes: str) -> tuple[float, str]:
        html = page.settled(f"/rinse/answer?guess=none&stage.0.step.2.minutes={minutes}").text
        found_ = re.search(r"reads ([\d.]+) NTU", html)
        assert found_ is not None
        spent = re.search(r"water of the rinse, to drain</dt><dd>([^<]*)", html)
        assert spent is not None
        return float(found_[1]), spent[1]

    none, some, long = jar("0"), jar("5"), jar("8")
    assert none[0] > 2.0 * some[0] > 2.0 * long[0] > 0.0
    assert none[1] == "none: no rinse"
    assert float(some[1].split()[0]) == pytest.approx(6.5 * 5 / 60, rel=0.02)  # 6.5 m3/h for 5 minutes, by hand


def test_a_case_is_opened_changed_and_saved(page: Served) -> None:
    mine = TEXT.replace("Flower market", "Brick yard <b>&")
    taken = page.upload("brick yard.toml", mine.encode("utf-8"))
    assert taken.status == 303
    place = taken.headers["location"]
    html = page.ask(place).text
    assert "Brick yard &lt;b&gt;&amp;" in html
    assert "<b>&" not in html
    case = re.search(r"case=([0-9a-f]+)", place)
    assert case is not None
    saved = page.ask(f"/plant/save?case={case[1]}")
    assert saved.text == mine
    assert saved.headers["content-disposition"] == 'attachment; filename="brick_yard.toml"'
    changed = page.post(f"/plant/fields?case={case[1]}", {"stage.0.vessel.diameter": "40 in"})
    assert changed.status == 303
    other = re.search(r"case=([0-9a-f]+)", changed.headers["location"])
    assert other is not None
    assert tomllib.loads(page.ask(f"/plant/save?case={other[1]}").text)["stage"][0]["vessel"]["diameter"] == "40 in"
    assert page.ask(f"/plant/save?case={case[1]}").text == mine
    assert rows(page.settled(f"/start/answer?case={other[1]}").text) != rows(page.settled("/start/answer").text)


def test_a_field_that_will_not_do_is_told_and_kept_for_mending(page: Served) -> None:
    answer = page.post("/plant/fields", {"stage.0.vessel.diameter": "40 psi", "stage.0.limit": "0.9 NTU"})
    assert answer.status == 422
    assert "stage.twin bed.vessel.diameter" in answer.text
    assert 'value="40 psi"' in answer.text
    assert 'value="0.9 NTU"' in answer.text
    field = answer.text.partition('id="f-stage.0.vessel.diameter"')[2].partition("</div>")[0]
    assert 'aria-invalid="true"' in field
    assert "40 psi" in field.partition('class="wrong"')[2]
    assert answer.text.count('class="wrong"') == 1
    assert 'href="#f-stage.0.vessel.diameter"' in answer.text


def test_the_text_of_a_case_is_read_with_all_its_problems(page: Served) -> None:
    wrong = TEXT.replace('"0.5 m"', '"0.5"').replace("minutes = 2", "minutes = -2")
    answer = page.post("/plant/text", {"text": wrong})
    assert answer.status == 422
    assert answer.text.count("Allowed:") == 2
    assert "line " in answer.text
    assert page.post("/plant/text", {"text": TEXT.replace("\n", "\r\n")}).status == 303


def test_a_whole_page_comes_without_its_answer_where_that_takes_long_and_can_be_cancelled(page: Served) -> None:
    long = (CASES / "greenhouse.toml").read_text(encoding="utf-8").replace('"210 d"', '"6000 d"')
    place = page.upload("long.toml", long.encode("utf-8")).headers["location"]
    case = re.search(r"case=([0-9a-f]+)", place)
    assert case is not None
    answer = page.ask(f"/start/answer?case={case[1]}")
    assert answer.status == 202
    # Without script the page asks again, at its address without the fragment, which would only be scrolled to.
    whole = page.ask(f"/start?case={case[1]}&through=calendar").text
    assert f'content="2; url=/start?case={case[1]}&amp;through=calendar"' in whole
    assert re.search(r"Working: run \d of 4|Working\.|Waiting for its turn", answer.text)
    stopped = page.ask(f"/cancel/start?case={case[1]}", method="POST", headers={"Origin": page.address}, body=b"")
    assert stopped.status == 303
    assert page.ask("/start/answer?policy.calendar.twin+bed.every=7").status in (200, 202)


def test_a_case_with_series_from_files_works_where_the_page_starts_with_it() -> None:
    held = first_case(CASES / "dye_works.toml")
    changed = edit(held, (("title", "Dye works, another year"),), print)
    assert changed.series == held.series
    key = "feed.turbidity"
    plain, twice = (answered(Stand(changed, asked, "si"), None, print) for asked in ((), ((key, "200"),)))
    assert any("values" in note for note in plain.notes)
    assert plain.sentences != twice.sentences


@pytest.mark.parametrize("place", range(len(shipped())))
def test_every_case_that_comes_along_answers_every_question(page: Served, place: int) -> None:
    about, held = shipped()[place]
    assert about in page.ask("/plant").text
    assert f"case={held.id}" in page.ask("/plant").text
    for way in ("/start/answer?", "/rinse/answer?guess=1&", "/plant?"):
        assert page.settled(f"{way}case={held.id}").status == 200


@pytest.mark.long
def test_a_classroom_tells_the_word_once() -> None:
    with served("--host", "0.0.0.0") as up:
        opens, tells = up.said[1:]
        assert opens.startswith("It is open, unencrypted, to every network of this computer, by its own addresses")
        word = tells.rpartition(" ")[2].strip()
        asked = up.ask("/start")
        assert asked.status == 401
        assert "asks once for the word" in asked.text
        assert "Flower" not in asked.text
        assert up.ask("/plant/save").status == 401
        assert up.post("/word", {"word": "not it"}).status == 403
        let_in = up.post("/word", {"word": word})
        assert let_in.status == 303
        cookie = let_in.headers["set-cookie"]
        assert "HttpOnly" in cookie
        assert "SameSite=strict" in cookie
        token = cookie.partition(";")[0]
        assert up.ask("/plant/save", headers={"Cookie": token}).status == 200
        assert up.ask("/plant/save", headers={"Host": "evil.example", "Cookie": token}).status == 400


def test_a_case_that_is_wrong_ends_the_command_before_anything_is_served(tmp_path: Path) -> None:
    (tmp_path / "wrong.toml").write_text(TEXT.replace('"0.5 m"', '"0.5 psi"'), encoding="utf-8")
    done = call("page", str(tmp_path / "wrong.toml"))
    assert done.exit_code == 2
    assert "stage.twin bed.layer.0.depth" in done.output


@pytest.mark.parametrize("words", [["--port", "99999"], ["--host", "no.such.host.invalid"], ["--port", "x"]])
def test_a_place_that_cannot_be_opened_is_told(words: list[str]) -> None:
    done = call("page", *words)
    assert done.exit_code == 2
    assert "Traceback" not in done.output


@pytest.mark.parametrize("path", TEMPLATES, ids=lambda path: path.name)
def test_no_word_of_the_page_claims_or_confuses(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    assert found(CLAIMS, text) == []
    assert found(JARGON, text) == []
    if path.suffix == ".html":
        said = re.sub(r"{%.*?%}|{{.*?}}|<[^>]*>", "", text, flags=re.DOTALL)
        assert re.findall(r"\bpolic(?:y|ies)\b", said) == []


@pytest.mark.parametrize("way", ["/", "/start", "/rinse", f"/meter?case={WORTH.id}", "/plant", "/files", "/nowhere"])
def test_the_cautions_stand_on_every_page(page: Served, way: str) -> None:
    html = page.ask(way).text
    assert "A planning aid: local codes and a licensed practitioner decide." in html
    assert "depressurise" in html
    assert "Do not try a setting at a working plant" in html


def test_styles_and_script_name_no_other_place() -> None:
    for text in (own_text("static", "page.css"), own_text("static", "page.js")):
        assert not re.search(r"https?:|//[a-z]+\.|url\(|@import", text)


def test_a_page_answers_in_the_language_of_its_address_else_in_the_browsers(page: Served) -> None:
    portuguese = {"Accept-Language": "pt-BR,pt;q=0.9,en;q=0.5"}
    assert '<html lang="pt"' in page.ask("/", headers=portuguese).text
    assert '<html lang="en"' in page.ask("/", headers={"Accept-Language": "de"}).text
    spanish = page.ask("/?language=es", headers=portuguese).text
    assert '<html lang="es"' in spanish
    assert 'href="/start?language=es"' in spanish
    english, french = (page.settled(f"/start/answer{query}").text for query in ("", "?language=fr"))
    with speaking("fr"):
        named = label("page.start.all_figures")
    assert named in french
    assert named not in english
    assert page.settled("/start/answer").text == english
    assert page.ask("/?language=de").status == 400
    refused = page.ask("/start?language=es&nothing=1").text
    with speaking("es"):
        assert say("language.english") in refused
    assert '<div lang="en" class="refusal"' in refused
