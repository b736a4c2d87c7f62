"""What only two columns, two tables or a wide look show: values that cannot be, and words that lead nowhere."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Final

from taxcalc import places
from taxcalc.columns import NO_DAY
from taxcalc.tables.read import fields_of
from taxcalc.tables.schema import NO_VALUE

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Sequence

    from taxcalc.tables.read import Cells

DAYS: Final = ("1900-01-01", "2100-12-31")
MOST: Final = {"count": 10**7, "amount": 10**12}
"""Far above every count of sales and every limit in minor units that a law sets."""

OF_A_STATE: Final = frozenset(
    {
        "state_percent",
        "average_percent",
        "highest_percent",
        "lowest_percent",
        "flat_percent",
        "local_percent",
    }
)
MOST_OF_A_STATE: Final = 150_000
"""Parts per million; no sales tax of a state or of its localities comes near, and 2.7 that lost its point passes it."""

SMALL: Final = 3_000  # parts per million; an average below it is as likely a fraction (0.0182 for 1.82)
_CODES_OF_PLACES: Final = frozenset({"postal_country", "treated_as"})
_REGION: Final = re.compile(r"[A-Z]{2}-[A-Z0-9]{1,3}", re.ASCII)

_CODES_OF_DIGITS: Final = {
    "numeric_code": re.compile(r"\d\d", re.ASCII),
    "county_codes": re.compile(r"\d{3}( \d{3})*", re.ASCII),
}

Counties = frozenset[tuple[str, str]]


def check_bounds(parts: Sequence[Cells], counties: Counties) -> None:
    """Add complaints to the cells of one table, shipped and own; `counties` are pairs of place and county."""
    for cells in parts:
        if not cells.rows:
            continue
        _bounds(cells)
        _last_days(cells)
        _places_in_texts(cells)
        _patterns(cells)
        _codes(cells)
        if "locality" in cells.text and counties:
            _localities(cells, counties)
        if "average_percent" in cells.text:
            _averages(cells, _small_places(each for each in parts if not each.own))


def _bounds(cells: Cells) -> None:
    """Complain about days, counts, amounts and rates of states that no law has."""
    for field in fields_of(cells.schema, own=cells.own):
        if field.kind == "day":
            _days(cells, field.name)
        elif field.kind in MOST:
            _up_to(cells, field.name, MOST[field.kind], "what any law sets")
        elif field.name in OF_A_STATE:
            _up_to(cells, field.name, MOST_OF_A_STATE, "15 percent")


def _days(cells: Cells, name: str) -> None:
    """Complain about days of another century."""
    least, most = DAYS
    for at, (text, value) in enumerate(zip(cells.text[name], cells.values[name], strict=True)):
        if value != NO_DAY and not least <= text <= most:
            cells.blame("E553", at, name, least=least, most=most)


def _up_to(cells: Cells, name: str, most: int, words: str) -> None:
    """Complain about numbers above a bound."""
    for at, value in enumerate(cells.values[name]):
        if isinstance(value, int) and value > most:
            cells.blame("E553", at, name, least="0", most=words)


def _last_days(cells: Cells) -> None:
    """Complain about a row that ends by itself before it begins."""
    name = cells.schema.last_day
    pairs = zip(cells.text["valid_from"], cells.text[name], strict=True) if name else ()
    for at, (first, last) in enumerate(pairs):
        if last and cells.values[name][at] != NO_DAY and last < first:
            cells.blame("E553", at, name, least=first, most=DAYS[1])


def _places_in_texts(cells: Cells) -> None:
    """Complain about codes of places that stand in a column of texts and are none."""
    known = set(places.codes())
    for name in _CODES_OF_PLACES & cells.text.keys():
        for at, text in enumerate(cells.text[name]):
            if text and text not in known:
                cells.blame("E525", at, name, because="")
    for at, text in enumerate(cells.text.get("region", ())):
        if text and not (_REGION.fullmatch(text) and text.startswith(f"{cells.text['place'][at]}-")):
            cells.blame(
                "E524", at, "region", because="blank, or a code of ISO 3166-2 in the place, such as CA-ON"
            )


def _patterns(cells: Cells) -> None:
    """Complain about patterns that match a part of a postal code, as a code without its zeros does."""
    for at, text in enumerate(cells.text.get("postal_pattern", ())):
        if text and not (text.startswith("^") and text.endswith("$")):
            cells.blame("E552", at, "postal_pattern")


def _codes(cells: Cells) -> None:
    """Complain about numeric codes of places that have lost their leading zeros."""
    for name, form in _CODES_OF_DIGITS.items():
        for at, text in enumerate(cells.text.get(name, ())):
            if text and not form.fullmatch(text):
                cells.blame("E550", at, name, because="is no code with all its digits")


def _localities(cells: Cells, counties: Counties) -> None:
    """Complain about counties that no ZIP code leads to: their row would never hold."""
    for at, pair in enumerate(zip(cells.text["place"], cells.text["locality"], strict=True)):
        if pair[1] and pair not in counties:
            cells.blame("E551", at, "locality", place=pair[0])


def _averages(cells: Cells, small: Collection[str]) -> None:
    """Complain about averages above the highest or below the lowest rate, and about likely fractions."""
    columns = (_numbers(cells, name) for name in ("average_percent", "highest_percent", "lowest_percent"))
    for at, rates in enumerate(zip(*columns, strict=True)):
        if NO_VALUE in rates:
            continue
        average, highest, lowest = rates
        if average > highest or lowest > highest or 0 <= average < lowest:
            cells.blame("E554", at, "average_percent")
        elif 0 < average < SMALL and cells.own and cells.text["place"][at] not in small:
            cells.blame("E539", at, "average_percent")


def _small_places(parts: Iterable[Cells]) -> set[str]:
    """Name the places whose average is tiny."""
    found: set[str] = set()
    for cells in parts:
        pairs = zip(cells.text["place"], _numbers(cells, "average_percent"), strict=True)
        found |= {place for place, value in pairs if 0 < value < SMALL}
    return found


def _numbers(cells: Cells, name: str) -> list[int]:
    """Give a column of whole numbers."""
    return [value if isinstance(value, int) else NO_VALUE for value in cells.values[name]]
