"""`taxcalc destination`: what changes if you start selling to a place."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from taxcalc.cli import options
from taxcalc.cli.run import DONE, tell_written

if TYPE_CHECKING:
    from datetime import date

    from taxcalc.destination import Question
    from taxcalc.destination.runs import Shop

AMOUNTS = ("item_amount", "shipping_amount", "fulfiller_item_cost", "fulfiller_shipping_cost")


class Files(click.Option):
    """An option that takes every word up to the next option, so that `--orders *.csv` works."""

    def add_to_parser(self, parser: Any, ctx: click.Context) -> None:  # noqa: ANN401 - click's own type
        """Let the option swallow the words after its first value."""
        super().add_to_parser(parser, ctx)
        own = parser._long_opt[self.opts[0]]  # noqa: SLF001 - click has no other place for it
        first = own.process

        def process(value: str, state: Any) -> None:  # noqa: ANN401 - click's own type
            words = [value]
            while state.rargs and not state.rargs[0].startswith("-"):
                words.append(state.rargs.pop(0))
            for word in words:
                first(word, state)

        own.process = process


@click.command("destination")
@click.argument("place", nargs=-1, metavar="PLACE...")
@options.seller
@options.columns
@options.tables
@click.option(
    "--product-class", metavar="C", help="Kind of goods; default: what you sell most, else clothing."
)
@click.option("--item-amount", metavar="A", help="Price of the item, without shipping.")
@click.option("--currency", metavar="X", help="Currency of the amounts; default: that of the profile.")
@click.option("--shipping-amount", metavar="A", help="What you charge for shipping.")
@click.option("--fulfiller-item-cost", metavar="A", help="What the fulfiller asks for the goods.")
@click.option("--fulfiller-shipping-cost", metavar="A", help="What the fulfiller asks for shipping.")
@click.option(
    "--ship-from", multiple=True, metavar="P", help="Site it is sent from; may be given several times."
)
@click.option(
    "--monthly-orders", type=click.IntRange(1, 10_000), metavar="N", help="So many such orders a month."
)
@click.option("--orders", cls=Files, multiple=True, metavar="FILES...", help="Your order history.")
@click.option("--on", "day", type=options.Day(), metavar="DAY", help="Day of the check; default: today.")
@click.option("--all", "every", is_flag=True, help="Show every place of a group (US, EU), or of both.")
@click.option(
    "--sort", type=click.Choice(["left", "effort", "place"]), default="left", help="Order of a comparison."
)
@click.option("--registered", is_flag=True, help="What if you were registered there.")
@click.option(
    "--certificate",
    type=click.Choice(["state", "multijurisdiction", "streamlined", "vat_number"]),
    help="What if the fulfiller had this document.",
)
@click.option("--price", metavar="A", help="What if the item cost this.")
@click.option("--free-shipping", is_flag=True, help="What if shipping were built into the price.")
@click.option("--tax-included", is_flag=True, help="What if the price contained the tax.")
@click.option(
    "--keep-margin", metavar="PERCENT", help="Also find the price that leaves this share, such as 40."
)
@click.option(
    "--page", type=options.FOLDER, metavar="FILE", help="Also write the answer as a page, to print."
)
@options.as_json
def command(**asked: Any) -> int:  # noqa: ANN401 - one argument an option
    """Check a new place before you sell there.

    \b
    Example:
      taxcalc destination Texas --seller seller.toml --item-amount 24.50 --monthly-orders 40
    """  # noqa: D301 - \b is click's mark for lines that are not to be wrapped
    from taxcalc.destination import check  # noqa: PLC0415 - heavy
    from taxcalc.reports import destination  # noqa: PLC0415 - heavy

    shop = _shop(asked)
    codes = _codes(asked["place"], shop, every=asked["every"])
    if len(codes) > 1 and asked["monthly_orders"]:
        message = "--monthly-orders is only answered for one place. Name one, or leave it out."
        raise click.UsageError(message)
    if asked["certificate"]:
        _of_such_a_place(asked["certificate"], codes)
    found = check(_question(asked, shop), codes, shop).data
    if len(codes) > 1:
        found["compared"].sort(key=_ORDERS[asked["sort"]])
    if asked["page"]:
        from taxcalc.reports.page.destination import destination_page, write_page  # noqa: PLC0415 - heavy

        write_page(destination_page(found), asked["page"])
        tell_written(asked["page"])
    options.answer(
        found, lambda _width: destination.pieces(found, whole=asked["every"]), as_json=asked["as_json"]
    )
    return DONE


def _of_such_a_place(form: str, codes: list[str]) -> None:
    """Refuse a document that is none in any of the places, rather than show that it changes nothing."""
    from taxcalc import places  # noqa: PLC0415 - heavy

    wanted = places.EU if form == "vat_number" else places.US
    if not any(int(places.regimes()[places.index(code)]) == wanted for code in codes):
        where = "the European Union" if wanted == places.EU else "the United States"
        named = places.name(codes[0]) if len(codes) == 1 else "any of these places"
        message = f"--certificate {form} is a document for {where}, not for {named}."
        raise click.UsageError(message)


def _left(row: dict[str, Any]) -> tuple[bool, Decimal, str]:
    """Put what leaves most first, with what might be different, and what is left before a tax that is not known last."""
    one = row["what_if"]["after"] if row["what_if"] else row["now"]
    return not one["tax_known"], -Decimal(one["left"]["expected"]), row["place"]


_ORDERS = {
    "left": _left,
    "effort": lambda row: (row["effort"], *_left(row)),
    "place": lambda row: (row["place"], row["ship_from"]),
}


def _shop(asked: dict[str, Any]) -> Shop:
    """Read profile and tables."""
    from taxcalc.destination.runs import Shop  # noqa: PLC0415 - heavy
    from taxcalc.seller import read_seller  # noqa: PLC0415 - heavy
    from taxcalc.tables.load import load_tables  # noqa: PLC0415 - heavy

    seller = read_seller(asked["seller"])
    tables = load_tables(asked["tables"] or seller.tables)
    return Shop(seller, tables, tuple(Path(path) for path in asked["orders"]), asked["columns"])


def _codes(named: tuple[str, ...], shop: Shop, *, every: bool) -> list[str]:
    """Find the places meant; a group stands for its members, and --all without a name for all groups."""
    from taxcalc.destination.find import GROUPS, find, members  # noqa: PLC0415 - heavy
    from taxcalc.tables.names import UnknownNameError  # noqa: PLC0415 - heavy

    if not named and not every:
        message = "Name a place, such as Texas or FR, or a group: US, EU."
        raise click.UsageError(message)
    try:
        found = [find(text) for text in named] or list(GROUPS)
    except UnknownNameError as error:
        raise click.UsageError(str(error)) from error
    if shop.seller.country == "US":
        for text, code in zip(named, found, strict=False):
            _say_which(text, code)
    codes = [code for one in found for code in (members(one, shop.tables) if one in GROUPS else [one])]
    return list(dict.fromkeys(codes))


def _say_which(text: str, code: str) -> None:
    """Tell a seller in the United States that a code of two letters was read as a country where a state has it too."""
    from taxcalc import places  # noqa: PLC0415 - heavy

    state = f"US-{code}"
    if text.strip().upper() == code and state in places.codes():
        words = f"{code} is read as {places.name(code)}. For {places.name(state)} write {state}."
        click.echo(words, err=True)


def _question(asked: dict[str, Any], shop: Shop) -> Question:
    """Put together what is asked."""
    from taxcalc.columns import PRODUCT_CLASSES  # noqa: PLC0415 - heavy
    from taxcalc.destination import Question  # noqa: PLC0415 - heavy
    from taxcalc.destination.question import WhatIf  # noqa: PLC0415 - heavy
    from taxcalc.destination.usual import typical_order  # noqa: PLC0415 - heavy
    from taxcalc.money import CURRENCIES  # noqa: PLC0415 - heavy

    currency = (asked["currency"] or shop.seller.reporting_currency).upper()
    if currency not in CURRENCIES:
        message = f"'{asked['currency']}' is no currency code in use. Write it as USD."
        raise click.UsageError(message)
    kind = asked["product_class"]
    if kind is not None and kind not in PRODUCT_CLASSES:
        message = f"'{kind}' is no kind of goods. Use one of: {', '.join(PRODUCT_CLASSES)}."
        raise click.UsageError(message)
    on: date = asked["day"] or options.today()
    history = shop.assess([], on) if shop.history else None
    said = {name: asked[name] for name in AMOUNTS if asked[name] is not None}
    try:
        order = typical_order(said, kind, currency, history)
    except ValueError as error:
        raise _no_amount(f"--{error}".replace("_", "-"), asked[str(error)], currency) from error
    change = WhatIf(
        asked["registered"],
        asked["certificate"],
        _amount("--price", asked["price"], currency),
        asked["free_shipping"],
        asked["tax_included"],
    )
    sites = tuple(_site(text) for text in asked["ship_from"]) or ("",)
    return Question(order, on, sites, asked["monthly_orders"], change, _tenths(asked["keep_margin"]))


def _site(text: str) -> str:
    """Find a site."""
    from taxcalc.destination.find import GROUPS, find  # noqa: PLC0415 - heavy
    from taxcalc.tables.names import UnknownNameError  # noqa: PLC0415 - heavy

    try:
        found = find(text)
    except UnknownNameError as error:
        raise click.UsageError(str(error)) from error
    if found in GROUPS:
        message = f"'{text}' is no site: name a state or a country, such as US-IN or SK."
        raise click.UsageError(message)
    return found


def _amount(name: str, text: str | None, currency: str) -> int | None:
    """Read an amount that may be missing."""
    from taxcalc.destination.question import minor  # noqa: PLC0415 - heavy

    if text is None:
        return None
    try:
        return minor(text, currency)
    except ValueError as error:
        raise _no_amount(name, text, currency) from error


def _no_amount(name: str, text: str, currency: str) -> click.UsageError:
    """Say that an amount is none."""
    return click.UsageError(
        f"{name} '{text}' is no amount that one order can have in {currency}. Write it as a plain number such as 24.50."
    )


def _tenths(text: str | None) -> int | None:
    """Read a share in percent as tenths of a percent."""
    if text is None:
        return None
    whole, _, part = text.removesuffix("%").strip().partition(".")
    if not whole.isdecimal() or (part and not part.isdecimal()) or len(part) > 1 or int(whole) >= 100:  # noqa: PLR2004 - percent
        message = f"--keep-margin '{text}' is no share. Write it as 40 or 37.5, below 100."
        raise click.UsageError(message)
    return int(whole) * 10 + int(part or 0)
