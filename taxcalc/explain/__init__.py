"""Explaining figures: one order, line by line, or all lines behind a place; worked out again and held against the engine.

```
assessment ─► order (its lines alone) ─► steps: read · place · duty · base · rate · range · refund · collected · fulfiller
                    │                     └ ledger: every table row named, with its source
                    ├► exact (arithmetic again, in fractions) ─► check against the engine's figures
                    └► changes (the same lines through the engine, one thing different)
```
"""

from taxcalc.explain.answer import explain
from taxcalc.explain.place_lines import explain_place

__all__ = ["explain", "explain_place"]
