"""Sheets about what the seller says: documents, registrations, questions to answer, assumptions and their effect in money."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

from taxcalc.handoff.sheet import Head, Row, Sheet, amount

if TYPE_CHECKING:
    from taxcalc.handoff.effects import Effect
    from taxcalc.seller import Seller

Record = dict[str, Any]

QUESTIONS: Final = (
    (
        "Presence",
        "Where have you, family or staff worked, even for some days: trade fairs, markets, visits, remote staff? Since when?",
    ),
    (
        "Presence",
        "Do you rent, own or use any place, desk, locker or equipment outside your home state or country?",
    ),
    (
        "Own stock",
        "Do you own anything that lies at the fulfiller or elsewhere: blanks, packaging, returned goods, samples?",
    ),
    ("Events", "Did you sell at events, in person or through a friend? In which states or countries?"),
    (
        "Letters",
        "Has any tax authority written, called or sent a questionnaire? A contact can close the way to a disclosure.",
    ),
    (
        "Registrations",
        "Have you ever registered, filed or charged tax anywhere that the profile does not name?",
    ),
    (
        "Channels",
        "Is every channel in the files: marketplaces, in person, wholesale, gift cards, digital goods?",
    ),
    ("Before the files", "When did you begin to sell, and how much, before the first day of the files?"),
    (
        "Goods",
        "Are the kinds of goods right: children's sizes, printed books, costumes, headwear, digital goods?",
    ),
    (
        "Fulfiller",
        "Who contracts for the transport, and what do the fulfiller's terms say of title and of the importer of record?",
    ),
    (
        "Fulfiller",
        "In which states and countries does the fulfiller collect, since when, and what documents of yours does it hold?",
    ),
    ("Payments", "What has been paid over, where, for which periods? Attach the confirmations."),
    ("Exempt buyers", "Do you hold the document of every buyer that was not charged tax?"),
    (
        "Elections",
        "Were flat rates, the one-stop shop or the small-business scheme chosen, and from which day?",
    ),
)
"""What an adviser asks a seller before relying on such figures (common practice, no source)."""


def documents_given(record: Record, seller: Seller) -> Sheet:
    """Index of documents that the fulfiller has, by the profile."""
    heads = (
        Head("Works in"),
        Head("Form"),
        Head("Number issued by"),
        Head("Fulfiller"),
        Head("From", "day"),
        Head("Until", "day"),
        Head("Copy seen (initials)"),
        Head("Rests on"),
    )
    rows: list[Row] = [
        (
            one.place,
            one.form.replace("_", " "),
            one.number_of or "not said",
            one.fulfiller,
            one.from_day.isoformat(),
            one.until_day.isoformat() if one.until_day else None,
            "",
            "seller's statement",
        )
        for one in seller.certificates
    ]
    about = ("By the seller's profile. Numbers are left out; hold each against the copy.",)
    return Sheet(
        "N",
        "documents-given",
        "Index of documents given to fulfillers",
        about,
        heads,
        tuple(rows),
        record["caution"],
        record["currency"],
    )


def registrations(record: Record, seller: Seller) -> Sheet:
    """Index of registrations, presence, elections and payments, by the profile."""
    heads = (
        Head("What"),
        Head("Place"),
        Head("Kind"),
        Head("From", "day"),
        Head("Until", "day"),
        Head("Amount", "money"),
        Head("Proof seen (initials)"),
        Head("Rests on"),
    )

    def day(value: Any) -> str | None:  # noqa: ANN401 - a day or nothing
        return value.isoformat() if value else None

    said = "seller's statement"
    rows: list[Row] = [
        (
            "registration",
            r.place,
            r.scheme + (f", identified in {r.identified_in}" if r.identified_in else ""),
            day(r.from_day),
            day(r.until_day),
            None,
            "",
            said,
        )
        for r in seller.registrations
    ]
    rows += [
        ("presence", p.place, p.kind, day(p.from_day), day(p.until_day), None, "", said)
        for p in seller.presences
    ]
    rows += [
        ("election", e.place or "", e.name, day(e.from_day), day(e.until_day), None, "", said)
        for e in seller.elections
    ]
    rows += [
        ("paid over", p.place, "", day(p.from_day), day(p.until_day), amount(p.amount), "", said)
        for p in seller.remitted
    ]
    rows += [
        (
            "sales before the files",
            p.place,
            f"{p.transactions if p.transactions is not None else 'unknown number of'} sales",
            day(p.from_day),
            day(p.until_day),
            amount(p.amount),
            "",
            said,
        )
        for p in seller.prior_sales
    ]
    about = ("By the seller's profile.",)
    return Sheet(
        "O",
        "statements",
        "What the seller states",
        about,
        heads,
        tuple(rows),
        record["caution"],
        record["currency"],
    )


def questions(record: Record) -> Sheet:
    """Questions to the seller, with room for the answer."""
    heads = (Head("Topic"), Head("Question", "long"), Head("Answer", "long"), Head("Answered by, on"))
    rows: list[Row] = [(topic, words, "", "") for topic, words in QUESTIONS]
    about = (
        "Common practice, no source. None of these can be answered from an order file, and each can change the figures.",
    )
    return Sheet(
        "M",
        "questions",
        "Questions to the seller",
        about,
        heads,
        tuple(rows),
        record["caution"],
        record["currency"],
    )


def assumptions(record: Record, effects: list[Effect]) -> Sheet:
    """Assumptions and elections, with what the other choice would change in money."""
    heads = (
        Head("Assumption", "long"),
        Head("Other choice", "long"),
        Head("Should collect would change by", "money"),
        Head("Not collected since duty would change by", "money"),
        Head("Fulfiller may charge would change by", "money"),
        Head("Who decides"),
    )
    rows: list[Row] = [
        (one.assumed, one.other, one.to_collect, one.since_duty, one.fulfiller_tax, one.decides)
        for one in effects
    ]
    rows += [(words, "", None, None, None, "") for words in record["assumptions"]]
    rows += [(f"Outside: {words}", "", None, None, None, "") for words in record["outside"]]
    about = (
        "Each change is the whole review computed again with the other choice and nothing else changed (expected amounts).",
    )
    return Sheet(
        "L",
        "assumptions",
        "Assumptions and elections, with their effect",
        about,
        heads,
        tuple(rows),
        record["caution"],
        record["currency"],
    )
