"""The review as text: in short on a terminal or in a pipe, in full on request and as review.txt."""

from __future__ import annotations

from functools import wraps
from typing import IO, TYPE_CHECKING, Any, Final

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
    from collections.abc import Callable

    from taxcalc.reports.layout import Pieces

    Record = dict[str, Any]
    Section = Callable[[Record, int], Pieces]

PLACES_IN_SHORT: Final = 12


def _any_width(section: Callable[[Record], Pieces]) -> Section:
    """Let a section that is the same on every screen be asked like one that is not; it keeps its name."""

    @wraps(section)
    def asked(record: Record, _width: int) -> Pieces:
        return section(record)

    return asked


def _few_places(record: Record, width: int) -> Pieces:
    """Show the places with the largest lack."""
    return review_places.places(record, width, PLACES_IN_SHORT)


SECTIONS: Final[tuple[tuple[Section, Section | None], ...]] = (
    (_any_width(review_head.title), _any_width(review_head.title)),
    (_any_width(review_head.tie_out), _any_width(review_head.counted)),
    (_any_width(review_fulfiller.totals), _any_width(review_fulfiller.totals)),
    (_any_width(review_findings.findings), _any_width(review_findings.in_short)),
    (review_places.places, _few_places),
    (review_places.since_duty, None),
    (_any_width(review_look_back.look_back), None),
    (_any_width(review_late.interest_and_penalties), _any_width(review_late.interest_and_penalties)),
    (_any_width(review_fees.delivery_fees), None),
    (_any_width(review_limits.limits), _any_width(review_limits.in_short)),
    (_any_width(review_one_stop_shop.one_stop_shop), None),
    (_any_width(review_union_prices.priced_without_vat), None),
    (_any_width(review_union_prices.same_price), None),
    (_any_width(review_at_the_door.at_the_door), None),
    (_any_width(review_fulfiller.fulfiller), _any_width(review_fulfiller.by_reason)),
    (_any_width(review_retail.retail_base), None),
    (_any_width(review_charges.charges), None),
    (_any_width(review_charges.samples), None),
    (_any_width(review_documents.documents), None),
    (_any_width(review_notes.notes), None),
)
"""The sections in their reading order: as the full review has them, and as the short one has them, if it does."""


def full(record: Record, width: int) -> Pieces:
    """Give the whole review."""
    pieces = [piece for section, _short in SECTIONS for piece in section(record, width)]
    return [*pieces, *review_notes.last_word(record)]


def short(record: Record, width: int) -> Pieces:
    """Give what can be read in two minutes, and the titles of what only the full review has."""
    pieces = [piece for _full, section in SECTIONS if section for piece in section(record, width)]
    left = [section(record, width) for section, in_short in SECTIONS if in_short is None]
    return [*pieces, *review_notes.left_out(left), *review_notes.last_word(record)]


def print_review(
    record: Record, file: IO[str] | None = None, *, width: int | None = None, whole: bool = False
) -> None:
    """Print the review; colours only on a terminal that has them, plain text of 100 columns in a pipe."""
    pieces = full if whole else short
    show(lambda columns: pieces(record, columns), file, width=width)


def review_text(record: Record, *, whole: bool = True) -> str:
    """Give the review as plain text of 100 columns, the same on every computer."""
    return plain((full if whole else short)(record, PLAIN_WIDTH), PLAIN_WIDTH)
