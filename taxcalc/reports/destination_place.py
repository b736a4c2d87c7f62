"""What a seller has to know of one place: the duty to register, the effect on the shop, documents, and all the rest."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

from taxcalc.reports.layout import Column, bullets, figures, heading, paragraph, spread
from taxcalc.reports.review_documents import FORM, LASTS, NEEDS
from taxcalc.reports.words import MEASURE, count, day, days, money, percent, place, printable, several

if TYPE_CHECKING:
    from taxcalc.reports.layout import Cell, Pieces

Answer = dict[str, Any]
TOPICS: Final = {
    "customer": "What the customer meets",
    "bears_it": "Whose tax it is",
    "representative": "Representative",
    "importer": "Importer",
    "site": "Where it is sent from",
    "stop": "How to stop",
    "no_rules": "No rules held",
    "facts": "Facts on file, not computed with",
}


def register(one: Answer) -> Pieces:
    """Say whether to register, what would trigger it, and when."""
    found = one["register"]
    result = [*heading("Must you register there?"), paragraph(f"{found['words']}{_kind(found)}")]
    for number, each in enumerate(found["triggers"]):
        result += _trigger(each, first=number == 0)
    ahead = found["forecast"]
    if ahead:
        many = f"At {several(ahead['monthly_orders'], 'such order')} a month"
        when = (
            f"you would have to collect from {day(ahead['duty_from'])} on."
            if ahead["duty_from"]
            else f"no limit makes you collect before {day(ahead['until'])}."
        )
        result.append(paragraph(f"{many} {when}"))
    return result


def _kind(found: Answer) -> str:
    """Name the registration that is meant."""
    if found["answer"] not in ("now", "registered", "choice"):
        return ""
    words = {
        "local": " A registration in that place itself.",
        "union_oss": " The Union one-stop shop can serve it, or a registration on the spot.",
        "ioss": " The import one-stop shop.",
        "home": " Your registration at home.",
    }
    return words.get(found["registration"] or "", "")


def _trigger(each: Answer, *, first: bool) -> Pieces:
    """Say one limit."""
    currency = each["currency"]
    limit, value = (
        None if each[name] is None else (money(each[name], currency) if currency else count(int(each[name])))
        for name in ("limit", "value")
    )
    met = {"over": "more than ", "reached": ""}.get(each["met_when"], "")
    also = {"either": "or ", "both": "and "}.get(each["connector"], "") if not first else ""
    stands = f"; by your history {value} so far" if value is not None else ""
    lines = [f"{also}{met}{limit} ({MEASURE.get(each['measure'], each['measure'])}){stands}"]
    if first:
        lines += [
            f"counted over: {printable(each['window'])}",
            f"binds from: {printable(each['binds_from'] or 'not known')}",
            f"row {printable(each['row'])} ({each['basis']})",
        ]
    return bullets(lines)


def effect(one: Answer) -> Pieces:
    """Say what it would do to the whole shop."""
    found = one["effect"]
    if not found:
        return []
    currency = found["currency"]
    many, span = several(found["monthly_orders"], "such order"), days(found["from"], found["to"])
    words = f"{many} a month from {span}, beside your history."
    rows: list[list[Cell]] = [
        ["You should collect", spread(found["to_collect"], currency)],
        ["Fulfiller may charge", spread(found["fulfiller_tax"], currency)],
    ]
    for each in found["limits"]:
        before, after = (
            money(each[name], each["currency"]) if each["currency"] else count(int(each[name]))
            for name in ("before", "after")
        )
        rows.append(
            [
                f"Limit {place(each)}: {MEASURE.get(each['measure'], each['measure'])}",
                f"{before} to {after}\n{percent(each['share_after'])} used",
            ]
        )
    columns = [Column("In these three months"), Column("", number=True)]
    return [
        *heading("What it does to your shop"),
        paragraph(words),
        *figures(columns, rows, found["caution"]),
    ]


def documents(answer: Answer, one: Answer) -> Pieces:
    """Say what the fulfiller may charge and which document would stop it."""
    now, found = answer["compared"][0]["now"], one["documents"]
    result = [
        *heading("What the fulfiller may charge you"),
        paragraph(f"{printable(now['fulfiller_words'][:1].upper() + now['fulfiller_words'][1:])}."),
    ]
    if not found:
        return result
    if found["on_file"]:
        result.append(paragraph("By your profile a document of yours is on file."))
    forms = ", ".join(FORM[form] for form in found["forms"])
    lasts = (
        f"until {day(found['expires_on'])}" if found["expires_on"] else LASTS.get(found["lasts"], "not known")
    )
    lines = [f"stopped by: {forms}", NEEDS[found["needs"]].lower(), f"it lasts: {lasts}"]
    if found["document"]:
        lines.insert(1, printable(found["document"]))
    if found["only_registering_helps"]:
        lines.append("no number of another state works there: only registering would help")
    return [*result, *bullets([*lines, f"row {printable(found['row'])} ({found['basis']})"])]


def notes(one: Answer) -> Pieces:
    """Write the notes under their topics."""
    result: Pieces = heading("What else to know")
    lines = []
    for each in one["notes"]:
        proof = f" [{printable(each['row'])}, {each['basis']}]" if each.get("row") else ""
        lines.append(f"{TOPICS[each['topic']]}: {printable(each['words'])}{proof}")
    return [*result, *bullets(lines)]


def classes(answer: Answer, one: Answer) -> Pieces:
    """List the kinds of goods that are taxed otherwise at the same price."""
    found = one["treated_otherwise"]
    if not found:
        return []
    first = answer["compared"][0]
    tax = (first["once_bound"] or first["now"])["tax"]
    currency = first["now"]["currency"]
    columns = [Column("Kind of goods"), Column("Tax", number=True)]
    rows: list[list[Cell]] = [[f"{answer['order']['name']} (asked about)", spread(tax, currency)]]
    rows += [[each["name"], spread(each["tax"], currency)] for each in found]
    words = "At the same price, once you have to collect; kinds that are not named are taxed like yours."
    return [*heading("Taxed otherwise there"), paragraph(words), *figures(columns, rows, found[0]["caution"])]


def weak(one: Answer) -> Pieces:
    """Name rows that are unconfirmed or old."""
    rows = one["weak_rows"]
    if not rows:
        return []
    words = [
        f"{printable(each['row'])}: {each['basis']}, checked on {day(each['checked_on'])}" for each in rows
    ]
    return section("Rows to confirm before you rely on this", words)


def section(title: str, items: list[str]) -> Pieces:
    """Write a heading with a list."""
    return [*heading(title), *bullets(printable(item) for item in items)]
