"""Documents worth giving to the fulfiller, what registering would save in strict states, and what becomes of its tax."""

from __future__ import annotations

from collections import Counter
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from taxcalc.reports.layout import Column, figures, heading, paragraph, stacked
from taxcalc.reports.review_charges import ask_by
from taxcalc.reports.review_input_tax import ways
from taxcalc.reports.words import day, days, marked, money, place, printable

if TYPE_CHECKING:
    from taxcalc.reports.layout import Cell, Pieces

Row = dict[str, Any]

FORM = {
    "streamlined": "Streamlined certificate",
    "multijurisdiction": "multijurisdiction resale certificate",
    "state": "the state's own form",
    "own_number": "a document with this state's own number",
    "vat_number": "a VAT number of another member state",
}
NEEDS = {
    "nothing": "Needs no new number",
    "home_state_number": "Needs a sales-tax number of some state of the United States first",
    "ask": "Ask the state first what it takes",
    "registration": "Needs your registration there first",
    "vat_number_elsewhere": "Needs a VAT registration in another member state first",
    "transport": "Needs a professional's word that the transport is part of the fulfiller's sale",
    "vat_number_elsewhere_and_transport": "Needs a VAT registration in another member state first, and a professional's word "
    "that the transport is part of the fulfiller's sale",
}
"""What has to be there first, in the order in which it is easily had."""
LASTS = {
    "until_revoked": "until you revoke it",
    "no_end_stated": "no end stated",
    "as_printed": "the day printed on it",
    "while_licence_is_current": "while your licence is current",
    "while_number_is_valid": "while the number is valid",
    "without_sales_for_months": "after a year without a purchase",
    "local_rules": "by local rules",
}
RESTS = {"charged": "as charged", "both": "partly as charged", "expected": "as expected"}
SHOWN = 5
"""Actions and states that are shown; the record holds all."""


def documents(record: dict[str, Any]) -> Pieces:
    """Show what to give, where only registering helps, and what becomes of the tax; nothing where there is none."""
    split = record.get("fulfiller_tax_split") or []
    if not split:
        return []
    actions, currency = record.get("certificates") or [], record["currency"]
    return [
        *heading("Documents worth giving your fulfiller"),
        paragraph(_about(split[0])),
        *_actions(actions, record.get("break_even") or [], currency),
        *_to_replace(record, currency),
        *_nothing_charged(actions, split),
        *_break_even(record.get("break_even") or [], currency),
        *_split(split, currency),
    ]


def _about(row: Row) -> str:
    """Say which days the figures are of, and what they are."""
    part = "" if row["whole"] else " Your files do not cover all of it, so a whole year may be more."
    return (
        f"The last four quarters that were over: {days(row['from'], row['to'])}.{part} Saved is what your fulfiller was "
        "expected to charge or, where your files say what it charged, the smaller of the two. What you can give at once "
        "stands first. Ask your fulfiller which forms it takes, and a professional before you sign one."
    )


def _actions(actions: list[Row], strict: list[Row], currency: str) -> Pieces:
    """Show what to give first, without the states where registering is a choice to be weighed (`strict`)."""
    weighed, order = {row["place"] for row in strict}, list(NEEDS)
    asked = [action for action in actions if action["states"][0]["place"] not in weighed]
    if not asked:
        return []
    columns = [Column("What to give your fulfiller"), Column("Saved", number=True)]
    largest = sorted(asked[:SHOWN], key=lambda action: order.index(action["needs"]))
    rows = [_action(at, action, currency) for at, action in enumerate(largest, start=1)]
    rest = [
        f"{marked(state)} {money(state['saved'], currency)}" for a in asked[SHOWN:] for state in a["states"]
    ]
    less = f"Less was to be saved, in record.json: {', '.join(rest)}." if rest else ""
    below = "\n".join(filter(None, (_follows(asked[:SHOWN]), less)))
    return figures(columns, rows, asked[0]["caution"], below, gaps=True)


def _to_replace(record: dict[str, Any], currency: str) -> Pieces:
    """Name the states where a document has to be replaced, with the tax of the period that rests on it."""
    stale = [found for found in record["findings"] if found["kind"] == "replace_document"]
    if not stale:
        return []
    named = ", ".join(f"{place(found)} {money(found['amount'], currency)}" for found in stale)
    words = (
        "To be replaced, because you had to register there (talk to a professional first), with the tax of the period "
        f"that rests on the old document at the high end: {named}."
    )
    return [paragraph(""), paragraph(words)]


def _nothing_charged(actions: list[Row], split: list[Row]) -> Pieces:
    """Name the states where a document is missing and your files say that nothing was charged: nothing was to be saved."""
    listed = {state["place"] for action in actions for state in action["states"]}
    left = [place(row) for row in split if Decimal(row["avoidable"]) and row["place"] not in listed]
    if not left:
        return []
    words = (
        "Tax was expected but by your files none was charged, so that a document would have saved nothing yet"
    )
    return [paragraph(""), paragraph(f"{words}: {', '.join(left)}.")]


def _more(rows: list[Row]) -> str:
    """Say how many are left out."""
    return f" And {len(rows) - SHOWN} more, in record.json." if len(rows) > SHOWN else ""


def _follows(actions: list[Row]) -> str:
    """Say what follows from giving a document besides the saving."""
    return " ".join(dict.fromkeys(printable(one["consequence"]) for one in actions if one["consequence"]))


def _action(at: int, action: Row, currency: str) -> list[Cell]:
    """Write one action: the form, its states, and what it needs."""
    states, form = action["states"], FORM[action["form"]]
    if len(states) == 1:
        first, names = f"{marked(states[0])}: {form}", [printable(states[0]["document"])]
    else:
        listed = ", ".join(f"{_code(state)} {money(state['saved'], currency)}" for state in states)
        first, names = f"{form}, one for {len(states)} states", [listed]
    rests = {state["rests_on"] for state in states}
    words = RESTS[rests.pop() if len(rests) == 1 else "both"]
    return [
        stacked(f"{at}. {first[:1].upper()}{first[1:]}", *filter(None, names), *_needed(action)),
        stacked(money(action["saved"], currency), words),
    ]


def _needed(action: Row) -> list[str]:
    """Say what the action needs first, what stands in the place of a number, and until when it still counts for a sale."""
    states = action["states"]
    said = Counter(printable(state["number"]) for state in states if state["number"])
    late = {state["days_to_obtain"] for state in states}
    due = any(state["registration_due"] for state in states)
    where = "In the place of a state's number" + (", in most of these states" if len(said) > 1 else "")
    parts = [
        "You may have had to register here: talk to a professional first" if due else NEEDS[action["needs"]],
        f"{where}: {said.most_common(1)[0][0].rstrip('.')}" if said and action["needs"] == "nothing" else "",
        f"Counts for a sale if given within {min(late)} days" if late and all(late) else "",
        _runs_out(action),
    ]
    return [part for part in parts if part]


def _code(state: Row) -> str:
    """Name a state shortly, with a star for an unconfirmed fact and a plus for rows of the user's own."""
    doubtful = "*" if state["basis"] == "unconfirmed" else ""
    return printable(state["place"]).removeprefix("US-") + doubtful + ("+" if state["own_rows"] else "")


def _runs_out(action: Row) -> str:
    """Say when the document runs out, given on the day of the review."""
    if action["first_expiry"]:
        first = [state for state in action["states"] if state["expires_on"] == action["first_expiry"]]
        where = "" if len(action["states"]) == 1 else f" ({', '.join(_code(state) for state in first)})"
        return f"Runs out: {day(action['first_expiry'])}{where}"
    renewals = sorted(state["renew_by"] for state in action["states"] if state["renew_by"])
    if renewals:
        return f"Better renewed by {day(renewals[0])}"
    words = {LASTS.get(state["lasts"], "not known here") for state in action["states"]}
    return f"Runs out: {words.pop() if len(words) == 1 else 'differs by state, no day named'}"


def _break_even(rows: list[Row], currency: str) -> Pieces:
    """Show what registering would have saved where only that helps."""
    if not rows:
        return []
    columns = [
        Column("Only registering there would help"),
        Column("Its tax in these quarters", number=True),
    ]
    below = (
        "Registering pays where its yearly cost (returns, an agent, your time) is below this tax. It also makes you "
        "collect from your customers there, from the day you register." + _more(rows)
    )
    cells: list[list[Cell]] = [
        [stacked(place(row), RESTS[row["rests_on"]]), money(row["saved"], currency)] for row in rows[:SHOWN]
    ]
    return figures(columns, cells, rows[0]["caution"], below)


PARTS = {
    "expected": "Expected",
    "avoidable": "Avoidable",
    "recoverable": "May come back",
    "final": "Final cost",
}


def _split(rows: list[Row], currency: str) -> Pieces:
    """Show what of the expected tax was avoidable, may come back, and stays: together, and the largest states."""
    columns = [
        Column("Fulfiller's tax, four quarters"),
        *(Column(title, number=True) for title in PARTS.values()),
    ]
    every = {
        name: str(sum((Decimal(row[name]) for row in rows), Decimal(0)))
        for part in PARTS
        for name in (part, f"{part}_charged")
        if name in rows[0]
    }
    shown = [*rows[:SHOWN], *(row for row in rows[SHOWN:] if Decimal(row["charged_with_document"]))]
    cells: list[list[Cell]] = [["All states together", *_parts(every, currency)]] if len(rows) > 1 else []
    cells += [[stacked(marked(row), _back(row, currency)), *_parts(row, currency)] for row in shown]
    left = len(rows) - len(shown)
    below = (
        "Avoidable: by a document you could have given on that day. May come back, and final cost: as things stood, on the "
        "ways named below. Ask by: for the first of the four quarters, and three months later for each that follows."
    ) + (f" And {left} more, in record.json." if left else "")
    return [*figures(columns, cells, rows[0]["caution"], below), *ways(shown, currency)]


def _parts(row: Row, currency: str) -> list[Cell]:
    """Write the parts of one row, and below each what was really charged of it."""
    return [stacked(money(row[name], currency), _charged(row, name, currency)) for name in PARTS]


def _charged(row: Row, name: str, currency: str) -> str:
    """Say what of a part was really charged, where the files say so."""
    amount = row.get(f"{name}_charged", "0")
    return f"charged {money(amount, currency)}" if Decimal(amount) else ""


def _back(row: Row, currency: str) -> str:
    """Say what to ask back from the fulfiller and until when; VAT that may come back has its days below."""
    amount = row["charged_with_document"]
    if row["regime"] == "eu":
        asked = f"{money(amount, currency)} charged on exempt sales: ask for a corrected invoice"
        return asked if Decimal(amount) else ""
    wrongly = f"{money(amount, currency)} charged with a document on file; " if Decimal(amount) else ""
    charged = any(Decimal(row[f"{name}_charged"]) for name in ("avoidable", "recoverable"))
    if not (wrongly or charged):
        return ""
    return wrongly + ask_by(row, row["to"])
