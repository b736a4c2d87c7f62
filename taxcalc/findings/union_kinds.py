"""Kinds of findings about the Union's chain of two sales: what hangs on the transport, registrations, numbers, VAT."""

from __future__ import annotations

UNION_KINDS: dict[str, tuple[int, str]] = {
    "local_after_transport": (
        2,
        (
            "By your profile the transport belongs to the fulfiller's sale, so your own sale is a domestic sale of this state, "
            "which the one-stop shop does not cover: it needs a registration here, where you also account for the purchase and "
            "deduct it. That is a matter for a professional; the amount is the VAT of your own sales of the period here."
        ),
    ),
    "transport_open_own_sales": (
        2,
        (
            "Should the transport belong to the fulfiller's sale, your own sales would be domestic sales of this state, which "
            "the one-stop shop does not cover: a registration here would be needed. Expected is the other outcome. A matter for "
            "a professional; the amount is the VAT of these sales of the period, at the high end."
        ),
    ),
    "register_where_goods_leave": (
        2,
        (
            "Goods of yours leave from here for buyers in other member states. A seller from outside the Union uses the Union "
            "one-stop shop by registering in a member state from which its goods leave; the amount is the VAT to collect on "
            "these sales of the period."
        ),
    ),
    "exempt_sales_from_here": (
        2,
        (
            "Sales to businesses of other member states leave from here. To exempt them you need a VAT number of this state and "
            "list them in its recapitulative statement; the amount is the VAT that may be due without, at the high end."
        ),
    ),
    "fiscal_representative": (2, "{words}{doubt}"),
    "import_intermediary": (2, "{words}{doubt}"),
    "reverse_charge": (
        3,
        (
            "{law}: should your fulfiller {lacks}, it would charge no VAT on its local sales here and you would account for it "
            "instead (reverse charge). It is taken to be established where it makes the goods: ask it. The amount is its VAT of "
            "the period that this is about.{doubt}"
        ),
    ),
    "buyer_may_account": (
        2,
        (
            "{law}: on your sales inside this state to businesses with a VAT number of it the buyer may have to account for the "
            "VAT instead of you (reverse charge), because you are not established here. Expected is that you charge it; the low "
            "end is without. What the state asks of the buyer is for a professional; the amount is the VAT of these sales in "
            "the period.{doubt}"
        ),
    ),
    "digital_by_marketplace": (
        2,
        (
            "Digital goods sold to consumers through a marketplace: the marketplace is presumed to sell them itself and to owe "
            "the VAT, unless its terms and invoices name you as the supplier (Implementing Regulation 282/2011 art. 9a, from "
            "memory). Expected is that the VAT is yours; the low end is without. Look at the marketplace's terms; the amount is "
            "the VAT of these sales in the period."
        ),
    ),
    "vat_charged_on_exempt_sale": (
        2,
        (
            "The fulfiller charged this VAT although, by your profile, its sale was exempt (it had your VAT number of another "
            "member state, or it exported). VAT that is not due cannot be deducted: ask it for a corrected invoice. If the "
            "number was not valid or the proof is missing, the VAT was due."
        ),
    ),
    "vat_number_worth": (
        2,
        (
            "Giving your fulfiller a VAT number of a member state other than {states} would have saved this VAT in the last "
            "four quarters that were over. Needed first: {needs}. It moves your own sales to local registrations where the "
            "goods arrive; weigh both with a professional."
        ),
    ),
    "vat_after_registering": (
        2,
        (
            "This VAT of the fulfiller of the last four quarters that were over can only come back under a VAT registration of "
            "yours here; without one it is a cost. The section on its tax says more."
        ),
    ),
    "vat_of_small_business": (
        3,
        (
            "This VAT of the fulfiller of the last four quarters that were over is a cost: under the small-business scheme you "
            "deduct none."
        ),
    ),
    "vat_not_refunded": (
        3,
        (
            "This VAT of the fulfiller of the last four quarters that were over is not given back to a business of another "
            "member state, because the sale could have been exempt with a VAT number: give one."
        ),
    ),
    "vat_too_late": (
        3,
        "The last day to ask this state for this VAT of an earlier year is over; it stays a cost, as things stand.",
    ),
}
"""Urgency and words by kind, as in `taxcalc.findings.finding`."""
