"""What was read of a line, and from whom each fact comes: the file, the profile, or an assumption."""

from __future__ import annotations

from typing import TYPE_CHECKING

from taxcalc import places
from taxcalc.columns import (
    BAD_NUMBER,
    NO_DAY,
    NO_NUMBER,
    NO_PLACE,
    PRODUCT_CLASSES,
    PRODUCT_WORDS,
    TAX_INCLUDED_BY_PROFILE,
    Blank,
    Buyer,
    Channel,
    Entry,
)
from taxcalc.explain import words
from taxcalc.explain.line import Step

if TYPE_CHECKING:
    from taxcalc.explain.line import OneLine

KINDS = {Entry.SALE: "Sale", Entry.REFUND: "Refund", Entry.SAMPLE: "Your own order, not sold"}
BUYERS = {
    Buyer.CONSUMER: "a consumer, because nothing else is said of the buyer",
    Buyer.RESALE: "a buyer who buys for resale (your file)",
    Buyer.EXEMPT: "an exempt buyer (your file)",
}


def read(line: OneLine) -> Step:
    """Say what was read of a line."""
    return Step(
        "read",
        [
            _goods(line),
            _days(line),
            _tax_included(line),
            _buyer(line),
            _dispatch(line),
            _fulfiller(line),
            _tax(line),
        ],
    )


def where_from(line: OneLine) -> str:
    """Name file and row."""
    file = line.assessment.run.intake.files[line["file"]].name
    return f"{file}, row {line['row']}"


def summary(line: OneLine) -> str:
    """Say in a few words what the line is."""
    kind = PRODUCT_WORDS[PRODUCT_CLASSES[line["product_class"]]]
    return f"{KINDS[Entry(line['entry'])]}: {line['quantity']} × {kind} to {words.place(line['destination'])}"


def _goods(line: OneLine) -> str:
    """Say what was sold for how much."""
    kind = PRODUCT_WORDS[PRODUCT_CLASSES[line["product_class"]]]
    goods = line.money(line["item_amount"])
    given = not line["blanks"] & Blank.SHIPPING_AMOUNT
    shipping = (
        f"{line.money(line['shipping_amount'])} for shipping" if given else "nothing given for shipping"
    )
    entry = KINDS[Entry(line["entry"])]
    return f"{entry}: {line['quantity']} × {kind}, {goods} for the goods, {shipping} ({where_from(line)})."


def _days(line: OneLine) -> str:
    """Say the day of the order and the tax point."""
    ordered, tax_day, original = line["day"], line["tax_day"], line["original_day"]
    said = f"Ordered on {words.day(ordered)} in your time zone"
    if original != NO_DAY:
        return f"{said}; it gives back a sale of {words.day(original)} (your file)."
    if tax_day == ordered:
        return f"{said}; no other tax point is given, so that day counts."
    return f"{said}; tax point {words.day(tax_day)}, the day of dispatch in your file."


def _tax_included(line: OneLine) -> str:
    """Say whether the amounts contain the tax, and who says so."""
    contain = (
        "The two amounts contain the tax"
        if line.of_settled("included")
        else "The two amounts are without tax"
    )
    if line["tax_included"] == TAX_INCLUDED_BY_PROFILE:
        return f"{contain}, by your profile or its usual answer for this destination."
    return f"{contain}, by your file."


def _buyer(line: OneLine) -> str:
    """Say through whom and to whom it was sold."""
    if line["entry"] == Entry.SAMPLE:
        return "Ordered for yourself."
    run = line.assessment.run
    through = "your own shop"
    if line["channel"] == Channel.MARKETPLACE:
        name = run.intake.marketplaces[line["marketplace"]]
        through = f"the marketplace {name}" if name else "a marketplace"
    number, buyer = line["buyer_number"], BUYERS[Buyer(line["buyer"])]
    if number == BAD_NUMBER:
        buyer += "; the VAT number given has no valid form and is not used"
    elif number != NO_NUMBER:
        buyer = f"a business with a VAT number of {words.place(number)}, of which only the form was checked"
    return f"Sold through {through} to {buyer}."


def _dispatch(line: OneLine) -> str:
    """Say where it was sent from."""
    code = line.of_settled("ship_from")
    if code == places.index("unknown"):
        return "Where it was sent from is not known."
    site = words.place(code)
    if line["ship_from"] != NO_PLACE:
        return f"Sent from {site} (your file)."
    return f"Sent from {site}: assumed, the site of the fulfiller in your profile that fits the destination best."


def _fulfiller(line: OneLine) -> str:
    """Say what the fulfiller asked."""
    name = line.assessment.run.facts.fulfillers[line.of_settled("fulfiller")]
    blanks = line["blanks"]
    facts = (
        (Blank.FULFILLER_ITEM_COST, "fulfiller_item_cost", "for the goods"),
        (Blank.FULFILLER_SHIPPING_COST, "fulfiller_shipping_cost", "for shipping"),
        (Blank.FULFILLER_TAX_CHARGED, "fulfiller_tax_charged", "as tax"),
    )
    said = [
        f"nothing given {what}"
        if blanks & bit
        else f"{words.amount(line[column], line.fulfiller_currency)} {what}"
        for bit, column, what in facts
    ]
    return f"Fulfiller {name}: {', '.join(said)}."


def _tax(line: OneLine) -> str:
    """Say what the customer was charged as tax."""
    if line["blanks"] & Blank.TAX_COLLECTED:
        return "No tax charged to the customer is given, which is read as none."
    return f"Tax charged to the customer: {line.money(line['tax_collected'])}."
