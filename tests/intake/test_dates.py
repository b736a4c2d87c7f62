"""Days are read strictly, and timestamps are dated in the seller's zone."""

from __future__ import annotations

import re
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

import pyarrow as pa
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from taxcalc.intake.dates import read_days
from taxcalc.set_aside import REASON_NAMES

EPOCH = date(1970, 1, 1)
ZONES = [
    "UTC",
    "America/Los_Angeles",
    "Europe/Berlin",
    "Asia/Kolkata",
    "Pacific/Kiritimati",
    "America/St_Johns",
]
TAILS = ["", "Z", "+00:00", "-0800", "+05:30", " Z", "+14:00"]
SHAPE = re.compile(r"\d{4}-\d\d-\d\d([T ]\d\d:\d\d(:\d\d([.]\d+)?)?( ?(Z|[+-]\d\d:?\d\d))?)?", re.ASCII)


def expected(text: str, zone: str) -> tuple[int, int] | str:
    """Say with the standard library what day and second a text is, or why it is none."""
    if not text.strip():
        return "blank"
    if not SHAPE.fullmatch(text) or len(text) > 39:
        return "bad_date"
    try:
        joined = text[:10] + text[10:11].replace(" ", "T") + text[11:].replace(" ", "")
        moment = datetime.fromisoformat(re.sub(r"[.]\d+", "", joined))
    except ValueError:
        return "bad_date"
    if not 1990 <= moment.year <= 2099:
        return "year_out_of_range"
    local = moment.astimezone(ZoneInfo(zone)) if moment.tzinfo else moment
    return (local.date() - EPOCH).days, local.hour * 3600 + local.minute * 60 + local.second


def read(texts: list[str], zone: str) -> list[tuple[int, int] | str]:
    """Read texts with the code under test, in the words of `expected`."""
    days = read_days(pa.array(texts, pa.string()), zone)
    return [
        "blank"
        if days.blank[at]
        else REASON_NAMES[days.fault[at]]
        if days.fault[at] >= 0
        else (int(days.day[at]), int(days.second[at]))
        for at in range(len(texts))
    ]


MOMENTS = st.datetimes().map(
    lambda moment: moment.replace(year=1985 + moment.year % 120, day=min(28, moment.day))
)
WRITTEN = st.one_of(
    st.builds(
        lambda moment, tail: moment.isoformat(timespec="seconds") + tail, MOMENTS, st.sampled_from(TAILS)
    ),
    st.builds(lambda moment, tail: f"{moment:%Y-%m-%d %H:%M}{tail}", MOMENTS, st.sampled_from(TAILS)),
    st.builds(lambda moment: moment.isoformat(timespec="milliseconds") + "Z", MOMENTS),
    st.builds(lambda moment: moment.date().isoformat(), MOMENTS),
    st.from_regex(r"(19|20)[0-9]{2}-[01][0-9]-[0-3][0-9]", fullmatch=True),
    st.text("0123456789-:TZ+ /", max_size=20),
    st.sampled_from(
        [
            "31/02/2026",
            "2026-13-01",
            "2025-02-29",
            "46036",
            "20250101",
            "2025-1-1",
            " 2025-01-01",
            "2025-W01-1",
            "2025-01-01T24:00",
            "2025-01-01T10:60",
            "٢٠٢٥-01-01",
            "2024-02-29",
        ]
    ),
)


@settings(deadline=None)
@given(st.lists(WRITTEN, min_size=1, max_size=20), st.sampled_from(ZONES))
def test_days_are_those_of_the_standard_library(texts: list[str], zone: str) -> None:
    """Each text is read as the standard library reads it, or set aside."""
    assert read(texts, zone) == [expected(text, zone) for text in texts]


@pytest.mark.parametrize(
    ("zone", "day"), [("America/Los_Angeles", date(2025, 12, 31)), ("Europe/Berlin", date(2026, 1, 1))]
)
def test_the_year_ends_by_the_sellers_clock(zone: str, day: date) -> None:
    """The same moment is in another tax year for sellers in two zones."""
    assert read(["2026-01-01T04:30:00Z"], zone)[0][0] == (day - EPOCH).days


@pytest.mark.parametrize("zone", ["America/New_York", "Europe/Berlin", "Australia/Lord_Howe"])
def test_both_sides_of_every_change_of_the_clock(zone: str) -> None:
    """A second before and at each hour around the changes of 2025 has the right offset."""
    start = datetime(2025, 1, 1, tzinfo=ZoneInfo("UTC"))
    moments = [start + timedelta(hours=hour, seconds=-second) for hour in range(8760) for second in (0, 1)]
    texts = [moment.strftime("%Y-%m-%dT%H:%M:%SZ") for moment in moments]
    assert read(texts, zone) == [expected(text, zone) for text in texts]


def test_a_leap_second_is_the_last_second_of_its_minute() -> None:
    """23:59:60 is clipped to 23:59:59."""
    assert read(["2016-12-31T23:59:60Z"], "UTC") == [((date(2016, 12, 31) - EPOCH).days, 86399)]


def test_many_shapes_in_one_column_are_all_read() -> None:
    """A column in which nearly every text has a shape of its own is still read in full."""
    texts = [f"2025-01-01T10:00:00.{'1' * digits}{tail}" for digits in range(1, 14) for tail in TAILS]
    texts += [chr(65 + at) * 5 for at in range(26)] + ["2025-01-02"]
    assert read(texts, "UTC") == [expected(text, "UTC") for text in texts]
