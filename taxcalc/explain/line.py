"""One line of an order with everything that its steps look at, and the steps themselves as plain data."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from taxcalc.charges import in_line_currency
from taxcalc.columns import Entry
from taxcalc.explain import words
from taxcalc.explain.rows import Ledger, name_of, rows_behind

if TYPE_CHECKING:
    import numpy as np

    from taxcalc.assessment import Assessment
    from taxcalc.explain.exact import Side, Worked
    from taxcalc.explain.found import Found
    from taxcalc.explain.rows import Used
    from taxcalc.kernel import Rules
    from taxcalc.terms import AllTerms, Terms


@dataclass
class Step:
    """One step of the explanation: a topic, sentences, and the ids of the table rows that it rests on."""

    topic: str
    says: list[str] = field(default_factory=list)
    rows: list[str] = field(default_factory=list)

    def shown(self) -> dict[str, Any]:
        """Write it as plain data."""
        return {"topic": self.topic, "says": self.says, "rows": self.rows}


@dataclass(frozen=True)
class OneLine:
    """One line: the order it stands in, its position there, and what was worked out for the order."""

    assessment: Assessment
    found: Found
    at: int
    sale: Side
    purchase: Side
    ledger: Ledger

    def __getitem__(self, column: str) -> int:
        """Give a column of the line as a number."""
        return int(self.found.bucket.lines[column][self.at])

    @property
    def terms(self) -> AllTerms:
        """The terms of all cases of the run."""
        return self.assessment.run.terms

    @property
    def case(self) -> int:
        """The case of the line."""
        return int(self.found.bucket.case[self.at])

    @property
    def is_refund(self) -> bool:
        """Whether the line gives something back."""
        return self["entry"] == Entry.REFUND

    @property
    def matched(self) -> bool:
        """Whether it is a refund whose sale is in the files."""
        return self.at in self.found.bucket.refunds.lines

    @property
    def currency(self) -> str:
        """Currency of what the customer was charged."""
        return words.currency_of(self["currency"])

    @property
    def fulfiller_currency(self) -> str:
        """Currency of what the fulfiller charged."""
        return words.currency_of(self["fulfiller_currency"])

    def money(self, minor: int) -> str:
        """Write an amount in the currency of the line."""
        return words.amount(minor, self.currency)

    def of_case(self, values: np.ndarray[Any, Any]) -> Any:  # noqa: ANN401 - one element of whatever the array holds
        """Give what an array with one entry a case says of this line's case."""
        return values[self.case]

    def of_settled(self, name: str) -> int:
        """Give what the profile settled for the line."""
        return int(getattr(self.found.bucket.settled, name)[self.at])

    def rules(self, terms: Terms, end: str) -> Rules:
        """Give the rules of the line at one end, item prices in the currency of its amounts."""
        bucket = self.found.bucket
        one = [self.at]
        name = "currency" if terms is self.terms.collect else "fulfiller_currency"
        return in_line_currency(
            terms, terms.rules[end], bucket.case[one], bucket.lines[name][one], bucket.lines["day"][one]
        )

    def used(self, terms: Terms, *tables: str) -> list[Used]:
        """List the rows of some tables that one side of the line rests on; of all tables where none is named."""
        return [one for one in rows_behind(terms, self.case) if not tables or name_of(one[0]) in tables]

    def worked(self, end: str = "expected") -> Worked:
        """Give the arithmetic of the seller's side at one end."""
        return self.sale[end][self.at]
