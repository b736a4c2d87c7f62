"""The page of a check of a destination: its answer on one page, the order drawn."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from taxcalc.messages import refuse
from taxcalc.reports.destination import TITLE, pieces
from taxcalc.reports.destination_order import ONE_ORDER
from taxcalc.reports.page.blocks import facts, pictured, sections
from taxcalc.reports.page.render import render
from taxcalc.reports.pictures import svg, waterfall
from taxcalc.reports.words import printable

if TYPE_CHECKING:
    from pathlib import Path

    from taxcalc.errors import Refusal


def destination_page(answer: dict[str, Any]) -> str:
    """Write the page of an answer; several places have their table and no picture."""
    found = sections(pieces(answer, whole=True), answer["caution"])
    if answer.get("place") is not None:
        drawn = waterfall(answer)
        (order,) = (section for section in found if section.title == ONE_ORDER)
        order.blocks[:0] = pictured([(drawn, svg(drawn))], ONE_ORDER, answer["caution"]).blocks
    return render(
        "destination.html",
        {
            "title": f"{answer['title']}: {TITLE}",
            "seller": printable(answer["seller"]["name"]),
            "facts": facts(pieces(answer)),
            "notes": answer["order"]["assumed"],
            "sections": found,
            "caution": answer["caution"],
            "program": {},
        },
    )


def write_page(text: str, path: Path) -> None:
    """Write a page into a new file, or nothing at all.

    Raises `Refusal`: E611 (there is a file of that name), E609 (cannot be written).
    """
    try:
        file = path.open("x", encoding="utf-8", newline="\n")
    except FileExistsError as error:
        raise refuse("E611", file=str(path)) from error
    except OSError as error:
        raise _not_written(path, error) from error
    try:
        with file:
            file.write(text)
    except OSError as error:
        path.unlink(missing_ok=True)
        raise _not_written(path, error) from error


def _not_written(path: Path, error: OSError) -> Refusal:
    """Say what the system refused."""
    return refuse("E609", file=str(path), detail=(error.strerror or str(error)).lower())
