"""What would have changed an order's figures: the same lines through the same engine, with one thing different.

Nothing is estimated here: each change is a changed profile, a changed case or a changed amount, for which the regimes and
the kernel are asked again. What the order did not change is kept, the duty in force on its day above all.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from taxcalc import places, terms
from taxcalc.days import day as to_day
from taxcalc.destination import made_up
from taxcalc.duties import CAUSE
from taxcalc.eu.consignment import over_import_limit
from taxcalc.explain.rows import rows_behind
from taxcalc.explain.words import place
from taxcalc.figures import line_figures
from taxcalc.spool import NUMBERS, Batch, Lines

if TYPE_CHECKING:
    from collections.abc import Iterator

    import numpy.typing as npt

    from taxcalc.assessment import Assessment
    from taxcalc.explain.found import Found
    from taxcalc.explain.rows import Used
    from taxcalc.facts import Facts
    from taxcalc.figures import LineFigures
    from taxcalc.regime import Cases
    from taxcalc.seller import Seller
    from taxcalc.terms import AllTerms

DOCUMENTS: Final = {
    "streamlined": "a Streamlined certificate",
    "multijurisdiction": "a multijurisdiction resale certificate",
    "state": "the state's own form",
    "vat_number": "a VAT number of yours",
}
TRANSPORT: Final = {"first": "the fulfiller's sale to you", "second": "your sale to the customer"}


@dataclass(frozen=True)
class Change:
    """One thing that is different, in words, and what the engine then says of the lines of the order.

    `terms` are the answers of the regimes, `first` the position of the case of the first line among their cases.
    """

    kind: str
    says: str
    figures: LineFigures
    terms: AllTerms
    first: int = 0

    def rows_of(self, at: int) -> list[Used]:
        """List the table rows behind a line after the change, of both sides of the chain."""
        sides = (self.terms.collect, self.terms.fulfiller)
        return [one for side in sides for one in rows_behind(side, self.first + at)]


@dataclass(frozen=True)
class Again:
    """An order that can be asked about again: one case a line, so that each line may be changed by itself."""

    assessment: Assessment
    found: Found

    @property
    def facts(self) -> Facts:
        """What the run rests on."""
        return self.assessment.run.facts

    @property
    def cases(self) -> Cases:
        """The case of each line."""
        return self.assessment.run.terms.cases.take(self.found.bucket.case.astype(np.intp))

    @property
    def on(self) -> Any:  # noqa: ANN401 - a date
        """The day of the first line, from long before which a supposed registration holds."""
        return to_day(int(self.found.bucket.lines["day"].min()))

    def run(
        self,
        kind: str,
        says: str,
        cases: Cases | None = None,
        seller: Seller | None = None,
        lines: Lines | None = None,
    ) -> Change:
        """Compute the order again with other cases, another profile, or other amounts."""
        facts = self.facts if seller is None else replace(self.facts, seller=seller)
        answer = terms.all_terms(self.cases if cases is None else cases, facts)
        bucket = replace(
            self.found.bucket,
            case=np.arange(self.found.size, dtype=np.int32),
            lines=self.found.bucket.lines if lines is None else lines,
        )
        figures = line_figures(bucket, answer, by_order=self.facts.seller.rounding == "order")
        return Change(kind, says, figures, answer)


def changes(assessment: Assessment, found: Found) -> list[Change]:
    """Try every change that fits the order."""
    again = Again(assessment, found)
    return [
        *_duties(again),
        *_documents(again),
        *_transport(again),
        *_sites(again),
        *_shipping(again),
        *_consignment(again),
    ]


def _duties(again: Again) -> Iterator[Change]:
    """Suppose a registration, the choice to be taxed on arrival, or that a limit had not been passed."""
    run, case = again.assessment.run, again.found.bucket.case
    reasons = run.terms.collect.reason[case]
    cases, seller = again.cases, again.facts.seller

    def with_state(where: npt.NDArray[np.bool_], cause: str) -> Cases:
        return replace(cases, state=np.where(where, CAUSE[cause], cases.state).astype(np.int8))

    free = reasons == "us_no_duty"
    if free.any():
        bound = seller
        codes = np.unique(cases.destination[free]).tolist()
        for code in codes:
            bound = made_up.registered(bound, places.code(code), again.on)
        says = f"If you had been registered in {' and '.join(place(code) for code in codes)}"
        yield again.run("registration", says, with_state(free, "registration"), bound)
    for reason, cause, says in (
        (
            "eu_under_limit",
            "election",
            "If you had chosen to be taxed on arrival, or had passed the Union-wide limit",
        ),
        (
            "eu_over_limit",
            "",
            "If the Union-wide limit had not been passed and you had not chosen to be taxed on arrival",
        ),
    ):
        where = reasons == reason
        if where.any():
            yield again.run("limit", says, with_state(where, cause))
    if np.isin(reasons, ("eu_import_without_ioss", "eu_import_over_150")).any():
        says = "If you had been registered for the import scheme (IOSS)"
        yield again.run("registration", says, seller=made_up.registered(seller, "EU", again.on, "ioss"))
    if (reasons == "eu_small_business").any():
        says = "If you had been registered in the usual way, not under the small-business scheme"
        yield again.run("registration", says, seller=made_up.out_of_small_business(seller, again.on))


def _documents(again: Again) -> Iterator[Change]:
    """Suppose that the fulfiller had a document, with the number that the seller has."""
    if not np.any(again.found.figures.fulfiller_tax["high"]):
        return
    codes = [places.code(code) for code in np.unique(again.cases.destination).tolist()]
    in_states = any(code.startswith("US-") for code in codes)
    for form, says in DOCUMENTS.items():
        if in_states == (form == "vat_number"):
            continue
        seller = again.facts.seller
        for code in codes:
            seller = made_up.with_document(seller, code, form, again.on)
        yield again.run("document", f"If the fulfiller had had {says}", seller=seller)


def _transport(again: Again) -> Iterator[Change]:
    """Suppose that the transport belonged to one of the two sales."""
    regimes = places.regimes()
    touched = (regimes[again.cases.destination] == places.EU) | (regimes[again.cases.ship_from] == places.EU)
    if not touched.any():
        return
    for supply, says in TRANSPORT.items():
        mine = tuple(replace(one, transport_supply=supply) for one in again.facts.seller.fulfillers)
        seller = replace(again.facts.seller, fulfillers=mine)
        yield again.run("transport", f"If the transport belonged to {says}", seller=seller)


def _sites(again: Again) -> Iterator[Change]:
    """Suppose that the parcel had been sent from another site of its fulfiller."""
    bucket, facts = again.found.bucket, again.facts
    for code in range(len(facts.fulfillers)):
        for site in facts.fulfiller(code).ship_from:
            number = places.index(site) if site in places.codes() else -1
            moved = (bucket.settled.fulfiller == code) & (bucket.settled.ship_from != number)
            if number < 0 or not moved.any():
                continue
            ship_from = np.where(moved, number, bucket.settled.ship_from).astype(np.int16)
            yield again.run("site", f"If it had been sent from {place(number)}", _from(again, ship_from))


def _from(again: Again, ship_from: npt.NDArray[np.int16]) -> Cases:
    """Give the cases of lines that start elsewhere: their consignment is weighed and their duty is looked up again."""
    bucket, run = again.found.bucket, again.assessment.run
    settled = replace(bucket.settled, ship_from=ship_from)
    over = over_import_limit(bucket.lines, settled, bucket.order, again.facts)
    none = np.zeros(again.found.size, np.int8)
    cases = replace(again.cases, ship_from=ship_from, over_limit=over, state=none)
    limit_place = terms.placed(cases, again.facts).limit_place
    lines = bucket.lines
    state = run.duties.state(limit_place, settled.duty_day, lines["second"], lines.order_id, settled.rule_day)
    return replace(cases, state=state.astype(np.int8))


def _shipping(again: Again) -> Iterator[Change]:
    """Suppose that customers could avoid the charge, or that shipping were part of the price."""
    lines, seller = again.found.bucket.lines, again.facts.seller
    if not lines["shipping_amount"].any():
        return
    offered = not seller.pickup_offered
    says = f"If customers could {'' if offered else 'not '}avoid the shipping charge (pick-up offered)"
    yield again.run("pickup", says, seller=replace(seller, pickup_offered=offered))
    price = lines["item_amount"] + lines["shipping_amount"]
    within = with_columns(lines, item_amount=price, shipping_amount=np.zeros_like(price))
    says = "If shipping had been part of the price instead of a charge of its own"
    yield again.run("shipping", says, lines=within)


def _consignment(again: Again) -> Iterator[Change]:
    """Suppose that a consignment had not passed the limit of the import scheme."""
    if again.cases.over_limit.any():
        cases = replace(again.cases, over_limit=np.zeros(again.found.size, np.bool_))
        says = "If the consignment had not passed the limit of the import scheme"
        yield again.run("consignment", says, cases)


def with_columns(lines: Lines, **columns: npt.NDArray[Any]) -> Lines:
    """Give the lines with some columns replaced."""
    numbers = {name: columns.get(name, lines[name]) for name in NUMBERS}
    return Lines([Batch(lines.size, lines.order_id, lines.line_id, dict(numbers))])
