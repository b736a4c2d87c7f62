"""Figures for one-stop-shop returns: supplies by state and rate, corrections by the period they correct, what is payable."""

from __future__ import annotations

from decimal import Decimal
from typing import TYPE_CHECKING, Any

from taxcalc.reports.layout import Column, figures, heading, paragraph, spread
from taxcalc.reports.words import count, day, money, several

if TYPE_CHECKING:
    from taxcalc.reports.layout import Cell, Pieces

Row = dict[str, Any]


def one_stop_shop(record: dict[str, Any]) -> Pieces:
    """Show each return that has something in it; one without anything is said in a sentence."""
    returns = record.get("one_stop_shop") or []
    if not returns:
        return []
    pieces = heading("Figures for one-stop-shop returns")
    pieces.append(paragraph(
        "In euro, at the European Central Bank's rate of the last day of each period or of the next publication day. "
            "Figures for a return, not a return: a professional decides what belongs in it."
    ))  # fmt: skip
    for each in returns:
        pieces += _return(each)
    return pieces


def _return(each: Row) -> Pieces:
    """Show one return: whole where the seller is in the scheme, else what would belong in it in one sentence."""
    euro = each["currency"]
    if each["nil"] or not each["registered"]:
        words = _nil(each) if each["nil"] else _would_be(each, euro)
        return [paragraph(""), paragraph(words), paragraph(each["caution"])]
    columns = [
        Column(f"{each['name']}, {each['period']}"),
        Column("Sent from"),
        *(Column(words, number=True) for words in ("Rate", "Lines", "Taxable amount", "VAT")),
    ]
    rows: list[list[Cell]] = [_supply(row, euro) for row in each["supplies"]]
    rows += [_correction(row, euro) for row in each["corrections"]]
    rows.append(
        ["Payable: positive balances only", "", "", "", "", spread(each["payable"]["vat_amount"], euro)]
    )
    return figures(columns, rows, each["caution"], _below(each, euro), ordered=True)


def _nil(each: Row) -> str:
    """Say that there is nothing to report, and that a return may be due all the same."""
    due = f" by {day(each['due'])}" if each["due"] else ""
    return (
        f"{each['name']}, {each['period']}: nothing supplied. You are in this scheme, so a return that says so may be "
        f"due{due}."
    )


def _would_be(each: Row, euro: str) -> str:
    """Say what would belong in the return of a scheme that the seller is not in."""
    states = {row["member_state_of_consumption"] for row in each["supplies"]}
    ends = each["payable"]["vat_amount"]
    between = (
        f" ({money(ends['low'], euro)} to {money(ends['high'], euro)})" if ends["low"] != ends["high"] else ""
    )
    return (
        f"{each['name']}, {each['period']}: you are not registered in it. VAT of {money(ends['expected'], euro)}{between} on "
        f"supplies into {several(len(states), 'member state')} would belong in its return; record.json has them by state "
        "and rate."
    )


def _supply(row: Row, euro: str) -> list[Cell]:
    """Write one line of supplies."""
    words = "services" if row["supply_type"] == "SERVICES" else "goods"
    return [
        f"{row['member_state_of_consumption']}, {words}",
        row["member_state_of_dispatch"] or "",
        f"{row['vat_rate']} %",
        count(row["lines"]),
        money(row["taxable_amount"], euro),
        spread(row["vat_amount"], euro),
    ]


def _correction(row: Row, euro: str) -> list[Cell]:
    """Write one correction."""
    state, period = row["member_state_of_consumption"], row["period"]
    return [
        f"{state}, correction of {period}",
        "",
        "",
        count(row["lines"]),
        "",
        spread(row["vat_amount"], euro),
    ]


def _below(each: Row, euro: str) -> str:
    """Say what the table does not show by itself."""
    said = []
    if each["due"]:
        said.append(f"Due, with payment, by {day(each['due'])}.")
    if not each["complete"]:
        said.append("The period is not over.")
    if Decimal(each["zero_rated"]["taxable_amount"]):
        said.append(f"Zero-rated and left out: {money(each['zero_rated']['taxable_amount'], euro)}.")
    negative = [row["member_state"] for row in each["balances"] if Decimal(row["vat_amount"]["expected"]) < 0]
    if negative:
        said.append(f"Negative, asked back from that state and set off against none: {', '.join(negative)}.")
    if each["exchange_rate"]["carried_on"]:
        said.append("The rate of the last day was not on file; the last one known was taken.")
    return " ".join(said)
