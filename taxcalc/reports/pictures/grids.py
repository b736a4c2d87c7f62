"""The states and the member states as grids of tiles, coloured and marked by how each stands."""

from __future__ import annotations

from decimal import Decimal
from typing import TYPE_CHECKING, Any, Final

from taxcalc.reports.layout import Column, FigureTable, figure_table, spread
from taxcalc.reports.pictures.look import PLACES, Look
from taxcalc.reports.pictures.picture import Picture
from taxcalc.reports.pictures.tiles import STATES, UNION
from taxcalc.reports.words import listed, money, percent, place, several, whole_money

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from taxcalc.reports.layout import Cell

Row = dict[str, Any]
TILE: Final = 0.52
"""Inches of a tile and the gap after it."""
SHORT: Final = 4
"""Signs of a code that fit into a tile in the usual size."""
_WORST: Final = ("crossed", "near", "watch", "clear")


def states(record: dict[str, Any]) -> Picture | None:
    """Give the grid of the United States; None where nothing was sold there."""
    return _grid(record, "states", "us", STATES, "in the United States")


def union(record: dict[str, Any]) -> Picture | None:
    """Give the grid of the member states; None where nothing was sold there."""
    return _grid(record, "union", "eu", UNION, "in the VAT of the European Union")


def _grid(
    record: dict[str, Any], name: str, regime: str, spots: dict[str, tuple[int, int]], what: str
) -> Picture | None:
    """Give one grid; places of the regime without a tile follow in a strip."""
    mine = {row["place"]: row for row in record["places"] if row["regime"] == regime}
    if not mine:
        return None
    limits = _limits(record)
    stands = {code: _status(mine.get(code), limits.get(code)) for code in (*spots, *mine)}
    currency = record["currency"]
    finding = _finding(mine, stands, what, currency)
    groups = [
        (look.words, [place(mine[code]) for code in stands if stands[code] == key and code in mine])
        for key, look in PLACES.items()
    ]
    told = "; ".join(f"{words}: {', '.join(names)}" for words, names in groups if names)
    data = {
        "spots": spots,
        "strip": sorted(code for code in mine if code not in spots),
        "stands": stands,
        "second": {code: _second(row, limits.get(code), currency) for code, row in mine.items()},
    }
    reading = (
        "Second line of a tile: tax not collected since the duty began, in whole amounts; without one, the share of the "
        "limit that is used."
    )
    return Picture(
        name,
        f"places {what}",
        finding,
        f"{finding} {told}.",
        _table(mine, stands, limits, record),
        data,
        draw,
        f"{reading} {currency}.",
    )


def _limits(record: dict[str, Any]) -> dict[str, Row]:
    """Give for each place the limit that stands worst."""
    found: dict[str, Row] = {}
    for row in sorted(
        record["thresholds"], key=lambda row: (_WORST.index(row["status"]), -Decimal(str(row["share"])))
    ):
        found.setdefault(row["place"], row)
    return found


def _lack(row: Row) -> Decimal:
    """Give what was not collected since the duty began."""
    return Decimal((row.get("since_duty") or {}).get("shortfall", {}).get("expected", "0"))


def _status(row: Row | None, limit: Row | None) -> str:
    """Find the first that is true of a place."""
    if row is None or not (row["orders"] or Decimal(row["sales"]) or row.get("duty_from") or limit):
        return "none"
    if _lack(row) > 0:
        return "lacking"
    owed = any(Decimal(amount) for amount in row["to_collect"].values())
    if row["regime"] == "us" and limit is None and not owed:
        return "no_limit" if row["orders"] or Decimal(row["sales"]) else "none"
    if row.get("duty_from"):
        return "duty"
    if limit and limit["status"] in ("crossed", "near", "watch"):
        return "watch" if limit["status"] == "watch" else "near"
    return "sales" if row["orders"] or Decimal(row["sales"]) or limit else "none"


def _second(row: Row, limit: Row | None, currency: str) -> str:
    """Give the second line of a tile."""
    lack = _lack(row)
    if lack > 0:
        return whole_money(str(lack), currency)
    return f"{int(Decimal(str(limit['share'])))} %" if limit and not row.get("duty_from") else ""


def _finding(mine: dict[str, Row], stands: dict[str, str], what: str, currency: str) -> str:
    """Say where something lacks, the largest first."""
    lacking = sorted(
        (row for code, row in mine.items() if stands[code] == "lacking"), key=lambda row: -_lack(row)
    )
    if not lacking:
        near = [place(mine[code]) for code in stands if stands[code] == "near"]
        ahead = f"; limits near: {listed(near, 3)}" if near else ""
        return f"Nothing lacks under a duty {what}{ahead}."
    names = [f"{place(row)} {money(str(_lack(row)), currency)}" for row in lacking]
    return f"Too little was collected in {several(len(lacking), 'place')} {what}: {listed(names, 2)}."


def _table(
    mine: dict[str, Row], stands: dict[str, str], limits: dict[str, Row], record: dict[str, Any]
) -> FigureTable:
    """Hold what is drawn, by place."""
    columns = (
        Column("Place"), Column("Stands"), Column("Sales of the period", number=True),
        Column("Not collected since duty began", number=True), Column("Limit used", number=True),
    )  # fmt: skip
    cells: list[list[Cell]] = []
    for code, row in mine.items():
        since, limit = row.get("since_duty"), limits.get(code)
        cells.append([
            place(row),
            PLACES[stands[code]].words,
            money(row["sales"], record["currency"]),
            spread(since["shortfall"], record["currency"]) if since else "",
            percent(limit["share"]) if limit else "",
        ])  # fmt: skip
    return figure_table(columns, cells, record["totals"]["caution"])


def draw(picture: Picture) -> Figure:
    """Draw the tiles on the left and what they mean on the right."""
    from taxcalc.reports.pictures.sheet import WIDTH, Box, bare, sheet  # noqa: PLC0415 - heavy

    spots, strip = picture.data["spots"], picture.data["strip"]
    across = max(column for column, _ in spots.values()) + 1
    down = max(row for _, row in spots.values()) + 1
    room = min(across, 11)
    places = {**spots, **{code: (at % room, down + at // room) for at, code in enumerate(strip)}}
    rows = max(row for _, row in places.values()) + 1
    height = rows * TILE + (0.1 if strip else 0)
    page = sheet(picture, height, [picture.reading])
    axes = page.axes(Box(0.15, 0, across * TILE, height))
    bare(axes)
    axes.set_xlim(0, across * TILE)
    axes.set_ylim(height, 0)
    for code, (column, row) in places.items():
        top = row * TILE + (0.1 if row >= down else 0)
        _tile(
            axes,
            (column * TILE, top),
            code,
            PLACES[picture.data["stands"][code]],
            picture.data["second"].get(code, ""),
        )
    left = across * TILE + 0.35
    legend = page.axes(Box(left, 0, WIDTH - left - 0.1, height))
    bare(legend)
    legend.set_xlim(0, WIDTH - left - 0.1)
    legend.set_ylim(height, 0)
    _legend(legend, picture.data["stands"])
    return page.figure


def _tile(axes: Axes, corner: tuple[float, float], code: str, look: Look, second: str) -> None:
    """Draw one tile with its code, mark and number."""
    from matplotlib.patches import Rectangle  # noqa: PLC0415 - heavy

    from taxcalc.reports.pictures.sheet import INK, QUIET  # noqa: PLC0415 - heavy

    left, top = corner
    side = TILE - 0.05
    axes.add_patch(
        Rectangle(
            corner,
            side,
            side,
            facecolor=look.fill,
            edgecolor=QUIET if look.dotted else INK,
            linewidth=1.8 if look.thick else 0.7,
            linestyle=":" if look.dotted else "-",
        )
    )
    short = code.removeprefix("US-")
    axes.text(
        left + 0.05,
        top + 0.16,
        short,
        color=look.text,
        weight="bold",
        size=8 if len(short) <= SHORT else 5.5,
        va="center",
    )
    axes.text(
        left + side - 0.04,
        top + (0.16 if len(short) <= SHORT else 0.35),
        look.mark,
        color=look.text,
        weight="bold",
        size=8,
        ha="right",
        va="center",
    )
    axes.text(left + 0.05, top + 0.35, second, color=look.text, size=6.5, va="center")


def _legend(axes: Axes, stands: dict[str, str]) -> None:
    """Say what the tiles mean, with the number of each."""
    import textwrap  # noqa: PLC0415 - only here

    top = 0.1
    for key, look in PLACES.items():
        number = sum(each == key for each in stands.values())
        if not number:
            continue
        _tile(axes, (0, top), "", look, "")
        for at, line in enumerate(textwrap.wrap(f"{look.words}: {number}", 26, break_on_hyphens=False)):
            axes.text(TILE + 0.05, top + 0.12 + at * 0.15, line, size=8, va="center")
        top += TILE + 0.05
