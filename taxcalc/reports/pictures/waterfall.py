"""What becomes of one order: from what the customer pays down to what is left, as steps."""

from __future__ import annotations

from decimal import Decimal
from typing import TYPE_CHECKING, Any, Final, NamedTuple

from taxcalc.reports.layout import Column, FigureTable, figure_table
from taxcalc.reports.pictures.picture import Picture
from taxcalc.reports.words import money, percent, place, printable

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

Answer = dict[str, Any]
READING: Final = (
    "Solid: what is there. Hatched: what goes off. Taxes and what is left are the expected figures."
)


class Step(NamedTuple):
    """A bar: its words, its amount, and whether it is a total (else it goes off)."""

    words: str
    amount: Decimal
    total: bool


def waterfall(answer: Answer) -> Picture:
    """Give the picture of the order of an answer of `taxcalc destination`: today, and once the seller collects."""
    first = answer["compared"][0]
    shown = [("Today", first["now"])]
    if first["once_bound"]:
        shown.append(("Once you collect", first["once_bound"]))
    steps = [(title, _steps(one)) for title, one in shown]
    currency = first["now"]["currency"]
    finding = " ".join(_left(title, one) for title, one in shown) + f" One order to {place(first)}."
    told = " ".join(
        f"{title}: "
        + ", ".join(f"{step.words.lower()} {money(str(step.amount), currency)}" for step in each)
        + "."
        for title, each in steps
    )
    table = _table(steps, currency, first["caution"])
    return Picture(
        "order",
        "one order, step by step",
        finding,
        f"{finding} {told}",
        table,
        (steps, currency),
        draw,
        READING,
    )


def usual(order: Answer) -> Picture:
    """Give the picture of a usual order of the period, as `Assessment.usual_order` has it."""
    currency, code = order["currency"], place(order)
    off = (
        ("Tax", "tax"),
        ("Fulfiller: goods", "fulfiller_goods"),
        ("Fulfiller: shipping", "fulfiller_shipping"),
        ("Fulfiller: tax", "fulfiller_tax"),
    )
    steps = [
        Step("Customer paid", Decimal(order["customer_paid"]), total=True),
        *(Step(words, Decimal(order[name]), total=False) for words, name in off),
        Step("Left for you", Decimal(order["left"]), total=True),
    ]
    title = f"Order {printable(order['order_id'])}"
    left, paid = (money(order[name], currency) for name in ("left", "customer_paid"))
    finding = f"A usual order to {code} leaves you {left} of {paid}."
    told = ", ".join(f"{step.words.lower()} {money(str(step.amount), currency)}" for step in steps)
    shown = [(title, steps)]
    return Picture(
        "usual_order",
        "a usual order, step by step",
        finding,
        f"{finding} {title}, {order['product']}: {told}.",
        _table(shown, currency, order["caution"]),
        (shown, currency),
        draw,
        f"{title}, {order['product']}: in the middle of the period's own orders to where most of them go. {READING} Tax is what "
        "should be collected, or what was if that is more; taxcalc explain shows the order step by step.",
    )


def _left(title: str, one: Answer) -> str:
    """Say what is left of the order."""
    share = one["left_percent"]["expected"]
    part = f", {percent(share)} of the price" if share is not None else ""
    return f"{title} {money(one['left']['expected'], one['currency'])} is left{_before(one)}{part}."


def _steps(one: Answer) -> list[Step]:
    """Give the bars from the left to the right; a tax that is not known has none."""
    off = [("Fulfiller: goods", one["fulfiller_goods"]), ("Fulfiller: shipping", one["fulfiller_shipping"])]
    if one["tax_known"]:
        off.insert(0, ("Tax", one["tax"]["expected"]))
    if one["fulfiller_tax_known"]:
        off.append(("Fulfiller: tax", one["fulfiller_tax"]["expected"]))
    return [
        Step("Customer pays", Decimal(one["customer_pays"]["expected"]), total=True),
        *(Step(words, Decimal(amount), total=False) for words, amount in off),
        Step("Left for you" + _before(one), Decimal(one["left"]["expected"]), total=True),
    ]


def _before(one: Answer) -> str:
    """Say that a tax is still to come off."""
    return "" if one["tax_known"] else ", before any tax there"


def _table(steps: list[tuple[str, list[Step]]], currency: str, caution: str) -> FigureTable:
    """Hold the numbers that are drawn."""
    columns = (Column("Step"), *(Column(title, number=True) for title, _ in steps))
    rows = [
        [each[0].words, *(money(str(step.amount), currency) for step in each)]
        for each in zip(*(every for _, every in steps), strict=True)
    ]
    return figure_table(columns, rows, caution, ordered=True)


def draw(picture: Picture) -> Figure:
    """Draw the steps, one panel each for today and for later."""
    from taxcalc.reports.pictures.sheet import WIDTH, Box, sheet  # noqa: PLC0415 - heavy

    steps, currency = picture.data
    height = 2.6
    page = sheet(picture, height, [picture.reading])
    width = (WIDTH - 0.3) / len(steps)
    values = [_length(step.amount) for _, each in steps for step in each]
    ends = min(*values, 0), max(*values, 1)
    for at, (title, each) in enumerate(steps):
        axes = page.axes(Box(0.2 + at * width, 0.55, width - 0.15, height - 0.85))
        axes.set_title(title, loc="left", size=9, weight="bold")
        _panel(axes, each, currency, ends)
    return page.figure


def _length(amount: Decimal) -> int:
    """Turn an amount into a length on the sheet, a hundredth of a unit of the currency."""
    return int(amount * 100)


def _panel(axes: Axes, steps: list[Step], currency: str, ends: tuple[int, int]) -> None:
    """Draw one waterfall."""
    from taxcalc.reports.pictures.sheet import INK  # noqa: PLC0415 - heavy

    top = 0
    room = max(ends[1] - ends[0], 1)
    for at, step in enumerate(steps):
        height = _length(step.amount)
        base = 0 if step.total else top - height
        fill, hatch = ("#12436D", "") if step.total else ("#DCEAF7", "////")
        axes.bar(at, height, 0.7, bottom=base, color=fill, hatch=hatch, edgecolor=INK, linewidth=0.8)
        top = height if step.total else base
        if at < len(steps) - 1:
            axes.plot([at - 0.35, at + 1.35], [top, top], color=INK, linewidth=0.6)
        sign = "" if step.total or not step.amount else "-"
        words = f"{sign}{money(str(step.amount), currency)}"
        axes.text(at, max(base + height, base) + room // 50, words, ha="center", va="bottom", size=7)
    axes.axhline(0, color=INK, linewidth=0.8)
    axes.set_ylim(ends[0] * 6 // 5, ends[1] * 23 // 20 + 1)
    axes.set_yticks([])
    axes.spines["left"].set_visible(False)
    axes.set_xticks(
        range(len(steps)), [step.words.replace(": ", ":\n").replace(" ", "\n", 1) for step in steps]
    )
    axes.tick_params(length=0, labelsize=7)
