"""What happens to one order, step by step: today, once a duty holds, with something different, at another price."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

from taxcalc.reports.layout import Column, figures, heading, paragraph, spread
from taxcalc.reports.review_documents import FORM
from taxcalc.reports.words import money, percent, printable

if TYPE_CHECKING:
    from collections.abc import Iterator

    from taxcalc.reports.layout import Cell, Pieces

Answer = dict[str, Any]
ONE_ORDER: Final = "What happens to one order"
WHAT_IF: Final = "What if"
KEEP_MARGIN: Final = "The price that keeps your margin"
REGISTER: Final = {
    "registered": "registered",
    "now": "register first",
    "later": "only past a limit",
    "choice": "border, or import scheme",
    "border": "at the border",
    "not_needed": "not needed",
    "unknown": "not known here",
}

NOT_KNOWN: Final = "not known"


def waterfalls(shown: list[tuple[str, Answer]]) -> Pieces:
    """Draw waterfalls side by side, with the reasons under them."""
    columns = [Column("One order"), *(Column(title, number=True) for title, _ in shown)]
    rows = [[label, *cells] for label, *cells in _rows([one for _, one in shown])]
    reasons = [
        f"{title}: {printable(one['words'])}. Fulfiller: {printable(one['fulfiller_words'])}."
        for title, one in shown
    ]
    return figures(columns, rows, shown[0][1]["caution"], "\n".join(reasons), ordered=True)


def _rows(shown: list[Answer]) -> Iterator[list[Cell]]:
    """Write the steps from the price to what is left."""
    currency = shown[0]["currency"]

    def amounts(name: str, sign: str = "") -> list[Cell]:
        return [f"{sign}{money(one[name], currency)}" for one in shown]

    yield ["Goods", *amounts("goods")]
    yield ["Shipping", *amounts("shipping")]
    if any(not one["tax_included"] for one in shown):
        yield ["Tax on top", *(tax(one) if not one["tax_included"] else "" for one in shown)]
    yield ["The customer pays", *(spread(one["customer_pays"], currency) for one in shown)]
    yield ["less tax to pay over", *(tax(one) for one in shown)]
    yield ["less fulfiller: goods", *amounts("fulfiller_goods")]
    yield ["less fulfiller: shipping", *amounts("fulfiller_shipping")]
    yield ["less fulfiller: tax", *(fulfiller_tax(one) for one in shown)]
    before = "" if all(one["tax_known"] for one in shown) else ", before any tax there"
    yield [f"Left for you{before}", *(spread(one["left"], currency) for one in shown)]
    yield ["   of the price", *(_percents(one["left_percent"]) for one in shown)]


def tax(one: Answer) -> Cell:
    """Write the tax to collect, or that it is not known."""
    return spread(one["tax"], one["currency"]) if one["tax_known"] else NOT_KNOWN


def fulfiller_tax(one: Answer) -> Cell:
    """Write the tax that the fulfiller may charge, or that it is not known."""
    return spread(one["fulfiller_tax"], one["currency"]) if one["fulfiller_tax_known"] else NOT_KNOWN


def _percents(share: Answer) -> str:
    """Write the share that is left, with its range."""
    if share["expected"] is None:
        return ""
    low, expected, high = (percent(share[end]) for end in ("low", "expected", "high"))
    return expected if low == high else f"{expected}\n{low} to {high}"


def what_if(answer: Answer) -> Pieces:
    """Draw before and after what might be different."""
    found = answer["compared"][0]["what_if"]
    if not found:
        return []
    words = f"{supposed(found)} Registering: {REGISTER[found['register_after']]}."
    return [
        *heading(WHAT_IF),
        paragraph(words),
        *waterfalls([("Before", found["before"]), ("After", found["after"])]),
    ]


def supposed(found: Answer) -> str:
    """Say what might be different."""
    asked = [
        "registered there" if found["registered"] else "",
        f"the fulfiller has: {FORM.get(found['certificate'], found['certificate'])}"
        if found["certificate"]
        else "",
        "another price" if found["price_changed"] else "",
        "shipping built into the price" if found["free_shipping"] else "",
        "the price contains the tax" if found["tax_included"] else "",
    ]
    return f"Supposed: {', '.join(filter(None, asked))}."


def keep_margin(answer: Answer) -> Pieces:
    """Say the price that keeps the margin, with the order at that price."""
    first = answer["compared"][0]
    found = first["keep_margin"]
    if not found:
        return []
    title = heading(KEEP_MARGIN)
    if found["price"] is None:
        return [
            *title,
            paragraph(f"No price leaves {percent(found['wanted_percent'])}."),
            paragraph(found["caution"]),
        ]
    price, wanted = money(found["price"], found["currency"]), percent(found["wanted_percent"])
    when = "with what is supposed above" if first["what_if"] else "today"
    words = f"{price} for the goods leaves {wanted} of the price, {when}:"
    return [*title, paragraph(words), *waterfalls([("At that price", found["proof"])])]


def one_order(answer: Answer) -> Pieces:
    """Draw the waterfall of the first site, today and once the seller has to collect."""
    first = answer["compared"][0]
    shown = [("Today", first["now"])]
    if first["once_bound"]:
        shown.append(("Once you collect", first["once_bound"]))
    return [*heading(ONE_ORDER), *waterfalls(shown)]
