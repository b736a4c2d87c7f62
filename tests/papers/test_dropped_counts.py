"""A duty that rests on a count of sales which the state has dropped since: whether it ended is not settled, and is said."""

from __future__ import annotations

from datetime import date

import pytest
from shop import orders, seller, spread

from taxcalc import assess

AS_OF = date(2026, 6, 30)


def said(state: str, rows: list[dict[str, str]], as_of: date = AS_OF) -> str | None:
    """Give the sentence about a dropped count, None where there is none."""
    record = assess(orders(rows), seller(), as_of=as_of).record()
    wanted = f"count_dropped:{state}"
    return next((finding["text"] for finding in record["findings"] if finding["id"] == wanted), None)


def counted(state: str, day: date, amount: str = "2000.00") -> list[dict[str, str]]:
    """Write 200 sales of one day."""
    return spread(state, amount, 200, day)


@pytest.mark.parametrize(
    ("state", "day", "dropped"),
    [
        pytest.param("US-UT", date(2025, 3, 10), "2025-07-01", marks=pytest.mark.source("ut-sb-47-2025")),
        pytest.param("US-IL", date(2025, 11, 10), None, marks=pytest.mark.source("il-dor-fy-2026-12")),
        pytest.param("US-IL", date(2025, 8, 10), "2026-01-01", marks=pytest.mark.source("il-dor-fy-2026-12")),
    ],
)
def test_a_duty_by_a_dropped_count_alone_is_said(state: str, day: date, dropped: str | None) -> None:
    """Utah S.B. 47 of 2025 and Illinois FY 2026-12: official as to the day; no text on duties that had begun was seen.

    Illinois sales of November 2025 bind nobody: the review of 31 December is by the new test.
    """
    text = said(state, counted(state, day))
    assert (text is not None) == (dropped is not None)
    assert dropped is None or dropped in str(text)


def test_nothing_is_said_where_the_amount_binds_too_or_the_state_frees() -> None:
    """Over 100,000 in Utah; Indiana's page says that the account may be closed."""
    assert said("US-UT", counted("US-UT", date(2025, 3, 10), "100000.01")) is None
    assert said("US-IN", counted("US-IN", date(2023, 3, 10)), date(2023, 12, 31)) is None


def test_nothing_is_said_before_the_count_is_dropped_or_once_the_duty_is_over() -> None:
    """South Dakota dropped its count on 2023-07-01; a duty of 2023 ends with 2024."""
    rows = counted("US-SD", date(2023, 3, 10))
    assert said("US-SD", rows, date(2023, 6, 30)) is None
    assert said("US-SD", rows, date(2024, 12, 31)) is not None
    later = [*rows, {"order_id": "later", "to": "US-SD", "item_amount": "1.00", "ordered_on": "2025-02-01"}]
    assert said("US-SD", later, date(2025, 3, 1)) is None
