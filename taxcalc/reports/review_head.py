"""The top of the review: whose, for when, seen from which day, and what became of every row that was read."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from taxcalc.caution import TITLE
from taxcalc.reports.layout import Column, Title, bullets, figures, heading, labelled, paragraph
from taxcalc.reports.words import (
    AMOUNT_COLUMN,
    count,
    currency_name,
    day,
    days,
    money,
    printable,
    reason,
    several,
)

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from taxcalc.reports.layout import Pieces

Record = dict[str, Any]


def title(record: Record) -> Pieces:
    """Say what this is, of whom, for which period, as of when, and what the files cover."""
    facts = labelled((label, words) for label, words in _facts(record) if words)
    return [Title(record.get("title") or TITLE), *facts]


def counted(record: Record) -> Pieces:
    """Say in a few lines that every row was used or set aside and why; the amounts stand in the full review."""
    tie = record["tie_out"]
    pieces: Pieces = [*heading("Was everything counted?"), paragraph(_sentence(tie))]
    if tie["by_reason"]:
        pieces += bullets(
            f"{several(rows, 'row')} because {reason(code)}" for code, rows in tie["by_reason"].items()
        )
    return pieces


def _facts(record: Record) -> Iterator[tuple[str, str]]:
    """Give the label and the words of each line of the title block."""
    seller, period, covers = record.get("seller") or {}, record["period"], record.get("covers") or {}
    at_home = seller.get("region") or seller.get("country")
    yield "Seller", f"{printable(seller.get('name') or '')}{f', {printable(at_home)}' if at_home else ''}"
    name = period.get("name") or ""
    yield "Period", f"{printable(name)}: {days(period['from'], period['to'], 'long')}".removeprefix(": ")
    yield "Seen from", day(record["as_of"], "long")
    yield "Your files cover", days(covers["from"], covers["to"], "long") if covers.get("from") else ""
    yield "Amounts in", currency_name(record["currency"])
    tables = record["tables"]
    yield (
        "Rates and limits",
        f"version {tables['version']}, oldest row checked on {day(tables['oldest_checked_on'])}",
    )
    yield "Your own rows", _own_rows(record)


def _own_rows(record: Record) -> str:
    """Say that rows of the seller's own were used, where there are any, and on how many of them figures rest."""
    if not record["tables"].get("own"):
        return ""
    used = record["totals"].get("own_rows") or []
    resting = (
        f"places that rest on {several(len(used), 'row')} of them are marked +"
        if used
        else "no figure rests on them"
    )
    return f"read from your folder; {resting}"


def tie_out(record: Record) -> Pieces:
    """Show that every row that was read was used or set aside with a reason, in rows and in amounts."""
    tie = record["tie_out"]
    columns = [Column("Rows"), Column("", number=True)]
    rows = [
        ["Read from your files", count(tie["rows_read"])],
        ["Used in the figures", count(tie["rows_used"])],
    ]
    rows += [["Set aside", count(tie["rows_set_aside"])]]
    rows += [
        [f"   because {reason(code)}", count(rows_aside)] for code, rows_aside in tie["by_reason"].items()
    ]
    pieces = [*heading("Was everything counted?"), paragraph(_sentence(tie)), *_files(record)]
    pieces += figures(columns, rows, tie["caution"], ordered=True)
    amounts = list(_amounts(tie["amounts"]))
    if amounts:
        parts = [Column("Amounts"), *(Column(words, number=True) for words in ("Read", "Used", "Set aside"))]
        pieces += figures(parts, amounts, tie["caution"])
    return pieces


def _sentence(tie: Mapping[str, Any]) -> str:
    """Say the tie-out in one sentence."""
    read, used, aside = (tie[part] for part in ("rows_read", "rows_used", "rows_set_aside"))
    if not aside:
        return f"{several(read, 'row')} read = {count(used)} used; none was set aside."
    why = "with its reason" if aside == 1 else "each with a reason"
    return f"{several(read, 'row')} read = {count(used)} used + {count(aside)} set aside, {why}."


def _files(record: Record) -> Pieces:
    """Name the files with their rows, and the exchange rates if any were needed."""
    names = [
        f"{printable(file['name'])} ({several(file['rows'], 'row')})" for file in record.get("files") or ()
    ]
    pieces: Pieces = [paragraph(f"Files: {', '.join(names)}.")] if names else []
    rates = record.get("exchange_rates") or {}
    if rates.get("source"):
        parts = [
            f"Exchange rates: {printable(rates['source']).rstrip('.')}",
            printable(rates.get("rule") or "").rstrip("."),
        ]
        if rates.get("last_published"):
            parts.append(f"the last rates on file are of {day(rates['last_published'])}")
        if rates.get("carried_on"):
            parts.append("later days use those")
        if rates.get("lines_after"):
            parts.append(
                f"{several(rates['lines_after'], 'order line is', 'order lines are')} later and use those"
            )
        pieces.append(paragraph("; ".join(part for part in parts if part) + "."))
    return pieces


def _amounts(amounts: Mapping[str, Mapping[str, Mapping[str, str]]]) -> Iterator[list[str]]:
    """Give one row a currency and amount column."""
    for currency, columns in amounts.items():
        for column, sums in columns.items():
            words = AMOUNT_COLUMN.get(column, printable(column))
            parts = [money(sums[part], currency) for part in ("read", "used", "set_aside")]
            yield [f"{printable(currency)} {words}", *parts]
