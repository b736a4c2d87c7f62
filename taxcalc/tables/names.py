"""Tables and places by the names a person types."""

from __future__ import annotations

import difflib
from typing import Final

from taxcalc import places
from taxcalc.tables.schema import BY_NAME

NEAREST: Final = 3


class UnknownNameError(LookupError):
    """A name that is none; its text says so and offers the nearest ones."""


def find_table(text: str) -> str:
    """Give the name of the table meant: `us/thresholds`, `US/Thresholds.csv`, or `state_rates` where one fits.

    Raises `UnknownNameError` for a name that is none, or that two tables have.
    """
    plain = text.strip().lower().replace("\\", "/").removesuffix(".csv").removeprefix("rate_tables/")
    plain = plain.replace("-", "_").replace(" ", "_")
    if plain in BY_NAME:
        return plain
    same = [name for name in BY_NAME if name.partition("/")[2] == plain]
    if len(same) == 1:
        return same[0]
    if same:
        message = f"'{text}' is a table in more than one folder. Write {' or '.join(same)}."
        raise UnknownNameError(message)
    raise UnknownNameError(_nearest("table", text, plain, _short_names(), "taxcalc tables list"))


def _short_names() -> dict[str, str]:
    """Every way to write the name of a table → the table."""
    return {each: name for name in BY_NAME for each in (name, name.partition("/")[2]) if each}


def find_place(text: str, table: str) -> str:
    """Give the code of the place meant: a code in any capitals, or its English name or another spelling.

    In a table of the United States `GA` and `Georgia` are the state, elsewhere Gabon and the country.
    Raises `UnknownNameError` for a name that is none.
    """
    plain = " ".join(text.split()).upper()
    states, countries = places.understood().states, places.understood().countries
    if table.startswith("us/"):
        found = states.get(plain) or (f"US-{plain}" if f"US-{plain}" in places.codes() else None)
        if found:
            return found
    if plain in places.codes():
        return plain
    found = countries.get(plain) or states.get(plain)
    if found:
        return found
    known = {places.name(code).upper(): code for code in places.codes()} | {
        code: code for code in places.codes()
    }
    raise UnknownNameError(_nearest("place", text, plain, known, "taxcalc tables show places"))


def _nearest(what: str, text: str, plain: str, known: dict[str, str], where: str) -> str:
    """Say that a name is none, and offer the nearest."""
    near = dict.fromkeys(known[each] for each in difflib.get_close_matches(plain, list(known), n=NEAREST))
    offered = f" The nearest: {', '.join(near)}." if near else ""
    return f"'{text}' is no {what}.{offered} `{where}` names all of them."
