"""“Is a meter worth it?”: the numbers of the command, money on top of kept runs, blank prices, what is refused."""

import json
import re
from collections.abc import Iterator
from datetime import date
from html import unescape
from pathlib import Path
from typing import Any
from urllib.parse import urlencode

import pytest

from sim.case.load import read_case
from sim.case.quantities import System
from sim.study.decide.kept import worth_by
from sim.study.decide.payback import Payback
from sim.tell.decision.decision_json import payback_json
from sim.web import meter
from sim.web.errors import Refused
from sim.web.meter import Study, asked_study, blank_prices, moved_runs, why_not_the_command
from sim.web.serve import first_case
from sim.web.shelf import DEMO, Asked, Held, Stand
from sim.web.sliders import Slider, in_other_units, settings_of
from tests.cli.small import call
from tests.web.serving import CASES, WORTH, Served

SHIPPED = [DEMO, *sorted(CASES.glob("*.toml"))]
SYSTEMS: list[System] = ["si", "us"]
MARKUP = "<script>alert(1)</script>"
NONE = "No price was given to decide it"


@pytest.fixture(scope="module")
def held() -> Held:
    return WORTH


@pytest.fixture(scope="module")
def kept(held: Held) -> bytes:
    return meter.run(held, (), print)


def found(kept: bytes, held: Held, **asked: str) -> Payback:
    study = study_of(held, tuple(asked.items()))
    return worth_by(kept, study.bench(print), study.wishes)


def study_of(held: Held, asked: Asked) -> Study:
    return asked_study(Stand(held, asked, "si"))


def settings_at(held: Held, asked: dict[str, str]) -> dict[str, Any]:
    return settings_of(meter.sliders(held, "si"), Stand(held, tuple(asked.items()), "si"))


@pytest.fixture
def case_id(page: Served) -> str:
    page.upload(WORTH.name, WORTH.text.encode("utf-8"))
    return WORTH.id


@pytest.mark.parametrize("system", SYSTEMS)
@pytest.mark.parametrize("path", SHIPPED, ids=lambda path: path.stem)
def test_every_slider_stands_within_its_range_and_changes_nothing_there(path: Path, system: System) -> None:
    sliders = meter.sliders(first_case(path), system)
    assert len({each.key for each in sliders}) == len(sliders) > 8
    for each in sliders:
        assert each.blank or each.value is not None
        assert each.value is None or each.low <= each.value <= each.high
        assert 0.0 < each.step <= (each.high - each.low) / 10.0
    own = tuple((each.key, "" if each.value is None else repr(each.value)) for each in sliders)
    assert settings_of(sliders, Stand(first_case(path), own, system)) == {}
    assert moved_runs(sliders, own) == ()


@pytest.mark.parametrize(("path", "end"), [
    pytest.param(path, end, id=f"{path.stem}-{end}",
                 marks=[] if end == "high" or path == DEMO else pytest.mark.long)
    for path in SHIPPED for end in ("low", "high")
])  # fmt: skip
def test_the_case_can_be_read_at_either_end_of_every_slider_and_with_each_blank(path: Path, end: str) -> None:
    text = path.read_text(encoding="utf-8")
    sliders = meter.sliders(first_case(path), "us")
    for each in sliders:
        for value in (repr(getattr(each, end)), *([""] if each.blank else [])):
            read_case(text, path, settings_of(sliders, Stand(first_case(path), ((each.key, value),), "us")))


def test_prices_are_told_in_the_units_of_the_trade() -> None:
    """3 a m3 are 3 x 3.785411784 a 1000 gal (NIST SP 811)."""
    held = first_case(CASES / "laundry.toml")
    si, us = ({each.key: each for each in meter.sliders(held, system)} for system in SYSTEMS)
    assert us["prices.water"].value == pytest.approx(3.0 * 3.785411784, rel=5e-3)  # shown to three figures
    assert us["prices.water"].shown == "marls per 1000 gal"
    assert float(in_us(si, us, "4")) == pytest.approx(4.0 * 3.785411784, rel=1e-5)
    assert in_us(si, us, "") == ""
    moved = Stand(held, (("prices.water", "10"),), "us")
    assert settings_of(tuple(us.values()), moved) == {"prices.water": "10.0 per 1000 gal"}


def in_us(si: dict[str, Slider], us: dict[str, Slider], text: str) -> str:
    key = "prices.water"
    ((_, there),) = in_other_units((si[key],), (us[key],), ((key, text),))
    return there


def test_more_use_and_more_variation_reach_the_case() -> None:
    held = first_case(CASES / "rope_walk.toml")
    text = held.text
    asked = {"use": "150", "swing": "40", "days": "20"}
    demand = read_case(text, CASES, settings_at(held, asked)).demand
    before = read_case(text, CASES, {}).demand
    assert demand.flow.value == pytest.approx(1.5 * before.flow.value)  # type: ignore[union-attr]
    assert demand.season is not None
    assert demand.season.swing == 0.4
    assert settings_at(held, {"swing": "40"})["demand.season"]["highest_on"] == date(2027, 4, 1)
    assert demand.is_random
    assert not before.is_random


def test_the_same_case_gives_the_same_numbers_as_the_command(held: Held, kept: bytes, tmp_path: Path) -> None:
    (tmp_path / "case.toml").write_text(held.text, encoding="utf-8")
    told = json.loads(call("payback", str(tmp_path / "case.toml"), "--no-ranges", "--json", "-").stdout)
    here = json.loads(json.dumps(payback_json(found(kept, held), None)))
    for key in ("bars", "devices", "policies", "replicates", "limits"):
        assert here[key] == told[key]
    assert study_of(held, ()).command == "filterrun payback CASE"


@pytest.mark.long
def test_the_same_in_random_weather_by_the_command_that_is_named(held: Held, tmp_path: Path) -> None:
    asked = (("days", "20.0"),)
    shown = study_of(held, asked)
    random = found(meter.run(held, asked, print), held, days="20.0")
    text = held.text.replace('flow = "6 m3/h"\n[[stage]]', 'flow = "6 m3/h"\nvariation = { spread = 1.2 }\n[[stage]]')
    assert text != held.text
    (tmp_path / "case.toml").write_text(text, encoding="utf-8")
    words = shown.command.removeprefix("filterrun ").replace("CASE", str(tmp_path / "case.toml")).split(" ")
    assert words[2:] == ["--coarse", "--replicates", str(meter.REPLICATES)]
    told = json.loads(call(*words, "--workers", "1", "--no-ranges", "--json", "-").stdout)
    here = json.loads(json.dumps(payback_json(random, None)))
    assert here["bars"] == told["bars"]
    assert here["devices"] == told["devices"]


def test_a_price_that_moves_runs_no_search(held: Held, kept: bytes, monkeypatch: pytest.MonkeyPatch) -> None:
    """Twice the price of water and sewer costs twice as much of both, by the same water, as hand arithmetic says."""
    plain = found(kept, held)
    monkeypatch.setattr("sim.study.decide.search.Search.run", lambda _: pytest.fail("a search"))
    dear = found(kept, held, **{"prices.water": "4", "prices.sewer": "2"})
    assert plain.prices.water is not None
    assert (plain.prices.water.value, plain.prices.sewer.value) == (2.0, 1.0)  # type: ignore[union-attr]
    today, again = plain.bars[0].tried, dear.bars[0].tried
    assert again.mean("water") == today.mean("water")
    assert again.mean("part water") == pytest.approx(2.0 * today.mean("part water"), rel=1e-12)
    assert again.mean("part water") + again.mean("part sewer") == pytest.approx(6.0 * today.mean("water"), rel=1e-12)


def test_blank_prices_leave_volumes_hours_and_the_break_even(held: Held, kept: bytes) -> None:
    asked = tuple(blank_prices(meter.sliders(held, "si")).items())
    shown = meter.answered(kept, Stand(held, asked, "si"), None, False, print)
    assert shown.headline.startswith(f"{NONE}: ")
    assert "m3" in shown.headline
    assert "water to drain in a year" in shown.figure.svg
    assert "cost of a year" in meter.answered(kept, Stand(held, (), "si"), None, False, print).figure.svg


def test_the_limit_of_the_page_is_that_of_the_command(held: Held) -> None:
    study = study_of(held, (("over_limit", "25"),))
    assert study.command == "filterrun payback CASE --over-limit 25"


def test_the_command_is_promised_the_same_numbers_only_where_it_has_them(held: Held, kept: bytes) -> None:
    """At the case's own settings, whatever the limit; not with other prices, other use or a part of the time."""
    sliders = meter.sliders(held, "si")
    for asked, why in (
        ((), None), ((("over_limit", "25"),), None), ((("prices.water", "2.0"),), None),
        ((("prices.water", "4"),), "other prices"), ((("prices.discount_rate", "100"),), "other prices"),
        ((("use", "150"),), "other water"),
    ):  # fmt: skip
        assert why_not_the_command(study_of(held, asked), sliders, asked) == why
    long = Held((CASES / "greenhouse.toml").read_text(encoding="utf-8").replace('"210 d"', '"3000 d"'), "case.toml")
    assert why_not_the_command(study_of(long, ()), (), ()) == "part of the time"
    same = meter.answered(kept, Stand(held, (), "si"), None, False, print).about_command
    assert same == "With the file of the case, this command comes to the same numbers:"
    own = meter.answered(kept, Stand(held, (("prices.water", "4"),), "si"), None, False, print).about_command
    assert "own, since the best is chosen from the settings that were tried at the prices of the file." in own


@pytest.mark.parametrize("name", ["rinse", "warm_water"])
def test_a_case_with_nothing_to_compare_is_told_so(name: str) -> None:
    lesson = DEMO.parents[2] / "lessons" / f"{name}.toml"
    with pytest.raises(Refused, match="under “My plant”") as refused:
        study_of(Held(lesson.read_text(encoding="utf-8"), "case.toml"), ())
    assert refused.value.status == 422


def test_a_long_run_of_a_large_train_is_cut_and_said() -> None:
    text = (CASES / "greenhouse.toml").read_text(encoding="utf-8").replace('"210 d"', '"3000 d"')
    study = study_of(Held(text, "case.toml"), ())
    assert 30.0 <= study.case.run.length / 86_400.0 < 366.0
    assert study.whole_days == 3000.0


def sentence(html: str) -> str:
    return unescape(re.sub(r"<.*?>", "", html.partition("data-say>")[2].partition("</p>")[0]))


def test_a_state_is_its_address(page: Served, case_id: str, held: Held, kept: bytes) -> None:
    first = page.settled(f"/meter?case={case_id}")
    assert first.status == 200
    own = meter.answered(kept, Stand(held, (), "si"), None, False, print)
    assert sentence(first.text) == own.headline
    assert own.headline not in own.statements, "each sentence once"
    assert own.statements
    query = urlencode({"case": case_id, "prices.water": "9", "prices.sewer": "", "units": "si"})
    html = page.settled(f"/meter?{query}").text
    assert 'name="prices.water" value="9"' in html
    assert 'name="prices.sewer" value=""' in html
    moved = meter.answered(kept, Stand(held, (("prices.sewer", ""), ("prices.water", "9")), "si"), None, False, print)
    assert sentence(html) == moved.headline != sentence(first.text)
    assert sentence(page.ask(f"/meter/answer?{query}").text) == sentence(html)
    # The change to US carries the settings over: 9 a m3 are 34.0687 a 1000 gal, and blank stays blank.
    assert re.search(r'data-switch href="/meter\?[^"]*prices.water=34.0687&amp;prices.sewer=["&]', html)
    us = page.settled(f"/meter?case={case_id}&units=us").text
    assert "per 1000 gal" in us
    assert "shells a year" in sentence(us)


def test_work_on_an_answer_can_be_cancelled(page: Served) -> None:
    text = (CASES / "greenhouse.toml").read_text(encoding="utf-8")
    place = page.upload("long.toml", text.encode("utf-8")).headers["location"]
    case = str(re.search(r"case=([0-9a-f]+)", place)[1])  # type: ignore[index]
    answer = page.ask(f"/meter/answer?case={case}")
    assert answer.status == 202
    assert re.search(r"Working: \d+ settings? tried|Working\.|Waiting for its turn", answer.text)
    stopped = page.ask(f"/cancel/meter?case={case}", method="POST", headers={"Origin": page.address}, body=b"")
    assert stopped.status == 303


def hostile() -> Iterator[str]:
    for value in ("nan", "inf", "-1", "1e999", "0x10", "1_0", "9" * 400, "{{7*7}}", MARKUP, "4 d"):
        yield urlencode({"prices.water": value})
        yield urlencode({"prices.years": value})
        yield urlencode({"use": value})
        yield urlencode({"over_limit": value})
    yield from ("prices.currency=x", "prices=1", "prices.meter=1", "user=1", "prices.water.typical=1",
                "prices.__class__=1", "swing=91", "days=1000", "prices.years=0", "guess=1", "through=x",
                "prices.discount_rate=101", "prices.meter.life=0", "over_limit=1&over_limit=2")  # fmt: skip


def test_what_means_no_good_is_refused_in_a_sentence_and_writes_nothing(page: Served, case_id: str) -> None:
    def seen() -> list[Any]:
        return [(str(path), path.stat().st_mtime_ns) for path in sorted(page.folder.rglob("*"))]

    before, wrong = seen(), []
    for query in hostile():
        for way in ("/meter", "/meter/answer"):
            answer = page.ask(f"{way}?case={case_id}&{query}")
            told = re.findall(r'class="refusal" role="alert">\s*<p>(.*?)</p>', answer.text, re.DOTALL)
            if not (400 <= answer.status < 500 and len(told) == 1 and told[0].endswith(".")):
                wrong.append((way, query, answer.status, told))
            assert "<script>alert" not in answer.text
    assert wrong == []
    assert seen() == before
