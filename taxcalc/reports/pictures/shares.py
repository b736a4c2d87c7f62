"""How much of each limit is used, as bars with the limit marked."""

from __future__ import annotations

from decimal import Decimal
from typing import TYPE_CHECKING, Any, Final

from taxcalc.reports.layout import Column, FigureTable, figure_table
from taxcalc.reports.pictures.look import LIMITS
from taxcalc.reports.pictures.picture import Picture
from taxcalc.reports.review_limits import ORDER, amount, has_outlook, in_use, measure, outlook_share, spell
from taxcalc.reports.words import STATUS, listed, percent, place, printable, several

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

Row = dict[str, Any]
SHOWN: Final = 15
CUT: Final = 150
"""Percent of a limit at which a longer bar is cut."""
ROW: Final = 0.42
"""Inches of one bar with its labels."""


def shares(record: dict[str, Any]) -> Picture | None:
    """Give the picture of the limits of which at least a tenth is used; None where there is none."""
    used = [row for row in record["thresholds"] if row["status"] != "clear" or in_use(row)]
    used.sort(key=lambda row: (-_share(row), row["place"], row["measure"]))
    if not used:
        return None
    finding = _finding(used)
    rows = used[:SHOWN]
    told = "; ".join(f"{place(row)}, {measure(row)}: {percent(row['share'])}" for row in rows)
    left = len(record["thresholds"]) - len(rows)
    below = f"{several(left, 'more limit')} with smaller shares." if left else ""
    return Picture(
        "limits",
        "share of each limit",
        finding,
        f"{finding} Share of the limit used: {told}. {below}".strip(),
        _table(rows),
        {"rows": rows, "below": below},
        draw,
        "Each bar is the share used; the line at 100 % is the limit; the thin line with a dot is the outlook.",
    )


def _share(row: Row) -> Decimal:
    """Give the share of a limit in percent."""
    return Decimal(str(row["share"]))


def _finding(rows: list[Row]) -> str:
    """Say how many limits are crossed and near, or which one is used most."""
    parts = []
    named: set[str] = set()
    for status in ORDER[:3]:
        names = list(dict.fromkeys(place(row) for row in rows if row["status"] == status))
        new = [name for name in names if name not in named]
        if new:
            parts.append(f"{LIMITS[status].words}: {listed(new, 2)}")
        named.update(new)
    if parts:
        return f"Limits {'; '.join(parts)}."
    return f"No limit is near; the one used most is {place(rows[0])} with {percent(rows[0]['share'])}."


def _table(rows: list[Row]) -> FigureTable:
    """Hold the numbers that are drawn."""
    columns = (
        Column("Limit"), Column("Stands"), Column("Used", number=True), Column("Value", number=True),
        Column("Limit is", number=True), Column("Outlook, low to high", number=True),
    )  # fmt: skip
    cells = [
        [
            f"{place(row)}: {measure(row)}, {spell(row)}",
            STATUS.get(row["status"], printable(row["status"])),
            percent(row["share"]),
            amount(row, "value"),
            amount(row, "limit"),
            f"{amount(row, 'projected_p10')} to {amount(row, 'projected_p90')}" if has_outlook(row) else "",
        ]
        for row in rows
    ]
    return figure_table(columns, cells, rows[0]["caution"])


def draw(picture: Picture) -> Figure:
    """Draw one bar a limit."""
    from taxcalc.reports.pictures.sheet import ACCENT, Box, sheet  # noqa: PLC0415 - heavy

    rows: list[Row] = picture.data["rows"]
    height = ROW * len(rows) + 0.3
    page = sheet(picture, height, [words for words in (picture.reading, picture.data["below"]) if words])
    axes = page.axes(Box(2.5, 0.25, 3.8, height - 0.25))
    axes.set_xlim(0, CUT)
    axes.set_ylim(len(rows) - 0.4, -0.6)
    axes.set_yticks([])
    axes.set_xticks([0, 50, 100], ["0 %", "50 %", "limit"])
    axes.spines["left"].set_visible(False)
    axes.axvline(100, color=ACCENT, linewidth=1.5, zorder=3)
    for at, row in enumerate(rows):
        _bar(axes, at, row)
    return page.figure


def _bar(axes: Axes, at: int, row: Row) -> None:
    """Draw a bar with its outlook, its name on the left and its figures on the right."""
    from taxcalc.reports.pictures.sheet import INK, QUIET  # noqa: PLC0415 - heavy

    look, share = LIMITS[row["status"]], _share(row)
    shown = min(int(share), CUT)
    axes.barh(at, shown, 0.5, color=look.fill, edgecolor=INK, linewidth=0.8)
    if look.mark:
        axes.text(2, at, look.mark, va="center", color=look.text, weight="bold")
    ends = [outlook_share(row, end) for end in ("p10", "p50", "p90")]
    low, middle, high = (None if end is None else min(int(end), CUT) for end in ends)
    if low is not None and middle is not None and high is not None:
        axes.plot([low, high], [at, at], color=INK, linewidth=1.2, zorder=4)
        axes.plot([middle], [at], "o", color=INK, markersize=4, zorder=4)
    if share > CUT:
        axes.text(CUT - 2, at, "//", va="center", ha="right", color=look.text, weight="bold")
    axes.text(-3, at - 0.14, place(row), va="center", ha="right", weight="bold", size=8.5)
    about = f"{measure(row)}, {spell(row)}"
    axes.text(-3, at + 0.24, about, va="center", ha="right", color=QUIET, size=7.5)
    axes.text(CUT + 3, at - 0.14, f"{amount(row, 'value')} of {amount(row, 'limit')}", va="center", size=8.5)
    axes.text(
        CUT + 3, at + 0.24, f"{percent(row['share'])}, {look.words}", va="center", color=QUIET, size=7.5
    )
