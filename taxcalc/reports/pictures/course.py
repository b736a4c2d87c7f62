"""How the sales that count came up to each limit, week by week, with the outlook to the end of the window."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal
from typing import TYPE_CHECKING, Any, Final

from taxcalc.outlook import AHEAD_OF_ROLLING
from taxcalc.reports.layout import Column, FigureTable, figure_table
from taxcalc.reports.pictures.picture import Picture
from taxcalc.reports.review_limits import amount, has_outlook, measure
from taxcalc.reports.words import day, listed, month, place

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

Row = dict[str, Any]
ACROSS: Final = 3
NEW_LINE: Final = "\n"
A_YEAR: Final = 12
"""Months up to which every third is named."""
PANEL: Final = 1.9
"""Inches of one panel from top to top."""
READING: Final = (
    "Steps: what counted so far, at the end of each week. Line: the limit. Shaded: where the window may end, by "
    "what equally long runs of days of your own past brought (the middle eight of ten)."
)


def course(record: dict[str, Any]) -> Picture | None:
    """Give the picture of the limits that are watched, near or crossed; None where there is none."""
    followed = record.get("running_totals") or []
    if not followed:
        return None
    known = {_key(row): row for row in record["thresholds"]}
    rows = [{**known[_key(row)], **row} for row in followed]
    finding = _finding(rows)
    told = "; ".join(f"{_name(row)}: {_where(row)}" for row in rows)
    return Picture(
        "course",
        "sales on the way to a limit",
        finding,
        f"{finding} {told}.",
        _table(rows),
        rows,
        draw,
        READING,
    )


def _key(row: Row) -> tuple[str, str, str]:
    """Tell limits apart: a place may have several of one measure."""
    return row["place"], row["measure"], row["row_ids"]


def _name(row: Row) -> str:
    """Name a limit."""
    return f"{place(row)}, {measure(row)}"


def _finding(rows: list[Row]) -> str:
    """Say which limits were crossed and which may be, by the outlook."""
    crossed = [f"{place(row)} on {day(row['crossed_on'])}" for row in rows if row["crossed_on"]]
    may = [
        place(row)
        for row in rows
        if has_outlook(row) and _number(row["projected_p90"]) >= _number(row["limit"])
    ]
    parts = [
        f"{words} {listed(names, 2)}"
        for words, names in (("crossed:", crossed), ("may be crossed:", may))
        if names
    ]
    if parts:
        return f"Limits {'; '.join(parts)}."
    return "By the outlook no limit that is watched is reached by the end of its window."


def _number(value: object) -> Decimal:
    """Read an amount or a count."""
    return Decimal(str(value))


def _where(row: Row, apart: str = ", ") -> str:
    """Say where a limit stands and what the outlook is."""
    stands = f"{amount(row, 'value')} of {amount(row, 'limit')}"
    if not has_outlook(row):
        return stands
    return f"{stands}{apart}outlook {amount(row, 'projected_p10')} to {amount(row, 'projected_p90')}"


def _table(rows: list[Row]) -> FigureTable:
    """Hold the steps that are drawn."""
    columns = (Column("Limit"), Column("End of the week"), Column("Counted so far", number=True))
    cells = [
        [_name(row), day(step["on"]), amount({**row, "value": step["value"]}, "value")]
        for row in rows
        for step in row["steps"]
    ]
    return figure_table(columns, cells, rows[0]["caution"])


def draw(picture: Picture) -> Figure:
    """Draw one panel a limit."""
    from taxcalc.reports.pictures.sheet import WIDTH, Box, sheet  # noqa: PLC0415 - heavy

    rows: list[Row] = picture.data
    lines = -(-len(rows) // ACROSS)
    page = sheet(picture, lines * PANEL, [picture.reading])
    width = (WIDTH - 0.3) / ACROSS
    for at, row in enumerate(rows):
        line, column = divmod(at, ACROSS)
        box = Box(0.25 + column * width, (lines - line - 1) * PANEL + 0.28, width - 0.25, PANEL - 0.9)
        _panel(page.axes(box), row)
    return page.figure


def _panel(axes: Axes, row: Row) -> None:
    """Draw the steps, the limit and the outlook of one limit."""
    from taxcalc.reports.pictures.sheet import ACCENT, INK, QUIET  # noqa: PLC0415 - heavy

    begin, end = date.fromisoformat(row["window_start"]), date.fromisoformat(row["window_end"])
    steps = [(date.fromisoformat(step["on"]), _number(step["value"])) for step in row["steps"]]
    last, value = steps[-1]
    ahead = end if end > last else last + timedelta(days=AHEAD_OF_ROLLING if has_outlook(row) else 0)
    limit = _number(row["limit"])
    days = [begin.toordinal(), *(on.toordinal() for on, _ in steps)]
    axes.step(days, [0, *(int(total) for _, total in steps)], where="post", color="#12436D", linewidth=1.6)
    axes.axhline(int(limit), color=ACCENT, linewidth=1.4, linestyle="--")
    top = max(limit, value)
    if has_outlook(row):
        low, middle, high = (_number(row[f"projected_{end}"]) for end in ("p10", "p50", "p90"))
        span, start = [last.toordinal(), ahead.toordinal()], int(value)
        axes.fill_between(span, [start, int(low)], [start, int(high)], color="#8FBBE0", linewidth=0)
        axes.plot(span, [start, int(middle)], color="#12436D", linewidth=1, linestyle=":")
        top = max(top, high)
    axes.set_xlim(begin.toordinal(), max(ahead, end).toordinal())
    axes.set_ylim(0, int(top) * 6 // 5 + 1)
    axes.set_yticks([0, int(limit)], ["", ""])
    firsts = [d for d in map(date.fromordinal, range(begin.toordinal(), ahead.toordinal() + 1)) if d.day == 1]
    named = firsts[:: 3 if len(firsts) <= A_YEAR else 4]
    axes.set_xticks([d.toordinal() for d in named], [month(d.isoformat()) for d in named])
    axes.tick_params(labelsize=7)
    axes.text(
        begin.toordinal() + 4, int(limit), f"limit {amount(row, 'limit')}", va="bottom", size=7, color=ACCENT
    )
    axes.set_title(place(row), loc="left", size=8.5, weight="bold", pad=22, color=INK)
    about = f"{measure(row)}: {_where(row, NEW_LINE)}"
    axes.text(0, 1.04, about, transform=axes.transAxes, size=7, color=QUIET)
