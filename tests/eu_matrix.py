"""A picture of the rules of the Union: who sells, where goods leave and arrive, and who buys, as a table of text.

`python tests/eu_matrix.py` writes `tests/pictures/eu_matrix.txt` again; `test_eu_matrix.py` compares the two. The
picture shows that something moved, never that it is right: results of published papers stand in `tests/papers/`.
"""

from __future__ import annotations

import sys
import textwrap
from datetime import date
from itertools import product
from pathlib import Path
from typing import TYPE_CHECKING, Any

from shop import answers, certificate, fulfiller, orders, registered, seller, union_seller

from taxcalc import assess, places
from taxcalc.caution import CAUTION
from taxcalc.tables.load import load_tables
from taxcalc.terms import REGIMES

if TYPE_CHECKING:
    from collections.abc import Iterator

    from taxcalc import Assessment

PICTURE = Path(__file__).parent / "pictures" / "eu_matrix.txt"
COMMAND = "python tests/eu_matrix.py"
SOLD, AS_OF, SINCE = date(2026, 5, 4), date(2026, 5, 10), date(2024, 1, 1)
LATER = date(2026, 7, 20)
"""A day on which the quarter of the sale is over, so that what becomes of its tax can be said."""


def numbers(*states: str) -> list[dict[str, Any]]:
    """Standard registrations."""
    return registered(*states, since=SINCE)


def scheme(name: str, state: str) -> list[dict[str, Any]]:
    """A registration in a scheme of the whole Union."""
    return registered("EU", since=SINCE, scheme=name, identified_in=state)


def small(*states: str, **more: Any) -> list[dict[str, Any]]:  # noqa: ANN401 - values of a profile
    """Registrations of the small-business scheme."""
    return registered(*states, since=SINCE, scheme="small_business", **more)


SITES = {"fulfiller": [fulfiller(ship_from=["DE", "PL", "US-IN", "ES-CN"])]}
AT_DESTINATION = {"election": [{"name": "eu_tax_at_destination", "from": SINCE}]}
SELLERS: dict[str, dict[str, Any]] = {
    "in Germany alone": union_seller("DE", registration=numbers("DE"), **SITES),
    "in Germany alone, taxed on arrival by choice, Union one-stop shop": union_seller(
        "DE", registration=[*numbers("DE"), *scheme("union_oss", "DE")], **AT_DESTINATION, **SITES
    ),
    "in Germany and France": union_seller(
        "DE", established_in=["DE", "FR"], registration=numbers("DE", "FR"), **SITES
    ),
    "in Germany alone, exempt there as a small business": union_seller(
        "DE", registration=small("DE"), **SITES
    ),
    "in Germany alone, exempt as a small business there, in France and in Poland": union_seller(
        "DE", registration=[*small("DE"), *small("FR", "PL", identified_in="DE")], **SITES
    ),
    "in Germany alone, without any registration": union_seller("DE", **SITES),
    "outside the Union": seller(**SITES),
    "outside the Union, number of Poland, Union one-stop shop": seller(
        registration=[*numbers("PL"), *scheme("union_oss", "PL")], **SITES
    ),
    "outside the Union, import one-stop shop": seller(registration=scheme("ioss", "NL"), **SITES),
}
SMALL = {who for who in SELLERS if "exempt" in who or "without any" in who}
FROM = ("DE", "PL", "US-IN", "ES-CN")
TO = ("DE", "FR", "PL", "PT 9000-001", "ES 35001", "XI", "NO")
"""Madeira and the Canary Islands by postal code; Northern Ireland; a country outside."""

EXEMPTION = (("DE", "PL"), ("DE", "FR", "PL", "NO"), ("consumer", "business of FR", "by a marketplace"))
"""From, to and buyers that the small-business scheme is about: other lines are those of the sellers above."""

BUYERS: dict[str, dict[str, str]] = {
    "consumer": {},
    "business of FR": {"buyer_tax_number": "FR40303265045"},
    "business of PL": {"buyer_tax_number": "PL8567346215"},
    "false number": {"buyer_tax_number": "FR40303265046"},
    "by a marketplace": {"channel": "marketplace", "marketplace": "bazaar"},
}
"""Numbers of the published form, one with a wrong check digit."""


def in_chain(supply: str, *numbers_given: str, **more: Any) -> dict[str, Any]:  # noqa: ANN401 - values of a profile
    """Numbers that the fulfiller has, and to which sale the transport belongs."""
    papers = [certificate("EU", "vat_number", state, SINCE) for state in numbers_given]
    site = fulfiller(ship_from=["DE", "PL"], transport_supply=supply, **more)
    return {"certificate": papers, "fulfiller": [site]}


SMALL = registered("NL", since=SINCE, scheme="small_business")
CHAIN: dict[str, dict[str, Any]] = {
    f"in Germany, its number given, transport with the sale: {supply}": union_seller(
        "DE", registration=numbers("DE"), **in_chain(supply, "DE")
    )
    for supply in ("unset", "first", "second")
}
CHAIN |= {
    "in Germany, registered in Poland too, both numbers given, transport with the second sale": union_seller(
        "DE", registration=numbers("DE", "PL"), **in_chain("second", "DE", "PL")
    ),
    "in Germany, no number given, transport with the first sale": union_seller(
        "DE", registration=numbers("DE"), **in_chain("first")
    ),
    "in the Netherlands, exempt small business, transport open": union_seller(
        "NL", registration=SMALL, **in_chain("unset")
    ),
    "in Ireland, registered in Poland, fulfiller collects in Germany alone": union_seller(
        "IE",
        registration=numbers("IE", "PL"),
        **in_chain("second", collects_in=[{"place": "DE", "from": SINCE}]),
    ),
    "outside the Union, number of the Netherlands given, transport with the first sale": seller(
        registration=numbers("NL"), **in_chain("first", "NL")
    ),
    "outside the Union, Union one-stop shop in Spain, transport with the second sale": seller(
        registration=[*numbers("ES"), *scheme("union_oss", "ES")], **in_chain("second")
    ),
}
CHAIN_FROM, CHAIN_TO = ("DE", "PL"), ("DE", "FR", "PL", "NO")

COLLECT = ("to_collect_low", "to_collect", "to_collect_high")
CHARGED = ("fulfiller_tax_low", "fulfiller_tax", "fulfiller_tax_high")
MADE_UP = (
    f"Made up: one item of 100.00 without VAT, sold and sent on {SOLD}, for which the fulfiller bills 40.00. It "
    "arranges the transport, and no supply is chosen to carry it; it holds no VAT number of the seller."
)
READING = (
    f"Amounts in euros: low, expected, high. Written by `{COMMAND}`. A line that changes is a rule that changed: read "
    "it against the article of the new answer before you write the picture again."
)


def assessed(profile: dict[str, Any]) -> dict[str, dict[str, Any]]:
    """Assess one order a place of dispatch, of arrival and a buyer, by the public call."""
    rows = _sold(FROM, TO, tuple(BUYERS))
    return dict(answers(assess(orders(rows), profile, as_of=AS_OF)).to_dict("index"))


def _sold(leave: tuple[str, ...], arrive: tuple[str, ...], buyers: tuple[str, ...]) -> list[dict[str, str]]:
    """Write one order a place of dispatch, of arrival and a buyer."""
    return [
        {
            "order_id": name(leaves, arrives, buyer),
            "to": arrives,
            "sent_from": leaves,
            "currency": "EUR",
            "tax_included": "no",
            "item_amount": "100.00",
            "fulfiller_item_cost": "40.00",
            "ordered_on": SOLD.isoformat(),
            **BUYERS[buyer],
        }
        for leaves in leave
        for arrives in arrive
        for buyer in buyers
    ]


def name(leaves: str, arrives: str, buyer: str) -> str:
    """Name an order by what it is about."""
    return f"{leaves:5} {arrives[:5]:5} {buyer}"


def picture() -> list[str]:
    """Give the lines of the picture."""
    return [
        "European Union: where a sale is taxed, what to collect, and what the fulfiller may charge",
        *textwrap.wrap(CAUTION, 118),
        "",
        *textwrap.wrap(MADE_UP, 118),
        *textwrap.wrap(READING, 118),
        "",
        _heads(),
        *(line for who, profile in SELLERS.items() for line in _of(who, profile)),
        "",
        "The chain: numbers given, whose the transport is, and what becomes of the fulfiller's VAT as things stood",
        "",
        _chain_heads(),
        *(line for who, profile in CHAIN.items() for line in _chain_of(who, profile)),
    ]


def _chain_heads() -> str:
    """Name the columns of the chain."""
    widths = {"from  to": 11, "own sale": 7, "why": 26, "fulfiller": 17, "why ": 29, "of": 2}
    return " | ".join([*(f"{title:{width}}" for title, width in widths.items()), "what becomes of it"])


def _chain_of(who: str, profile: dict[str, Any]) -> Iterator[str]:
    """Give the lines of one seller in the chain, consumers alone; each order is its only sale."""
    yield ""
    yield f"Seller {who}"
    tables = load_tables()
    for order in _sold(CHAIN_FROM, CHAIN_TO, ("consumer",)):
        found = assess(orders([order]), profile, tables=tables, as_of=LATER)
        (line,) = answers(found).to_dict("records")
        charge = " ".join(_euros(line[end]) for end in CHARGED)
        yield (
            f"{order['order_id'][:11]} | {line['place']:7} | {line['reason']:26} | {charge} | "
            f"{line['fulfiller_reason']:29} | {_what_becomes(found)}"
        )


def _what_becomes(found: Assessment) -> str:
    """Say whose tax the fulfiller's is, and what becomes of it."""
    terms = found.run.terms
    answer = REGIMES[int(terms.billed_by[0])].recovery(terms, found.sums.year["sold"], found.run.facts)
    exempt = "exempt; to be corrected if charged" if answer.on_file[0] else ""
    way = exempt or ("avoidable" if terms.avoidable[0] else answer.route[0])
    return f"{places.code(int(terms.billed_in[0])):2} | {way}"


def _heads() -> str:
    """Name the columns."""
    widths = {"from  to    buyer": 28, "taxed": 7, "duty": 20, "to collect": 17, "why": 26, "fulfiller": 17}
    return " | ".join([*(f"{title:{width}}" for title, width in widths.items()), "why"])


def _of(who: str, profile: dict[str, Any]) -> Iterator[str]:
    """Give the lines of one seller."""
    yield ""
    yield f"Seller {who}"
    shown = {name(*each) for each in product(*(EXEMPTION if who in SMALL else (FROM, TO, BUYERS)))}
    for order, line in assessed(profile).items():
        if order not in shown:
            continue
        tax, charge = (" ".join(_euros(line[end]) for end in ends) for ends in (COLLECT, CHARGED))
        yield (
            f"{order:28} | {line['place']:7} | {line['duty']:21}| {tax} | {line['reason']:26} | {charge} | "
            f"{line['fulfiller_reason']}"
        )


def _euros(cents: object) -> str:
    """Write cents as euros."""
    whole, part = divmod(int(str(cents)), 100)
    return f"{whole}.{part:02}".rjust(5)


def write() -> None:
    """Write the picture."""
    PICTURE.parent.mkdir(exist_ok=True)
    PICTURE.write_text("\n".join(picture()) + "\n", encoding="utf-8")
    sys.stderr.write(f"wrote {PICTURE.relative_to(PICTURE.parents[2])}\n")


if __name__ == "__main__":
    write()
