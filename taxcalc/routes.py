"""How tax of the fulfiller may come back, or why it does not, by route id. Regimes give ids; reports show the words."""

from __future__ import annotations

US_CREDIT = "us_credit"
LOCAL_RETURN = "local_return"
AFTER_REGISTERING = "after_registering"
BETWEEN_STATES = "refund_between_states"
FROM_OUTSIDE = "refund_from_outside"
MAY_BE_EXEMPT = "may_be_exempt"
SMALL_BUSINESS = "small_business"
OWN_USE = "own_use"
NO_DUTY = "no_duty"
TOO_LATE = "too_late"

ROUTES: dict[str, str] = {
    US_CREDIT: "as a credit on your own return, because you had to collect there",
    LOCAL_RETURN: "as input VAT on your VAT return there, with an invoice in order and for taxed sales",
    AFTER_REGISTERING: "only under a VAT registration there that covers the day of the purchase; whether a late one reaches back "
    "is for a professional. With taxed sales of your own there no refund procedure is open",
    BETWEEN_STATES: "by the refund procedure between member states, asked for through the portal of your own state, with "
    "an invoice in order, and only where the fulfiller's sale could not have been exempt",
    FROM_OUTSIDE: "by the refund procedure for businesses from outside the Union, only if that state grants it to businesses "
    "of your country (it may ask that your country does the same for its own) and asks for no more",
    MAY_BE_EXEMPT: "not by a refund: the fulfiller's sale could have been exempt with a VAT number of another member state, and "
    "such VAT is not given back",
    SMALL_BUSINESS: "not at all: under the small-business scheme the VAT you pay is a cost",
    OWN_USE: "not counted as coming back: goods that you ordered for yourself",
    NO_DUTY: "no way back is known as things stood",
    TOO_LATE: "no longer: the last day to ask is over",
}
"""Words that follow "it comes back"; a report says besides which amount and until when."""

COMES_BACK = (US_CREDIT, LOCAL_RETURN, AFTER_REGISTERING, BETWEEN_STATES, FROM_OUTSIDE)
"""Routes on which the tax may come back; on the others it is a final cost."""
