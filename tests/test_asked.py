"""The day a review looks from, and the period it is about: what is taken, what is refused, what is said."""

from __future__ import annotations

from datetime import UTC, date, datetime
from typing import TYPE_CHECKING, Any

import pandas as pd
import pytest
from click.testing import CliRunner
from shop import orders, seller

from taxcalc import assess
from taxcalc.cli import main
from taxcalc.errors import Refusal

if TYPE_CHECKING:
    from pathlib import Path

ROWS = [{"to": "US-WA", "item_amount": "100.00", "ordered_on": "2026-05-04"}]


def period_of(as_of: date | None) -> tuple[date, date]:
    """Give the period of a review that is not told one."""
    return assess(orders(ROWS), seller(), as_of=as_of).run.period


@pytest.mark.parametrize(
    ("as_of", "first", "last"),
    [
        pytest.param(date(2026, 9, 29), date(2026, 4, 1), date(2026, 6, 30), id="a day before the end"),
        pytest.param(date(2026, 9, 30), date(2026, 4, 1), date(2026, 6, 30), id="the last day"),
        pytest.param(date(2026, 10, 1), date(2026, 7, 1), date(2026, 9, 30), id="the day after"),
        pytest.param(date(2027, 1, 1), date(2026, 10, 1), date(2026, 12, 31), id="over the year's end"),
    ],
)
def test_the_period_is_the_last_quarter_over_before_the_day(as_of: date, first: date, last: date) -> None:
    """A quarter that ends on the day is not over before it."""
    assert period_of(as_of) == (first, last)


@pytest.mark.parametrize(
    "as_of",
    ["2026-10-05", datetime(2026, 10, 5, 18, 0, tzinfo=UTC), pd.Timestamp("2026-10-05T18:00:00")],
)
def test_a_day_may_be_text_or_a_moment(as_of: Any) -> None:  # noqa: ANN401 - what a caller may give
    """Each gives what the date itself gives."""
    run = assess(orders(ROWS), seller(), as_of=as_of, period=["2026-04-01", date(2026, 6, 30)]).run  # type: ignore[arg-type]
    assert (run.as_of, run.period) == (date(2026, 10, 5), (date(2026, 4, 1), date(2026, 6, 30)))


@pytest.mark.parametrize(
    ("asked", "message_id"),
    [
        ({"as_of": "30.09.2026"}, "E201"),
        ({"as_of": "2026-9-30"}, "E201"),
        ({"as_of": "20260930"}, "E201"),
        ({"as_of": "2026-02-30"}, "E201"),
        ({"as_of": 20260930}, "E201"),
        ({"as_of": pd.NaT}, "E201"),
        ({"as_of": date(1, 1, 1)}, "E201"),
        ({"period": "2026Q3"}, "E202"),
        ({"period": "2026-Q5"}, "E202"),
        ({"period": "0000-Q1"}, "E202"),
        ({"period": 2026}, "E202"),
        ({"period": date(2026, 7, 1)}, "E202"),
        ({"period": (date(2026, 7, 1),)}, "E202"),
        ({"period": (date(2026, 7, 1), None)}, "E202"),
        ({"period": ("2026-07-01", "30 September")}, "E202"),
        ({"period": ("2026-07-02", "2026-07-01")}, "E203"),
    ],
)
def test_what_is_no_day_or_no_period_is_refused_with_its_mend(asked: dict[str, Any], message_id: str) -> None:
    """Wrong use is a 2 on the command line, and the value is named before any file is read."""
    with pytest.raises(Refusal) as refused:
        assess("not there.csv", seller(), **asked)
    assert (refused.value.complaint.id, refused.value.exit_code) == (message_id, 2)
    assert refused.value.complaint.mend


def test_a_period_that_has_not_begun_is_refused() -> None:
    """Zeros would look like an answer; the day is that of the last order where none is asked for."""
    for asked in ({"period": "2026-Q3"}, {"period": "2026-Q4", "as_of": "2026-09-30"}):
        with pytest.raises(Refusal, match=r"^E204: .* begins on 2026-(07|10)-01, after 2026-(05-04|09-30)"):
            assess(orders(ROWS), seller(), **asked)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("as_of", "said"), [("2026-04-01", True), ("2026-06-29", True), ("2026-06-30", False)]
)
def test_a_period_that_is_not_over_is_reviewed_and_said(as_of: str, *, said: bool) -> None:
    """It counts up to the day; the sentence names both days."""
    sale = {**ROWS[0], "ordered_on": "2026-04-01"}
    record = assess(orders([sale]), seller(), as_of=as_of, period="2026-Q2").record()
    words = [finding["text"] for finding in record["findings"] if finding["kind"] == "period_not_over"]
    assert bool(words) == said
    assert all("2026-06-30" in text and as_of in text for text in words)
    assert record["places"][0]["sales"] == "100.00"


def test_a_period_that_has_not_begun_is_2_on_the_command_line(tmp_path: Path) -> None:
    """With the mend on stderr and nothing on stdout."""
    (tmp_path / "seller.toml").write_text('[seller]\ncountry = "US"\nregion = "US-OR"\n', encoding="utf-8")
    orders(ROWS).to_csv(tmp_path / "orders.csv", index=False)
    given = [str(tmp_path / "orders.csv"), "--seller", str(tmp_path / "seller.toml"), "--quarter", "2030-Q1"]
    done = CliRunner().invoke(main, ["review", *given])
    assert (done.exit_code, done.stdout) == (2, "")
    assert "begins on 2030-01-01, after 2026-05-04" in done.stderr
    assert "--as-of" in done.stderr
