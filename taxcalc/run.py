"""The assessment, start to end: orders are read while the rate tables and the rules are still being loaded."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING, Any

from taxcalc.asked import day_asked, period_asked
from taxcalc.exchange import quotes
from taxcalc.intake import read_orders
from taxcalc.seller import Seller, read_seller
from taxcalc.tables.load import Tables, load_tables

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import date

    from taxcalc.assessment import Assessment

NEEDED_LATER = ("taxcalc.passes", "taxcalc.record")
"""What comes after the orders are read. Loading it takes one processor, parsing files leaves one idle at first."""


def assess(
    orders: Any,  # noqa: ANN401 - a path, "-", a DataFrame, or several of them
    seller: Path | str | dict[str, Any] | Seller,
    tables: Path | str | Tables | None = None,
    columns: Path | str | None = None,
    as_of: date | str | None = None,
    period: str | tuple[date | str, date | str] | None = None,
    progress: Callable[[str], None] | None = None,
) -> Assessment:
    """Assess the indirect-tax exposure of a shop from its order history, its profile and the rate tables.

    `orders`: path, DataFrame with canonical columns (amounts as str or Decimal, int = whole major units; floats are
    refused), or a list of them. `seller`: path, dict of the profile's keys, or a profile that is read already.
    `tables`: folder of own rows, or loaded tables. `as_of`: day the review looks from, None for the day of the last order;
    lines after it are set aside.
    `period`: "2026-Q3" or (first, last) inclusive, None for the last quarter over before `as_of`. A day is a date or text
    such as "2026-09-30". `progress` is told what is being done.

    Raises `taxcalc.errors.Refusal` for input that cannot be used, E201 to E204 for a day or period that is none. The
    figures are an estimate and no advice; every output carries `taxcalc.caution.CAUTION`.
    """
    seen_from, about = day_asked(as_of), period_asked(period)
    tell = progress or (lambda _: None)
    profile = seller if isinstance(seller, Seller) else read_seller(seller)
    tell("reading orders")
    with ThreadPoolExecutor(1) as beside:
        loaded = beside.submit(_loaded, tables or profile.tables)
        beside.submit(_load_rest)
        try:
            intake = read_orders(
                orders,
                tables=loaded.result,
                columns=Path(columns) if columns else None,
                time_zone=profile.time_zone,
            )
        except BaseException:
            loaded.result()  # tables that cannot be used are named first
            raise
    from taxcalc.passes import Run  # noqa: PLC0415 - loaded beside the orders

    try:
        return Run(intake, loaded.result(), profile, seen_from, about, tell).assessment()
    except BaseException:
        intake.spool.close()
        raise


def _loaded(tables: Path | str | Tables | None) -> Tables:
    """Load the tables, unless that is done."""
    return tables if isinstance(tables, Tables) else load_tables(Path(tables) if tables else None)


def _load_rest() -> None:
    """Load the modules that come after the orders are read, and the published rates of the currency most used there."""
    for name in NEEDED_LATER:
        import_module(name)
    quotes("USD")
