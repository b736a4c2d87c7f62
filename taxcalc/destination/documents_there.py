"""Which document would stop the fulfiller's tax in a place, and what the seller needs first."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from taxcalc import places
from taxcalc.days import number
from taxcalc.lasting import lasting
from taxcalc.tables.schema import BASES
from taxcalc.us.asked_for import OWN_NUMBER, STATE, asked_for

if TYPE_CHECKING:
    from datetime import date

    from taxcalc.destination.waterfall import Waterfall

ACCEPTED = ("us_fulfiller_document", "us_fulfiller_replace_document", "eu_fulfiller_number")
COLUMNS = ("rule", "home_number", "multistate_form", "multistate_needs_own_number", "streamlined_form")


def documents(now: Waterfall, on: date) -> dict[str, Any] | None:
    """Say for a state which forms it takes, what they need, and how long they last; None where there is no such rule."""
    code = places.index(now.line.place)
    if places.regimes()[code] != places.US:
        return None
    facts, day = now.assessment.run.facts, number(on)
    bound = now.duty == "collect" and now.reason != "us_registered"
    asks = asked_for(code, day, obliged=bound, facts=facts)
    if asks is None:
        return None
    table, ends = facts.tables["us/resale_rules"], facts.tables["us/certificates"]
    lasts = lasting(ends, code, day)
    row = np.array([asks.row])
    named = {STATE, OWN_NUMBER} & set(asks.forms)
    return {
        "on_file": now.fulfiller_reason in ACCEPTED,
        "forms": list(asks.forms),
        "needs": asks.needs,
        "only_registering_helps": asks.strict,
        "document": str(table["preferred_document"][asks.row]) if named else "",
        "lasts": lasts.lasts,
        "expires_on": lasts.last_day.isoformat() if lasts.last_day else None,
        "days_to_obtain": lasts.days_to_obtain,
        "row": str(table.row_ids(row)[0]),
        "basis": BASES[int(table.basis(row, *COLUMNS)[0])],
    }
