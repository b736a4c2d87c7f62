"""Documents worth giving to the fulfiller, what registering would save in strict states, and what becomes of its tax."""

from __future__ import annotations

from decimal import Decimal
from typing import TYPE_CHECKING, Any

from taxcalc.reports.layout import Column, figures, heading, paragraph, stacked
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
    "nothing": "nothing",
    "home_state_number": "a state's sales-tax number",
    "registration": "registering there",
    "ask": "ask the state",
    "vat_number_elsewhere": "a VAT registration in another member state",
    "transport": "a professional's word that the transport is part of the fulfiller's sale",
    "vat_number_elsewhere_and_transport": "a VAT registration in another member state, and a professional's word that the "
    "transport is part of the fulfiller's sale",
}
LASTS = {
    "until_revoked": "until you revoke it",
    "no_end_stated": "no end stated",
    "as_printed": "the day printed on it",
    "while_licence_is_current": "while your licence is current",
    "while_number_is_valid": "while the number is valid",
    "without_sales_for_months": "lapses after a year without a purchase",
    "local_rules": "by local rules",
}
RESTS = {"charged": "as charged", "both": "in part as charged", "expected": "as expected"}
SHOWN = 12
"""Actions and states of the split that are shown; the record holds all."""


def documents(record: dict[str, Any]) -> Pieces:
    """Show the three tables; nothing where the fulfiller's tax of the year is nothing."""
    split = record.get("fulfiller_tax_split") or []
    if not split:
        return []
    pieces = heading("Documents worth giving your fulfiller")
    pieces.append(paragraph(_about(split[0])))
    currency = record["currency"]
    actions = record.get("certificates") or []
    if actions:
        columns = [
            Column("What to give"),
            Column("Needs first"),
            Column("Runs out"),
            Column("Saved", number=True),
        ]
        rows = [_action(action, currency) for action in actions[:SHOWN]]
        pieces += figures(columns, rows, actions[0]["caution"], _below(actions), gaps=True)
    pieces += _nothing_charged(actions, split)
    pieces += _break_even(record.get("break_even") or [], currency)
    return [*pieces, *_split(split, currency)]


def _about(row: Row) -> str:
    """Say which days the figures are of, and what they are."""
    part = "" if row["whole"] else " Your files do not cover all of it, so a whole year may be more."
    return (
        f"The last four quarters that were over: {days(row['from'], row['to'])}.{part} What a document would have "
        "saved is the tax your fulfiller was expected to charge or, where your files say what it charged, the "
        "smaller of the two. Ask your fulfiller which forms it takes, and a professional before you sign one."
    )


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
    return f"And {len(rows) - SHOWN} more, in record.json." if len(rows) > SHOWN else ""


def _below(actions: list[Row]) -> str:
    """Say what follows from giving a document besides the saving, and how many are left out."""
    follows = dict.fromkeys(action["consequence"] for action in actions if action["consequence"])
    return " ".join([*(printable(words) for words in follows), _more(actions)]).strip()


def _action(action: Row, currency: str) -> list[Cell]:
    """Write one action: the form and its states."""
    states = action["states"]
    if len(states) == 1:
        first, names = f"{marked(states[0])}: {_form(action)}", [_detail(states[0])]
    else:
        listed = ", ".join(f"{_code(state)} {money(state['saved'], currency)}" for state in states)
        first, names = f"{_form(action)}, {len(states)} states", [listed]
    rests = {state["rests_on"] for state in states}
    words = RESTS[rests.pop() if len(rests) == 1 else "both"]
    return [
        stacked(first[:1].upper() + first[1:], *names),
        NEEDS[action["needs"]],
        _runs_out(action),
        stacked(money(action["saved"], currency), words),
    ]


def _form(action: Row) -> str:
    """Name the form."""
    return FORM[action["form"]]


def _code(state: Row) -> str:
    """Name a state shortly, with a star for an unconfirmed fact and a plus for rows of the user's own."""
    doubtful = "*" if state["basis"] == "unconfirmed" else ""
    return printable(state["place"]).removeprefix("US-") + doubtful + ("+" if state["own_rows"] else "")


def _detail(state: Row) -> str:
    """Say which paper it is, what stands in for a number, and that a duty may stand before it."""
    number = f"Without a state's number: {printable(state['number'])}" if state["number"] else ""
    late = state["days_to_obtain"]
    parts = [
        printable(state["document"]),
        number,
        f"Counts for a sale if given within {late} days" if late else "",
        "You may have had to register here: talk to a professional first"
        if state["registration_due"]
        else "",
    ]
    return ". ".join(part for part in parts if part)


def _runs_out(action: Row) -> str:
    """Say when the document runs out, given on the day of the review."""
    if action["first_expiry"]:
        first = [state for state in action["states"] if state["expires_on"] == action["first_expiry"]]
        where = "" if len(action["states"]) == 1 else f" ({', '.join(_code(state) for state in first)})"
        return f"{day(action['first_expiry'])}{where}"
    renewals = sorted(state["renew_by"] for state in action["states"] if state["renew_by"])
    if renewals:
        return f"renew by {day(renewals[0])} (advised)"
    words = {LASTS.get(state["lasts"], "not known here") for state in action["states"]}
    return words.pop() if len(words) == 1 else "no day held"


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
        "collect from your customers there, from the day you register."
    )
    cells: list[list[Cell]] = [
        [stacked(place(row), RESTS[row["rests_on"]]), money(row["saved"], currency)] for row in rows
    ]
    return figures(columns, cells, rows[0]["caution"], below)


def _split(rows: list[Row], currency: str) -> Pieces:
    """Show what of the expected tax was avoidable, may come back, and stays."""
    names = ("expected", "avoidable", "recoverable", "final")
    titles = ("Expected", "Avoidable", "May come back", "Final cost")
    columns = [Column("Fulfiller's tax, four quarters"), *(Column(title, number=True) for title in titles)]
    cells: list[list[Cell]] = [
        [
            stacked(marked(row), _back(row, currency)),
            *(stacked(money(row[name], currency), _charged(row, name, currency)) for name in names),
        ]
        for row in rows[:SHOWN]
    ]
    below = (
        "Avoidable: by a document you could have given on that day. May come back, and final cost: as things stood, on the "
        "ways named below. " + _more(rows)
    )
    return [*figures(columns, cells, rows[0]["caution"], below.strip()), *ways(rows[:SHOWN], currency)]


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
    until = f"ask by {day(row['ask_by'])}" if row["ask_by"] else "last day to ask not held here"
    return wrongly + until
