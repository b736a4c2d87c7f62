"""A picture of which document each state takes: what the fulfiller's tax on a drop shipment rests on with each of them.

`python tests/us_documents.py` writes `tests/pictures/us_documents.txt` again; `test_us_pictures.py` compares the two. As
the other picture it shows that something moved, never that it is right.
"""

from __future__ import annotations

import sys
import textwrap
from datetime import date
from pathlib import Path
from typing import Any

from shop import answers, certificate, dropped, orders, registered, seller
from us_matrix import AS_OF, CHARGED, SOLD, STATES

from taxcalc import assess
from taxcalc.caution import CAUTION

PICTURE = Path(__file__).parent / "pictures" / "us_documents.txt"
COMMAND = "python tests/us_documents.py"
HOME = "US-WA"
HERE = [state for state in STATES if state != HOME]
"""States to which a shop of Washington State sells without being registered there."""


def papers(form: str, number_of: str | None = None) -> list[dict[str, Any]]:
    """Give a document of one form to every state; without an issuer its own number stands in it."""
    return [certificate(state, form, number_of or state, date(2026, 1, 1)) for state in HERE]


def sellers() -> dict[str, dict[str, Any]]:
    """Give the profiles of the columns, by head."""
    home = {"region": HOME, "registration": registered(HOME)}
    own = {"region": HOME, "registration": registered(HOME, *HERE)}
    from_day = [{"place": state, "kind": "premises", "from": date(2026, 1, 1)} for state in HERE]
    foreign = {"country": "CA", "region": None, "established_in": ["CA"]}
    return {
        "nothing": seller(**home),
        "state form, home number": seller(**home, certificate=papers("state", HOME)),
        "multistate, home number": seller(**home, certificate=papers("multijurisdiction", HOME)),
        "streamlined, home number": seller(**home, certificate=papers("streamlined", HOME)),
        "home number, but obliged": seller(**home, presence=from_day, certificate=papers("state", HOME)),
        "no state's number": seller(certificate=papers("state", "US-OR")),
        "number of Canada": seller(**foreign, certificate=papers("state", "CA")),
        "own number": seller(**own, certificate=papers("state")),
    }


def picture() -> list[str]:
    """Give the lines of the picture."""
    rows = [dropped(state, state, ordered_on=SOLD.isoformat()) for state in HERE]
    columns = sellers()
    found = {head: answers(assess(orders(rows), profile, as_of=AS_OF)) for head, profile in columns.items()}
    return [
        "United States: the fulfiller's tax on a drop shipment, by the document that it holds",
        *textwrap.wrap(CAUTION, 118),
        "",
        *textwrap.wrap(
            f"Made up: an order of 100.00 on {SOLD} for which a fulfiller in Indiana that collects everywhere bills 40.00, "
            "to a shop in Washington State, which is left out (no state's number: a shop in "
            "Oregon; number of Canada: in Canada). free: no tax; "
            "tax: charged; open: nothing to all of it, all expected; check: nothing expected, but the document "
            f"is to be checked or replaced. Written by `{COMMAND}`.",
            118,
        ),
        "",
        f"{'state':6} | " + " | ".join(f"{head:24}" for head in columns),
        *(
            f"{state:6} | " + " | ".join(f"{_word(found[head].loc[state]):24}" for head in columns).rstrip()
            for state in HERE
        ),
    ]


def _word(line: Any) -> str:  # noqa: ANN401 - a row of a frame
    """Say in a word what the fulfiller charges, and after it the reason."""
    low, expected, high = (int(line[end]) for end in CHARGED)
    word = "free" if high == 0 else "check" if expected == 0 else "open" if low == 0 else "tax"
    return f"{word}: {line.fulfiller_reason.removeprefix('us_fulfiller_')}"


def write() -> None:
    """Write the picture."""
    PICTURE.write_text("\n".join(picture()) + "\n", encoding="utf-8")
    sys.stderr.write(f"wrote {PICTURE.relative_to(PICTURE.parents[2])}\n")


if __name__ == "__main__":
    write()
