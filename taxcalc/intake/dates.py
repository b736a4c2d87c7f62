"""Days from text: strictly ISO 8601, many distinct texts at once.

`2025-01-31`, or a time after it (`2025-01-31T18:05`, seconds, a fraction, `Z` or an offset). A time with
an offset is dated in the seller's time zone; a time without one is taken to be in that zone already. Leap
seconds count as :59.
"""

from __future__ import annotations

import re
from datetime import UTC, datetime, timedelta
from functools import lru_cache
from typing import TYPE_CHECKING, Any, NamedTuple
from zoneinfo import ZoneInfo

import numpy as np

from taxcalc.intake.texts import GOOD, bytes_of, is_blank, matrix_of, texts_at
from taxcalc.set_aside import REASON_CODE

if TYPE_CHECKING:
    import pyarrow as pa
    from numpy.typing import NDArray

    Ints = NDArray[np.int64]

FIRST_YEAR, LAST_YEAR = 1990, 2099
"""Years that an order can have; anything else is a typing error."""

_SHAPE = re.compile(
    rb"0000-00-00(?:[T ]00:00(?P<second>:00(?:[.]0+)?)?(?P<zone> ?(?:Z|[+-]00(?P<colon>:?)00))?)?"
)
_WIDEST = 40
_MANY_SHAPES = 64
_DAY_SECONDS = 86_400
_BAD, _YEAR = np.int8(REASON_CODE["bad_date"]), np.int8(REASON_CODE["year_out_of_range"])


class Days(NamedTuple):
    """Texts read as days since 1970-01-01, second of the day, reason code or GOOD, and which are blank."""

    day: NDArray[np.int32]
    second: NDArray[np.int32]
    fault: NDArray[np.int8]
    blank: NDArray[np.bool_]


def read_days(texts: pa.Array, zone: str) -> Days:
    """Read distinct texts as days in the time zone `zone`."""
    raw = bytes_of(texts)
    count = len(texts)
    read = Days(
        np.zeros(count, np.int32), np.zeros(count, np.int32), np.full(count, _BAD, np.int8), raw.lengths == 0
    )
    chars, _ = matrix_of(raw, _WIDEST)
    is_digit = chars - np.uint8(48) < 10  # noqa: PLR2004 - the ten digits
    shapes = np.where(is_digit, np.uint8(48), chars)
    pending = np.flatnonzero(~read.blank & (raw.lengths < _WIDEST))
    for _ in range(_MANY_SHAPES):
        if not pending.size:
            break
        shape = shapes[pending[0]]
        same = (shapes[pending] == shape).all(axis=1)
        _read_shape(shape.tobytes().rstrip(b"\0"), chars, pending[same], zone, read)
        pending = pending[~same]
    for at in pending.tolist():
        _read_shape(shapes[at].tobytes().rstrip(b"\0"), chars, np.array([at]), zone, read)
    for at in np.flatnonzero((read.fault != GOOD) & ~read.blank).tolist():
        read.blank[at] = is_blank(texts_at(texts, at))
    read.fault[read.blank] = GOOD
    return read


def _read_shape(shape: bytes, chars: NDArray[np.uint8], which: NDArray[Any], zone: str, read: Days) -> None:
    """Read the texts `which`, all of one shape (digits shown as 0), into `read`."""
    match = _SHAPE.fullmatch(shape)
    if match is None:
        return
    digits = chars[which].astype(np.int64) - 48
    year = _number(digits, 0, 4)
    day, good = _civil(year, _number(digits, 5, 2), _number(digits, 8, 2))
    second = np.zeros(len(which), np.int64)
    if len(shape) > len("0000-00-00"):
        second, good_time = _time(digits, seconds=match["second"] is not None)
        good &= good_time
    if match["zone"]:
        offset, good_offset = _offset(
            chars[which], match.start("zone"), match["zone"], len(match["colon"] or b"")
        )
        good &= good_offset
        moment = np.where(good, day * _DAY_SECONDS + second - offset, 0)
        moment += _offsets_at(moment, zone)
        day, second = np.divmod(moment, _DAY_SECONDS)
    read.day[which] = np.where(good, day, 0)
    read.second[which] = np.where(good, second, 0)
    in_range = (year >= FIRST_YEAR) & (year <= LAST_YEAR)
    read.fault[which] = np.where(good, np.where(in_range, GOOD, _YEAR), _BAD)


def _number(digits: Ints, start: int, width: int) -> Ints:
    """Read `width` digit columns as a number."""
    powers = 10 ** np.arange(width - 1, -1, -1, dtype=np.int64)
    number: Ints = digits[:, start : start + width] @ powers
    return number


_MONTH_DAYS = np.array([0, 31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31])


def _civil(year: Ints, month: Ints, day: Ints) -> tuple[Ints, NDArray[np.bool_]]:
    """Give days since 1970-01-01 of proleptic Gregorian dates, and which are dates at all."""
    leap = (year % 4 == 0) & ((year % 100 != 0) | (year % 400 == 0))
    good = (month >= 1) & (month <= 12)  # noqa: PLR2004 - months
    month = np.where(good, month, 1)
    good &= (day >= 1) & (day <= _MONTH_DAYS[month] + (leap & (month == 2)))  # noqa: PLR2004 - February
    before = year - (month <= 2)  # noqa: PLR2004 - years begin in March, so that 29 February ends them
    since_march = (153 * ((month + 9) % 12) + 2) // 5 + day - 1
    return before * 365 + before // 4 - before // 100 + before // 400 + since_march - 719_468, good


def _time(digits: Ints, *, seconds: bool) -> tuple[Ints, NDArray[np.bool_]]:
    """Read HH:MM or HH:MM:SS after the date: second of the day, and which are times at all."""
    hour, minute = _number(digits, 11, 2), _number(digits, 14, 2)
    second = _number(digits, 17, 2) if seconds else np.zeros_like(hour)
    good = (hour < 24) & (minute < 60) & (second <= 60)  # noqa: PLR2004 - hours, minutes, a leap second
    return hour * 3600 + minute * 60 + np.minimum(second, 59), good


def _offset(chars: NDArray[np.uint8], start: int, zone: bytes, colon: int) -> tuple[Ints, NDArray[np.bool_]]:
    """Read an offset such as +05:30 as seconds; Z is 0."""
    start += zone.startswith(b" ")
    if zone.endswith(b"Z"):
        return np.zeros(len(chars), np.int64), np.ones(len(chars), np.bool_)
    digits = chars.astype(np.int64) - 48
    hour, minute = _number(digits, start + 1, 2), _number(digits, start + 3 + colon, 2)
    good = (hour <= 15) & (minute < 60)  # noqa: PLR2004 - no clock is further from UTC
    size = hour * 3600 + minute * 60
    return np.where(chars[:, start] == ord("-"), -size, size), good


def _offsets_at(moments: Ints, zone: str) -> Ints:
    """Give the offset of the zone from UTC in seconds at each moment (seconds since 1970-01-01 UTC)."""
    if zone == "UTC":
        return np.zeros_like(moments)
    begins, offsets = _changes(zone)
    return offsets[np.searchsorted(begins, moments, side="right") - 1]


@lru_cache(maxsize=8)
def _changes(zone: str) -> tuple[Ints, Ints]:
    """List from which moment each offset of a zone holds, by halving the days on which it changes."""
    clock = ZoneInfo(zone)
    first = datetime(FIRST_YEAR - 1, 1, 1, tzinfo=UTC)
    begins, offsets = [-(2**62)], [_offset_on(first, clock)]
    for days in range(1, (LAST_YEAR + 3 - FIRST_YEAR) * 366):
        low, high = first + timedelta(days=days - 1), first + timedelta(days=days)
        if (after := _offset_on(high, clock)) != offsets[-1]:
            while high - low > timedelta(seconds=1):
                middle = low + timedelta(seconds=(high - low).total_seconds() // 2)
                low, high = (middle, high) if _offset_on(middle, clock) == offsets[-1] else (low, middle)
            begins.append(int(high.timestamp()))
            offsets.append(after)
    return np.array(begins, np.int64), np.array(offsets, np.int64)


def _offset_on(moment: datetime, clock: ZoneInfo) -> int:
    """Give the offset from UTC in whole seconds."""
    offset = moment.astimezone(clock).utcoffset() or timedelta()
    return offset.days * _DAY_SECONDS + offset.seconds
