"""Figures for VAT returns: of the one-stop shops in the fields of the published return, and of each member state itself."""

from __future__ import annotations

from decimal import Decimal
from typing import TYPE_CHECKING, Any, Final

from taxcalc import places
from taxcalc.handoff.sheet import Head, Row, Sheet
from taxcalc.one_stop_shop_record import percent
from taxcalc.reasons import REASONS
from taxcalc.served import SCHEMES

if TYPE_CHECKING:
    from taxcalc.assessment import Assessment
    from taxcalc.facts import Facts
    from taxcalc.handoff.gathered import Gathered

Record = dict[str, Any]
NOT_A_RETURN: Final = "Figures for a return, not a return: a professional decides what belongs in it."
_ENDS: Final = ("expected", "low", "high")


def one_stop_shop(record: Record) -> Sheet:
    """Figures for one-stop-shop returns, in the fields of the published return, and their corrections."""
    heads = (
        *(Head("Scheme"), Head("Period"), Head("Return due", "day"), Head("Part")),
        *(Head("Member state of consumption"), Head("Member state of dispatch")),
        *(Head("Supply type"), Head("VAT rate type"), Head("VAT rate", "percent")),
        *(Head("Taxable amount", "row_money"), Head("VAT amount", "row_money")),
        *(Head("VAT amount, low", "row_money"), Head("VAT amount, high", "row_money")),
        *(Head("Currency"), Head("Registered")),
    )
    rows = [row for one in record["one_stop_shop"] for row in _return_rows(one)]
    about = (
        "At the European Central Bank's rate of the last day of each period, or of the next publication day.",
        "Nothing is set off between states.",
        NOT_A_RETURN,
    )
    return Sheet(
        *("J2", "one-stop-shop", "One-stop-shop figures", about, heads, tuple(rows)),
        *(record["caution"], record["currency"], "No such figures in this period."),
    )


def _return_rows(one: Record) -> list[Row]:
    """Write the supplies and corrections of one return."""
    shared = (one["name"], one["period"], one["due"])
    last = (one["currency"], "yes" if one["registered"] else "no")
    supplies: list[Row] = [
        (
            *(*shared, "supply", each["member_state_of_consumption"], each["member_state_of_dispatch"]),
            *(each["supply_type"], each["vat_rate_type"], Decimal(each["vat_rate"])),
            Decimal(each["taxable_amount"]),
            *(Decimal(each["vat_amount"][end]) for end in _ENDS),
            *last,
        )
        for each in one["supplies"]
    ]
    corrections: list[Row] = [
        (
            *(*shared, f"correction of {each['period']}", each["member_state_of_consumption"]),
            *("", "", "", None, None),
            *(Decimal(each["vat_amount"][end]) for end in _ENDS),
            *last,
        )
        for each in one["corrections"]
    ]
    return [*supplies, *corrections]


def local_returns(assessment: Assessment, record: Record, gathered: Gathered) -> Sheet:
    """Sales of the period that no one-stop shop reports for this seller: by member state, what they are, and rate."""
    facts = assessment.run.facts
    reported = _schemes(assessment)
    kept = [one for one in gathered.by_rate if one["one_stop_shop"] not in reported]
    heads = (
        *(Head("Place"), Head("What", "long"), Head("Answer"), Head("VAT rate", "percent")),
        Head("Lines", "count", sum(one["lines"] for one in kept)),
        *(
            Head(title, "money", sum((Decimal(one[name]) for one in kept), Decimal(0)))
            for name, title in _SUMS.items()
        ),
        Head("Registered there"),
    )
    rows: list[Row] = [
        (
            *(
                one["place"],
                REASONS[one["reason"]],
                one["duty"].replace("_", " "),
                _rate(one["vat_rate_ppm"]),
            ),
            one["lines"],
            *(Decimal(one[name]) for name in _SUMS),
            "yes" if _registered(one["place"], facts) else "no",
        )
        for one in kept
    ]
    about = (
        "Sales of the period in the European Union, without those that a one-stop shop reports for you.",
        "Added up from the lines of the period, each converted on its order day; a state has its own currency and rule.",
        "Sales without VAT of yours are listed too: returns and statements of sales to businesses abroad may ask for them.",
        NOT_A_RETURN,
    )
    return Sheet(
        *(
            "J5",
            "local-returns",
            "European Union: what belongs into returns of the member states",
            about,
            heads,
        ),
        *(tuple(rows), record["caution"], record["currency"], "No such sales in this period."),
    )


_SUMS: Final = {
    "sales": "Sales, as charged",
    "taxable": "Taxable amount, without tax",
    "to_collect": "VAT",
    "to_collect_low": "VAT, low",
    "to_collect_high": "VAT, high",
}


def _schemes(assessment: Assessment) -> set[str]:
    """Name the one-stop shops in which the seller was on a day of the period."""
    first, last = assessment.run.period
    return {
        one.scheme
        for one in assessment.run.seller.registrations
        if one.scheme in SCHEMES[1:]
        and one.from_day <= last
        and (one.until_day is None or one.until_day >= first)
    }


def _registered(place: str, facts: Facts) -> bool:
    """Tell whether the seller is registered at a place, or in the country it belongs to, on the day of the review."""
    country = places.code(int(places.countries()[places.index(place)]))
    return any(
        facts.registrations_on(one, facts.as_of_day, "standard") for one in dict.fromkeys((place, country))
    )


def _rate(ppm: int | None) -> Decimal | None:
    """Write a rate as percent, None where there is none."""
    return None if ppm is None else Decimal(percent(ppm))
