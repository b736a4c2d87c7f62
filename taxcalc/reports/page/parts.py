"""Parts that only the page has: whole tables to sort and filter, rows set aside, weak rows, and sources with links."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

from taxcalc.caution import require_figures
from taxcalc.reports.layout import Column, figures, heading, paragraph, spread
from taxcalc.reports.page.blocks import leading
from taxcalc.reports.review_limits import (
    ORDER,
    amount,
    crossed_and_duty,
    has_outlook,
    in_order,
    measure,
    spell,
)
from taxcalc.reports.review_places import active, silent, weight
from taxcalc.reports.words import (
    STATUS,
    count,
    day,
    legend,
    marked,
    money,
    percent,
    printable,
    reason,
    several,
)

if TYPE_CHECKING:
    from collections.abc import Sequence

    from taxcalc.caution import Figures
    from taxcalc.reports.layout import Cell, Pieces

    Record = dict[str, Any]

ASIDE: Final = 20
"""Rows set aside that are shown; set_aside.csv has all."""
REGIME: Final = {"us": "US", "eu": "EU", "elsewhere": "no rules held"}
RULED: Final = frozenset({"us", "eu"})
"""Where a basis says something, because there are rules."""
BEHIND: Final = {"tax": "a tax", "limit": "a limit"}


def places(record: Record) -> Pieces:
    """Show every place in which anything happened in the period."""
    rows = sorted((row for row in record["places"] if active(row)), key=weight)
    currency = record["currency"]
    columns = [Column("Place"), Column("Rules of"), *_numbers("Orders", "Sales"), Column("Duty since"),
               *_numbers("Should collect", "Collected", "Not collected", "Collected too much", "Without a duty"),
               Column("Basis")]  # fmt: skip
    cells: list[list[Cell]] = [
        [
            marked(row),
            REGIME.get(row["regime"], printable(row["regime"])),
            count(row["orders"]),
            money(row["sales"], currency),
            day(row["duty_from"]) if row.get("duty_from") else "",
            spread(row["to_collect"], currency),
            money(row["collected"], currency),
            spread(row["shortfall"], currency),
            money(row["over_collected"], currency),
            money(row["collected_without_duty"], currency),
            _basis(row, record) if row["regime"] in RULED else "",
        ]
        for row in rows
    ]
    words = f"Expected amount first, below it the range from low to high. {legend(record)}"
    below = silent([row for row in record["places"] if not active(row)])
    caution = record["totals"]["caution"]
    return [*heading("Places of this period"), paragraph(words), *figures(columns, cells, caution, below)]


def limits(record: Record) -> Pieces:
    """Show every limit."""
    rows = sorted(record["thresholds"], key=in_order)
    columns = [Column("Place"), Column("Counts"), Column("Over"), Column("Stands"),
               *_numbers("Used", "Value", "Limit", "May reach"), Column("Crossed, duty"), Column("Basis")]  # fmt: skip
    cells: list[list[Cell]] = [
        [
            marked(row),
            measure(row),
            spell(row),
            STATUS.get(row["status"], printable(row["status"])),
            percent(row["share"]),
            amount(row, "value") + ("\nat least" if row.get("incomplete") else ""),
            amount(row, "limit"),
            _outlook(row),
            "\n".join(crossed_and_duty(row)),
            _basis(row, record),
        ]
        for row in rows
    ]
    words = (
        f"How a limit stands, by the percentages in your profile: {', '.join(STATUS[name] for name in ORDER)}. May reach: "
        "the middle of what equally long runs of days of your own past brought, below it the middle eight of ten. At "
        f"least: sales before your files are not known. {legend(record)}"
    )
    if not rows:
        return [*heading("Limits (thresholds)"), paragraph("No limit applies to these sales.")]
    return [*heading("Limits (thresholds)"), paragraph(words), *figures(columns, cells, rows[0]["caution"])]


def _basis(row: dict[str, Any], record: Record) -> Cell:
    """Write how a figure is founded, and lead to the rows that it rests on."""
    words = printable(row["basis"])
    known = row["place"] in (record.get("rests_on") or {}).get("places", {})
    return leading(words, anchor(row["place"])) if known else words


def anchor(code: str) -> str:
    """Name the place on the page where the rows behind a place stand."""
    return f"rests-on-{code.lower()}"


def _outlook(row: dict[str, Any]) -> str:
    """Write the outlook of a limit."""
    if not has_outlook(row):
        return ""
    low, middle, high = (amount(row, f"projected_{part}") for part in ("p10", "p50", "p90"))
    return f"{middle}\n{low} to {high}"


def set_aside(given: Figures) -> Pieces:
    """Show the first rows that were not used, with reason and mend."""
    aside = require_figures(given)
    frame = aside.frame
    title = heading("Rows set aside")
    if frame.empty:
        return [*title, paragraph("Every row was used.")]
    left = len(frame) - ASIDE
    below = f"{several(left, 'more row', 'more rows')} in set_aside.csv." if left > 0 else ""
    columns = [
        Column("File"),
        Column("Row", number=True),
        Column("Column"),
        Column("Value"),
        Column("Why"),
        Column("Mend"),
    ]
    cells = [
        [
            *(printable(row[name]) for name in ("file", "row", "column", "value")),
            reason(str(row["reason"])),
            printable(row["mend"]),
        ]
        for row in frame.head(ASIDE).fillna("").to_dict("records")
    ]
    words = "These rows are in no figure. Rows are numbered as your spreadsheet numbers them."
    return [*title, paragraph(words), *figures(columns, cells, aside.caution, below)]


def weak_rows(record: Record) -> Pieces:
    """List the rows to confirm before anything rests on them."""
    rows, title = record.get("weak_rows") or [], heading("Unconfirmed and old rows")
    if not rows:
        return [
            *title,
            paragraph("No figure rests on a row that is unconfirmed, or checked more than a year before."),
        ]
    words = (
        f"{several(len(rows), 'row')} or limits rest on a fact that no document stands behind, or were checked more than a "
        "year before the day of the review. A limit names the rows of its threshold, start and end together. "
        "`taxcalc tables show` gives any row with who published it."
    )
    columns = [Column("Row"), Column("Behind"), Column("Basis"), Column("Checked on"), Column("Places")]
    cells = [
        [
            printable(row["row"]).replace(" ", "\n"),
            BEHIND[row["behind"]],
            printable(row["basis"]),
            day(row["checked_on"]),
            printable(", ".join(row["places"])),
        ]
        for row in rows
    ]
    return [*title, paragraph(words), *figures(columns, cells, record["caution"])]


def _numbers(*titles: str) -> Sequence[Column]:
    """Give columns of numbers."""
    return [Column(title, number=True) for title in titles]
