"""Checking a new destination: an assessment of made-up orders, so that its figures are those of a later review.

```
question (typical order, day, sites, what if) ─► made-up lines ─┐
seller profile (as it is, and with a duty there) ───────────────┼─► assess ─► waterfall
order history, if given ────────────────────────────────────────┘           duty · documents · effect on the shop
```
"""

from taxcalc.destination.answer import Checked, check
from taxcalc.destination.question import Question, TypicalOrder

__all__ = ["Checked", "Question", "TypicalOrder", "check"]
