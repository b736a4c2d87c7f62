"""Where the shop stands against each limit, with a bar that reads without colour."""

from __future__ import annotations

from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal
from typing import TYPE_CHECKING, Any, Final

from rich.text import Text

from taxcalc.reports.layout import STRONG, Column, figures, heading, paragraph, stacked
from taxcalc.reports.words import (
    LIMIT_OF,
    MEASURE,
    STATUS,
    count,
    day,
    legend,
    marked,
    money,
    percent,
    printable,
    several,
    window,
)

if TYPE_CHECKING:
    from taxcalc.reports.layout import Pieces

Row = dict[str, Any]
CELLS: Final = 20
"""Cells of a bar up to the limit; one is five percent."""
BEYOND: Final = 4
FEW: Final = Decimal(10)
"""Percent of a limit below which a place is only counted."""
ORDER: Final = ("crossed", "near", "watch", "clear")


def limits(record: dict[str, Any]) -> Pieces:
    """Show limits that are crossed, near, watched or at least a tenth used; count the others."""
    shown = [row for row in record["thresholds"] if row["status"] != "clear" or in_use(row)]
    return _limits(record, shown, f"less than {FEW} % used")


def in_short(record: dict[str, Any]) -> Pieces:
    """Show limits that are crossed, near or watched; count the others."""
    return _limits(record, [row for row in record["thresholds"] if row["status"] != "clear"], "clear")


def _limits(record: dict[str, Any], shown: list[Row], rest: str) -> Pieces:
    """Draw the limits that are shown, and say how the rest of them stands."""
    shown = sorted(shown, key=in_order)
    pieces = heading("Limits (thresholds)")
    left = len(record["thresholds"]) - len(shown)
    more = " more" if shown else ""
    below = (
        f"{several(left, f'{more} limit is'.strip(), f'{more} limits are'.strip())} {rest}." if left else ""
    )
    if not shown:
        caution = record["totals"]["caution"]
        return [*pieces, paragraph(below or "No limit applies to these sales."), paragraph(caution)]
    columns = [Column("Place"), Column("Where it stands"), Column("Used of the limit")]
    cells = [[_place(row), _standing(row), _value(row)] for row in shown]
    return [
        *pieces,
        paragraph(_legend(record)),
        *figures(columns, cells, shown[0]["caution"], below, gaps=True),
    ]


def in_use(row: Row) -> bool:
    """Tell whether at least a tenth of a limit is used."""
    return Decimal(str(row["share"])) >= FEW


def in_order(row: Row) -> tuple[int, Decimal, str, str]:
    """Put crossed limits first, then the largest share."""
    return ORDER.index(row["status"]), -Decimal(str(row["share"])), row["place"], row["measure"]


def _legend(record: dict[str, Any]) -> str:
    """Explain the bar."""
    return (
        "Bar: # used so far, ~ where it may stand at the end of the window (from your own past), "
        f"| the limit, > beyond it. One sign is 5 %. {legend(record)}"
    )


def bar(share: Decimal, outlook: Decimal | None = None) -> str:
    """Draw a share in percent: `########~~~.........|` and, past the limit, `####################|>>`.

    Rounded down, so that a bar is full only when the limit is reached.
    """
    used, beyond = _split(share)
    ahead, ahead_beyond = _split(outlook) if outlook is not None else (0, 0)
    inside = "#" * used + "~" * max(ahead - used, 0)
    outside = ">" * beyond + "~" * max(ahead_beyond - beyond, 0)
    return f"{inside:.<{CELLS}}|{outside}"


def _split(share: Decimal) -> tuple[int, int]:
    """Give the cells of a share up to the limit and beyond it, the second held to a few."""
    cells = share * CELLS / 100
    up_to = int(min(max(cells, Decimal(0)), Decimal(CELLS)).to_integral_value(ROUND_FLOOR))
    over = int(max(cells - CELLS, Decimal(0)).to_integral_value(ROUND_CEILING))
    return up_to, min(over, BEYOND)


def _place(row: Row) -> Text:
    """Write place, measure and window."""
    return stacked(marked(row), measure(row), spell(row))


def measure(row: Row) -> str:
    """Say what a limit counts."""
    return LIMIT_OF.get(row.get("kind", "")) or MEASURE.get(row["measure"], printable(row["measure"]))


def spell(row: Row) -> str:
    """Say over which days a limit counts."""
    begin, end = row.get("window_start"), row.get("window_end")
    return (window(begin, end) if end else f"since {day(begin)}") if begin else ""


def _standing(row: Row) -> Text:
    """Write the status word, the bar, and since when."""
    share = Decimal(str(row["share"]))
    drawn = bar(share, outlook_share(row))
    words = Text.assemble(
        (STATUS.get(row["status"], printable(row["status"])), STRONG), f" {percent(share)}\n{drawn}"
    )
    for line in crossed_and_duty(row):
        words.append(f"\n{line}")
    return words


def outlook_share(row: Row, end: str = "p50") -> Decimal | None:
    """Give the middle of the outlook, or another end of it, as a share of the limit in percent."""
    limit = Decimal(str(row["limit"]))
    return Decimal(str(row[f"projected_{end}"])) * 100 / limit if has_outlook(row) and limit else None


def has_outlook(row: Row) -> bool:
    """Tell whether an outlook is shown; once the limit is crossed it answers nothing."""
    return row["status"] != "crossed" and row.get("projected_p10") is not None


def crossed_and_duty(row: Row) -> list[str]:
    """Say when the limit was crossed, by which order, and the duty that follows."""
    if not row.get("crossed_on"):
        return []
    order = f", order {printable(row['crossed_by'])}" if row.get("crossed_by") else ""
    lines = [f"crossed {day(row['crossed_on'])}{order}"]
    if row.get("duty_from"):
        until = f" until {day(row['duty_until'])}" if row.get("duty_until") else ""
        lines.append(f"duty from {day(row['duty_from'])}{until}")
    return lines


def _value(row: Row) -> Text:
    """Write value and limit, the outlook, and what weakens the figure."""
    lines = [f"{amount(row, 'value')} of {amount(row, 'limit')}"]
    if has_outlook(row):
        low, middle, high = (amount(row, f"projected_{part}") for part in ("p10", "p50", "p90"))
        lines.append(f"may reach {middle} ({low} to {high})")
    if row.get("incomplete"):
        lines.append("at least: sales before your files are not known")
    return Text("\n".join(lines))


def amount(row: Row, name: str) -> str:
    """Write a value of the row as money or as a count."""
    if row["measure"] == "transactions":
        return count(int(row[name]))
    return money(str(row[name]), row["currency"])
