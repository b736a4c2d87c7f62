"""Indirect-tax exposure estimates for a shop whose goods are made to order and sent by an outside fulfiller.

`assess` reads an order history, a seller profile and the rate tables, and gives an `Assessment`: what should have been
collected against what was, what the fulfiller may charge, and where thresholds stand. Everything is an estimate: have a
licensed tax professional check every figure.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from taxcalc.assessment import Assessment
    from taxcalc.run import assess

__all__ = ["Assessment", "assess"]

_HOMES = {"assess": "taxcalc.run", "Assessment": "taxcalc.assessment"}


def __getattr__(name: str) -> Any:  # noqa: ANN401 - whatever the name stands for
    """Load the public names on first use, so that the command line answers quickly."""
    if name not in _HOMES:
        message = f"module 'taxcalc' has no attribute {name!r}"
        raise AttributeError(message)
    from importlib import import_module  # noqa: PLC0415 - on first use

    return getattr(import_module(_HOMES[name]), name)
