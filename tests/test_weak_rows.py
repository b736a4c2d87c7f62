"""Rows to confirm: unconfirmed ones and old ones, with the places that rest on them, and none besides."""

from __future__ import annotations

from datetime import date, timedelta

from example import assessment, record

from taxcalc.reports.json_file import json_text
from taxcalc.weak_rows import OLD, weak_rows


def test_every_place_that_is_marked_has_a_row_that_says_why() -> None:
    """A star behind a place stands for a row in this list, and every unconfirmed limit for one."""
    rows = record()["weak_rows"]
    resting = {place for row in rows if row["behind"] == "tax" for place in row["places"]}
    marked = {row["place"] for row in record()["places"] if row["basis"] == "unconfirmed"}
    assert marked
    assert marked <= resting
    limits = {row["row"] for row in rows if row["behind"] == "limit"}
    assert limits == {row["row_ids"] for row in record()["thresholds"] if row["basis"] == "unconfirmed"}


def test_on_a_fresh_table_only_unconfirmed_rows_are_listed() -> None:
    """Each once; they name no amount."""
    rows = record()["weak_rows"]
    assert {row["basis"] for row in rows} == {"unconfirmed"}
    assert len({(row["row"], row["behind"]) for row in rows}) == len(rows)
    assert json_text({"weak_rows": rows})


def test_a_year_after_it_was_checked_a_row_is_old() -> None:
    """Seen from a later day the confirmed rows follow, with the day on which each was checked."""
    run = assessment().run
    oldest = date.fromisoformat(record()["tables"]["oldest_checked_on"])
    newest = max(date.fromisoformat(row["checked_on"]) for row in record()["places"] if row["checked_on"])
    before = run.as_of
    try:
        run.as_of = oldest + OLD
        same = weak_rows(assessment())
        run.as_of = newest + OLD + timedelta(days=1)
        later = weak_rows(assessment())
    finally:
        run.as_of = before
    assert same == record()["weak_rows"]
    assert {row["basis"] for row in later} > {"unconfirmed"}
