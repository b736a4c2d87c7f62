"""Sheets of the fulfiller's side: what becomes of its tax, credits to ask for, documents worth giving."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

from taxcalc.handoff.papers_places import RESTS, added_plain
from taxcalc.handoff.sheet import Head, Row, Sheet, amount

if TYPE_CHECKING:
    from decimal import Decimal

Record = dict[str, Any]
KIND: Final = {
    "document_on_file": "charged though a document was on file: ask for a credit",
    "more": "charged more than the rates and rules held here explain",
    "less": "charged less than expected: it may ask for the rest",
    "credit_short": "gave a price back, but less of the tax than belongs to it: ask for the rest",
    "credit_unsaid": "gave a price back; the files do not say what of the tax came back",
    "not_charged": "charged nothing, though something was to be expected",
}


def fulfiller_tax(record: Record) -> Sheet:
    """The tax of four quarters by what becomes of it."""
    rows = record["fulfiller_tax_split"]

    def total(name: str) -> Decimal:
        return added_plain(rows, name)

    heads = (
        Head("Place"),
        Head("Name"),
        Head("Expected", "money", total("expected")),
        Head("Avoidable by a document", "money", total("avoidable")),
        Head("May come back", "money", total("recoverable")),
        Head("Final cost", "money", total("final")),
        Head("Charged: avoidable", "money", total("avoidable_charged")),
        Head("Charged: may come back", "money", total("recoverable_charged")),
        Head("Charged: final", "money", total("final_charged")),
        Head("Charged with a document on file", "money", total("charged_with_document")),
        Head("Ask by", "day"),
        Head("How the rest comes back, or why not", "long"),
    )
    names = (
        "expected",
        "avoidable",
        "recoverable",
        "final",
        "avoidable_charged",
        "recoverable_charged",
        "final_charged",
        "charged_with_document",
    )
    found: list[Row] = [
        (row["place"], row["name"], *(amount(row[name]) for name in names), row["ask_by"], _ways(row))
        for row in rows
    ]
    span = f"{rows[0]['from']} to {rows[0]['to']}" if rows else "the last four quarters that were over"
    about = (
        f"The last four quarters that were over: {span}. Expected is an estimate; charged is from your files.",
        "Avoidable: by a document that could have been given that day. May come back: as a credit, deduction or refund.",
    )
    return _sheet(
        record,
        "F",
        "fulfiller-tax",
        "Tax of the fulfiller: avoidable, recoverable, final",
        about,
        heads,
        found,
    )


def _ways(row: Record) -> str:
    """Say on which way what is not avoidable may come back and until when, or why it does not."""
    return "; ".join(
        f"{'may come back' if way['comes_back'] else 'final'} {way['expected']}: {way['words']}"
        + (f", tax of {way['year']}: ask by {way['ask_by']}" if way["ask_by"] else "")
        for way in row["ways"]
    )


def credits_to_ask(record: Record) -> Sheet:
    """What was charged against what was to be expected, by place, kind and quarter."""
    pairs = [(one, part) for one in record["charged_against_expected"] for part in (one["quarters"] or [one])]
    parts = [part for _, part in pairs]
    rows: list[Row] = [
        (
            one["place"],
            one["name"],
            KIND.get(one["kind"], one["kind"].replace("_", " ")),
            part.get("quarter", ""),
            part["lines"],
            amount(part["amount"]),
            part.get("ask_by"),
        )
        for one, part in pairs
    ]
    heads = (
        Head("Place"),
        Head("Name"),
        Head("What", "long"),
        Head("Quarter"),
        Head("Lines", "count", sum(part["lines"] for part in parts)),
        Head("Amount", "money", added_plain(parts, "amount")),
        Head("Ask by", "day"),
    )
    about = (
        "Only lines for which your files say what was charged. Charges with a document on file are of the whole history.",
    )
    return _sheet(
        record,
        "G",
        "credits",
        "The fulfiller's charges against expectation: credits to ask for",
        about,
        heads,
        rows,
    )


def documents(record: Record) -> Sheet:
    """Documents worth giving, one row a state."""
    rows: list[Row] = [
        (
            action["rank"],
            action["form"].replace("_", " "),
            action["needs"].replace("_", " "),
            state["place"],
            state["name"],
            amount(state["saved"]),
            state["rests_on"],
            state["document"],
            state["lasts"].replace("_", " "),
            state["expires_on"],
            RESTS[state["basis"]],
            state["row_ids"],
        )
        for action in record["certificates"]
        for state in action["states"]
    ]
    states = [state for action in record["certificates"] for state in action["states"]]
    heads = (
        Head("Rank", "count"),
        Head("Form"),
        Head("Needs first"),
        Head("Place"),
        Head("Name"),
        Head("Would have saved", "money", added_plain(states, "saved")),
        Head("As charged or expected"),
        Head("Document", "long"),
        Head("Lasts"),
        Head("Runs out", "day"),
        Head("Rests on"),
        Head("Table rows", "long"),
    )
    about = ("What giving the document would have saved over the last four quarters that were over.",)
    return _sheet(record, "H", "documents", "Documents worth giving the fulfiller", about, heads, rows)


def _sheet(
    record: Record,
    code: str,
    name: str,
    title: str,
    about: tuple[str, ...],
    heads: tuple[Head, ...],
    rows: list[Row],
) -> Sheet:
    """Build a sheet of the record."""
    return Sheet(code, name, title, about, heads, tuple(rows), record["caution"], record["currency"])
