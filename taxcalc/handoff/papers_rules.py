"""Sheets about proof: table rows used with their sources, rows set aside, evidence and documents to gather, a sample."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

import numpy as np

from taxcalc.days import day as to_day
from taxcalc.handoff.sheet import Head, Row, Sheet, amount
from taxcalc.tables.schema import BASES, NO_VALUE

if TYPE_CHECKING:
    from taxcalc.assessment import Assessment
    from taxcalc.handoff.gathered import Gathered

Record = dict[str, Any]
NO_DAY: Final = NO_VALUE

EVIDENCE: Final = {
    "eu_export": "export: customs exit or postal proof that the goods left the Union",
    "elsewhere_export": "export: customs exit or postal proof that the goods left the country of dispatch",
    "eu_outside": "goods neither left from nor arrived in the Union: order and tracking",
    "eu_intra_community": "transport proof, and the check of the buyer's VAT number on that day",
    "eu_service_to_business": "the check of the buyer's VAT number on that day",
    "eu_deemed_supplier": "the marketplace's statement that it is the supplier",
    "us_facilitator": "the marketplace's statement that it collected",
    "us_before_facilitator_law": "who collected, by the marketplace's statement",
    "eu_import_without_ioss": "who imported, and that no VAT was charged",
    "eu_import_over_150": "who imported, and that no VAT was charged",
    "eu_ioss": "the scheme number on the parcel's customs data",
}
"""What to keep for sales that carry no tax of the seller's (common practice, no source)."""
BUYERS: Final = {
    "us_resale": "resale certificate of the buyer",
    "us_exempt_buyer": "exemption document of the buyer",
    "eu_exempt_buyer": "exemption document of the buyer",
}


def rows_used(record: Record, assessment: Assessment) -> Sheet:
    """Every table row that the cases of the run rest on, and those of the limits."""
    sources = {one["id"]: one for one in record["sources"]}
    found: dict[str, tuple[str, int, int]] = {}
    for side in (assessment.run.terms.collect, assessment.run.terms.fulfiller):
        for _, evidence in side.proofs:
            for table, used, columns in evidence.used:
                for row in np.unique(used[used >= 0]).tolist():
                    at = np.array([row])
                    name, basis = str(table.row_ids(at)[0]), int(table.basis(at, *columns)[0])
                    known = found.get(name, ("", 0, 0))
                    source = " ".join(sorted(table.sources(at)))
                    found[name] = source, max(basis, known[1]), int(table.checked_on(at)[0])
    heads = (
        Head("Row"),
        Head("Table"),
        Head("Basis"),
        Head("Checked on", "day"),
        Head("Own row"),
        Head("Source"),
        Head("Publisher"),
        Head("Document", "long"),
        Head("Link", "long"),
    )
    rows: list[Row] = []
    for name, (source, basis, checked) in sorted(found.items()):
        paper = sources.get(source, {})
        day = None if checked == NO_DAY else to_day(checked).isoformat()
        table_name, own = (
            name.removeprefix("own:").partition(":")[0],
            "yes" if name.startswith("own:") else "",
        )
        of_paper = (paper.get("publisher", ""), paper.get("title", ""), paper.get("link", ""))
        rows.append((name, table_name, BASES[basis], day, own, source, *of_paper))
    about = (
        f"Version {record['tables']['version']}.",
        "Basis: official = read in the paper of the authority; secondary = a copy or summary; unconfirmed = an assumption.",
    )
    return Sheet(
        "Q",
        "rows-used",
        "Table rows used, with their sources",
        about,
        heads,
        tuple(rows),
        record["caution"],
        record["currency"],
    )


def set_aside(record: Record, assessment: Assessment, most: int = 20_000) -> Sheet:
    """Rows that were not used; all of them stand in set_aside.csv."""
    frame = assessment.set_aside
    heads = (
        Head("File"),
        Head("Row", "count"),
        Head("Column"),
        Head("Value"),
        Head("Reason", "long"),
        Head("Mend", "long"),
    )
    columns = ("file", "row", "column", "value", "reason", "mend")
    rows: list[Row] = [
        (str(file), int(row), str(column or ""), str(value or ""), str(reason), str(mend))
        for file, row, column, value, reason, mend in frame.head(most)[list(columns)].values.tolist()
    ]
    about = (
        f"{len(frame)} rows, none of them in any figure."
        + (f" The first {most} are shown; set_aside.csv has all of them." if len(frame) > most else ""),
    )
    return Sheet(
        "K", "set-aside", "Rows set aside", about, heads, tuple(rows), record["caution"], record["currency"]
    )


def exempt_buyers(record: Record, gathered: Gathered) -> Sheet:
    """Sales of the period to buyers that were not charged for what they are, with the document to hold."""
    heads = (
        Head("Order"),
        Head("Line"),
        Head("Tax point", "day"),
        Head("Place"),
        Head("Why"),
        Head("Sales", "money"),
        Head("Document seen (initials)"),
    )
    rows: list[Row] = [
        (
            one["order_id"],
            one["line_id"],
            one["tax_point"],
            one["place"],
            BUYERS.get(one["reason"], one["reason"]),
            amount(one["sales"]),
            "",
        )
        for one in gathered.exempt
    ]
    about = (
        "Each needs the buyer's own document; without it the tax may be the seller's."
        + (
            f" The first {len(rows)} of {gathered.exempt_lines} lines."
            if gathered.exempt_lines > len(rows)
            else ""
        ),
    )
    return Sheet(
        "P1",
        "exempt-buyers",
        "Exempt buyers: index of documents to hold",
        about,
        heads,
        tuple(rows),
        record["caution"],
        record["currency"],
    )


def evidence(record: Record, gathered: Gathered) -> Sheet:
    """Sales of the period without tax of the seller's, by reason, with what to keep for them."""
    chosen = [one for one in gathered.by_reason if one["reason"] in EVIDENCE]
    heads = (
        Head("Place"),
        Head("Reason"),
        Head("Lines", "count", sum(one["lines"] for one in chosen)),
        Head("Sales", "money", gathered.sales_of(EVIDENCE)),
        Head("What to keep", "long"),
        Head("Gathered (initials)"),
    )
    rows: list[Row] = [
        (
            one["place"],
            one["reason"],
            one["lines"],
            amount(one["sales"]),
            EVIDENCE[one["reason"]],
            "",
        )
        for one in chosen
    ]
    about = (
        "Without the proof the sale may be taxed after all. lines.csv lists the orders by the same reason.",
    )
    return Sheet(
        "P2",
        "evidence",
        "Evidence of export, transport and other sellers to gather",
        about,
        heads,
        tuple(rows),
        record["caution"],
        record["currency"],
    )


def sample(record: Record, gathered: Gathered) -> Sheet:
    """Some lines of the period, to try the trace on."""
    heads = (
        Head("Order"),
        Head("Line"),
        Head("File"),
        Head("Row", "count"),
        Head("Tax point", "day"),
        Head("Place"),
        Head("Duty"),
        Head("Reason"),
        Head("Sales", "money"),
        Head("Should collect", "money"),
        Head("Collected", "money"),
        Head("Fulfiller may charge", "money"),
        Head("Fulfiller charged", "money"),
    )
    rows: list[Row] = [
        (
            one["order_id"],
            one["line_id"],
            one["file"],
            one["row"],
            one["tax_point"],
            one["place"],
            one["duty"],
            one["reason"],
            *(
                amount(one[name])
                for name in ("sales", "to_collect", "collected", "fulfiller_tax", "fulfiller_tax_charged")
            ),
        )
        for one in gathered.sample
    ]
    about = (
        "The first lines of the period; lines.csv and lines.parquet hold every line.",
        "`taxcalc explain ORDER` tells how one came about.",
    )
    return Sheet(
        "S",
        "lines-sample",
        "A sample of line figures",
        about,
        heads,
        tuple(rows),
        record["caution"],
        record["currency"],
    )
