"""What a sheet says of what changed: a row for each change, signed figures, nothing where nothing changed."""

from pathlib import Path

from sim.tell.sheet.changed_words import changed_part
from tests.cli.small import small_text
from tests.study.test_changes import CALENDAR, held


def test_a_row_each_then_all_of_them(tmp_path: Path) -> None:
    found = held(tmp_path, ("minutes = 8", "minutes = 4"), ("minutes = 9", "minutes = 18"))
    part = changed_part(found, "old.toml", "si")
    texts, figures = zip(*part.rows, strict=True)
    backwash, rinse = "sand, backwash: 9 min, now 18 min", "sand, rinse: 8 min, now 4 min"
    assert texts == ((backwash,), (rinse,), ("all changes",))
    assert [each[0] for each in figures] == ["+14.4", "-1.6", "+12.8"]  # four washes: 24 m3/h x 9 min, 6 m3/h x 4 min
    assert len(part.heads) == 4


def test_what_is_made_together_is_one_row_and_said(tmp_path: Path) -> None:
    found = held(tmp_path, (CALENDAR, 'start_on = "calendar"\non = ["Mon", "Thu"]\nat = 02:30:00'))
    part = changed_part(found, "old.toml", "si")
    assert [len(texts) for texts, _ in part.rows] == [2]
    assert part.rows[0][0] == ("sand, every: 2 d, now -", "sand, on: -, now Mon; Thu")
    assert any("are made together" in each for each in part.notes)


def test_a_change_without_a_row_of_the_sheet_goes_by_its_key(tmp_path: Path) -> None:
    (row,) = changed_part(held(tmp_path, ('"0.9 m"', '"0.8 m"')), "old.toml", "si").rows
    assert row[0] == ("stage.sand.vessel.diameter: 0.9 m, now 0.8 m",)


def test_itself_changes_nothing(tmp_path: Path) -> None:
    part = changed_part(held(tmp_path), "old.toml", "si")
    assert part.rows == ()
    assert part.notes == ("Nothing here changed against old.toml.",)


ANY_OF = (
    'any_of = [{ start_on = "calendar", every = "2 d", at = 02:30:00 }, '
    '{ start_on = "pressure drop", above = "%s kPa", hold = "3 min" }]'
)


def test_changes_within_any_of_and_of_what_starts_a_wash_name_filter_and_row(tmp_path: Path) -> None:
    old = small_text().replace(CALENDAR, ANY_OF % 35)
    (row,) = changed_part(held(tmp_path, (CALENDAR, ANY_OF % 40), old=old), "old.toml", "si").rows
    assert row[0] == ("sand, pressure drop, at or above: 35 kPa, now 40 kPa",)
    (row,) = changed_part(held(tmp_path, (CALENDAR, ANY_OF % 40)), "old.toml", "si").rows
    (text,) = row[0]
    was, now = text.split(", now ")
    assert was.startswith("sand, what starts a wash: every 2 d, at 02:30")
    assert now.startswith("every 2 d, at 02:30")
    assert "40 kPa" in now
