"""The review as text: on a terminal, in a pipe, and as review.txt."""

from __future__ import annotations

from typing import IO, TYPE_CHECKING, Any

from taxcalc.reports import (
    review_at_the_door,
    review_charges,
    review_documents,
    review_fees,
    review_findings,
    review_fulfiller,
    review_head,
    review_late,
    review_limits,
    review_look_back,
    review_notes,
    review_one_stop_shop,
    review_places,
    review_retail,
    review_union_prices,
)
from taxcalc.reports.screen import PLAIN_WIDTH, plain, show

if TYPE_CHECKING:
    from taxcalc.reports.layout import Pieces


def pieces(record: dict[str, Any], width: int) -> Pieces:
    """Give the whole review in its reading order."""
    return [
        *review_head.title(record),
        *review_head.tie_out(record),
        *review_findings.findings(record),
        *review_places.places(record, width),
        *review_places.since_duty(record, width),
        *review_look_back.look_back(record),
        *review_late.interest_and_penalties(record),
        *review_fees.delivery_fees(record),
        *review_limits.limits(record),
        *review_one_stop_shop.one_stop_shop(record),
        *review_union_prices.priced_without_vat(record),
        *review_union_prices.same_price(record),
        *review_at_the_door.at_the_door(record),
        *review_fulfiller.fulfiller(record),
        *review_retail.retail_base(record),
        *review_charges.charges(record),
        *review_charges.samples(record),
        *review_documents.documents(record),
        *review_fulfiller.totals(record),
        *review_notes.notes(record),
    ]


def print_review(record: dict[str, Any], file: IO[str] | None = None, *, width: int | None = None) -> None:
    """Print the review; colours only on a terminal that has them, plain text of 100 columns in a pipe."""
    show(lambda columns: pieces(record, columns), file, width=width)


def review_text(record: dict[str, Any]) -> str:
    """Give the review as plain text of 100 columns, the same on every computer."""
    return plain(pieces(record, PLAIN_WIDTH), PLAIN_WIDTH)
