"""What was not collected, by quarter, with the range from low to high."""

from __future__ import annotations

from decimal import Decimal
from typing import TYPE_CHECKING, Any, Final

from taxcalc.days import quarter_days
from taxcalc.reports.layout import Column, FigureTable, figure_table, spread
from taxcalc.reports.pictures.picture import Picture
from taxcalc.reports.words import money, printable, several

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from taxcalc.reports.layout import Cell

Row = dict[str, Any]
READING: Final = (
    "Bars: expected; hatched: a quarter that is not over. Thin lines: from low to high; the sum of the highs is an outer "
    "bound. Added up over the places of the look-back; no place and no quarter pays for another."
)
MOST: Final = 16
"""Quarters that are drawn, the newest; the table has all."""


def quarters(record: dict[str, Any]) -> Picture | None:
    """Give the picture of the lack by quarter; None where nothing lacks."""
    rows = record.get("shortfall_by_quarter") or []
    if not rows:
        return None
    currency = record["currency"]
    ends = {row["quarter"]: quarter_days(row["quarter"])[1].isoformat() for row in rows}
    open_ones = {name for name, last in ends.items() if last > record["as_of"]}
    largest = max(rows, key=lambda row: Decimal(row["shortfall"]["expected"]))
    finding = (
        f"Most was not collected in {printable(largest['quarter'])}: "
        f"{money(largest['shortfall']['expected'], currency)} expected."
    )
    told = "; ".join(
        f"{printable(row['quarter'])} {money(row['shortfall']['expected'], currency)}" for row in rows
    )
    table = _table(rows, currency)
    return Picture(
        "quarters",
        "not collected, by quarter",
        finding,
        f"{finding} By quarter: {told}.",
        table,
        (rows[-MOST:], currency, open_ones),
        draw,
        READING,
    )


def _table(rows: list[Row], currency: str) -> FigureTable:
    """Hold the numbers that are drawn."""
    columns = (Column("Quarter"), Column("Places", number=True), Column("Not collected", number=True))
    cells: list[list[Cell]] = [
        [printable(row["quarter"]), str(row["places"]), spread(row["shortfall"], currency)] for row in rows
    ]
    return figure_table(columns, cells, rows[0]["caution"])


def draw(picture: Picture) -> Figure:
    """Draw one column a quarter."""
    from taxcalc.reports.pictures.sheet import INK, QUIET, WIDTH, Box, sheet  # noqa: PLC0415 - heavy

    rows, currency, open_ones = picture.data
    page = sheet(picture, 2.4, [picture.reading])
    axes = page.axes(Box(0.3, 0.45, WIDTH - 0.6, 1.9))
    axes.spines["left"].set_visible(False)
    axes.set_yticks([])
    top = max(int(Decimal(row["shortfall"]["high"])) for row in rows)
    for at, row in enumerate(rows):
        unfinished = row["quarter"] in open_ones
        low, middle, high = (int(Decimal(row["shortfall"][end])) for end in ("low", "expected", "high"))
        axes.bar(
            at,
            middle,
            0.62,
            color="#DCEAF7" if unfinished else "#3D7FB8",
            hatch="////" if unfinished else "",
            edgecolor=INK,
            linewidth=0.8,
        )
        axes.plot([at, at], [low, high], color=INK, linewidth=1.2)
        words = money(row["shortfall"]["expected"], currency)
        axes.text(at, max(middle, high) + top // 40, words, ha="center", va="bottom", size=7.5)
    axes.set_ylim(0, top * 23 // 20 + 1)
    axes.set_xlim(-0.6, max(len(rows), 4) - 0.4)
    names = [
        f"{row['quarter'][-2:]}\n{row['quarter'][:4]}{' so far' * (row['quarter'] in open_ones)}"
        for row in rows
    ]
    axes.set_xticks(range(len(rows)), names)
    axes.tick_params(length=0, labelsize=8, labelcolor=INK)
    places = several(max(row["places"] for row in rows), "place")
    axes.text(
        0, 1.02, f"Up to {places} a quarter, {currency}", transform=axes.transAxes, size=7.5, color=QUIET
    )
    return page.figure
