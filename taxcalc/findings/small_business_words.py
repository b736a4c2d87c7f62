"""The findings on the small-business scheme in words, and what passing one of its limits brings about."""

from __future__ import annotations

from typing import Final

SMALL_KINDS: Final[dict[str, tuple[int, str]]] = {
    "small_crossed": (
        1,
        (
            "The limit of {limit} of the small-business scheme was passed{when}. An exemption{where} is over: VAT may have been "
            "due since {since}. Talk to a professional about registering and about the sales since then."
        ),
    ),
    "small_crossed_ahead": (
        1,
        (
            "The limit of {limit} of the small-business scheme was passed{when}. An exemption{where} ends on {before}; VAT may "
            "be due from {since} on. Register in time."
        ),
    ),
    "small_refused": (2, "Your profile names the small-business scheme here, but it was not used. {why}"),
    "small_near": (
        2,
        "You are near the limit of {limit} of the small-business scheme ({share} % used). {effect}",
    ),
    "small_oss": (
        2,
        (
            "Your profile names the small-business scheme at home and the Union one-stop shop together. The exemption covers "
            "only sales that are taxed in your home state; the one-stop shop is for sellers with a VAT number, and what is taxed "
            "on arrival is not exempt. Ask a professional whether both can stand side by side."
        ),
    ),
    "small_ioss": (
        2,
        (
            "Your profile names the small-business scheme and the import one-stop shop together. Since {since} a seller has to "
            "leave one to use the other. Imports are outside the small-business scheme in any case."
        ),
    ),
    "small_possible": (
        2,
        (
            "Your profile names no VAT registration at home. Sellers with a turnover there of up to {limit} a year may be exempt "
            "as small businesses without an application, so tax on sales within it, of the period or earlier, may not be due: it "
            "is in the expected figures, and the low ones are without it. Say which it is: [[registration]] with this place, and "
            'with scheme = "small_business" if you use the scheme. The amount is that of the period.'
        ),
    ),
    "small_on_request": (
        3,
        (
            "Your profile names no VAT registration at home. Sellers with a turnover there of up to {limit} a year can be exempt "
            "as small businesses, but only on application. None is named, so VAT is computed."
        ),
    ),
    "small_watch": (3, "{share} % of the limit of {limit} of the small-business scheme is used. {effect}"),
    "small_no_input_vat": (
        3,
        (
            "While you are exempt as a small business, VAT that your fulfiller charges you is a cost: it cannot be claimed back. "
            "The amount is what it may have charged on exempt sales in the period."
        ),
    ),
}
"""Urgency and words by kind, in the order of showing, as in `taxcalc.findings.finding`."""

UNION_EFFECT: Final = (
    "From the sale that passes it on you would have to charge VAT in every member state but your own where you use the "
    "scheme."
)
UNKNOWN_EFFECT: Final = (
    "If it is passed, you have to register. No row held here says from which sale VAT is then due: it would be taken as "
    "due from the sale that passes the limit."
)
EFFECT: Final = {
    "from_the_sale": "From the sale that passes it on you would have to charge VAT.",
    "from_the_day": "From the day on which it is passed you would have to charge VAT, on all sales of that day.",
    "from_the_next_day": "From the day after it is passed you would have to charge VAT.",
    "from_next_month": "From the month after it is passed you would have to charge VAT.",
    "from_january": "If it is passed, you would have to charge VAT from January of the next year on.",
    "no_effect": "Passing it does nothing by itself; the upper limit of the year decides.",
}
"""What passing a limit brings about, by the word of eu/small_business_rules."""

WHY_REFUSED: Final = {
    "outside": "It is for sellers established in the Union; an establishment there beside a home outside is not enough, and "
    "Northern Ireland is closed.",
    "no_scheme": "No such scheme is held for this place: VAT is due from the first sale.",
    "standard": "The profile names a standard registration here for the same days, and that one was taken. Give one of the "
    "two an end with `until`.",
    "too_early": "The scheme for sellers of other member states had not begun on all days that the profile names.",
    "not_open": "The state was not open to sellers of other member states on all days that the profile names.",
    "identified_elsewhere": "The exempt number (EX) of the scheme in other member states is given by the home state only; "
    "`identified_in` names another one.",
}
"""Why a registration of the scheme has no effect, by the reasons of `taxcalc.eu.small_business.refusal`."""
