"""The lines behind a place's figures as text: the first ones, their sum, and what the record holds."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from taxcalc.reports.explain import title
from taxcalc.reports.layout import Column, figures, labelled, paragraph, spread, stacked
from taxcalc.reports.words import day, days, money, place, printable, several

if TYPE_CHECKING:
    from taxcalc.reports.layout import Cell, Pieces

Answer = dict[str, Any]


def pieces(answer: Answer, shown: int) -> Pieces:
    """Draw the first lines and the sum."""
    facts = [
        ("Period", days(answer["period"]["from"], answer["period"]["to"], "long")),
        ("Lines", several(len(answer["lines"]), "line")),
        ("Seen from", day(answer["as_of"], "long")),
        ("Rates and limits", f"version {answer['tables']['version']}"),
    ]
    return [
        *title(f"The lines behind {place(answer)}"),
        *labelled(facts),
        *_table(answer, shown),
        paragraph(f"\n{answer['check']['words']} `taxcalc explain ORDER_ID` shows one order step by step."),
        "",
        paragraph(answer["caution"], "bold"),
    ]


def _table(answer: Answer, shown: int) -> Pieces:
    """Draw lines and sums."""
    currency, lines = answer["currency"], answer["lines"]
    columns = [
        Column("Order"), Column("Why"), Column("Sales", number=True), Column("To collect", number=True),
        Column("Collected", number=True), Column("Fulfiller's tax", number=True), Column("Charged", number=True),
    ]  # fmt: skip
    rows: list[list[Cell]] = [_line(line, currency) for line in lines[:shown]]
    left = len(lines) - min(shown, len(lines))
    if left:
        rows.append([f"{several(left, 'more line')}", "", "", "", "", "", ""])
    rows += [
        _sums("Sum of all lines", answer["sum"], currency),
        _sums("In the record", answer["record"], currency),
    ]
    below = "--lines 1000 shows more, --json all of them. " if left else ""
    return figures(
        columns,
        rows,
        answer["caution"],
        f"{below}Each line in {currency}, rounded before it is added up.",
        gaps=True,
    )


def _line(line: Answer, currency: str) -> list[Cell]:
    """Write one line."""
    name = printable(line["order_id"]) + (f" / {printable(line['line_id'])}" if line["line_id"] else "")
    entry = "" if line["entry"] == "sale" else f"{line['entry']}, "
    return [
        stacked(name, f"{entry}{day(line['tax_point'])}", printable(line["from_file"])),
        line["words"],
        *_amounts(line, currency),
    ]


def _sums(name: str, values: Answer, currency: str) -> list[Cell]:
    """Write one sum."""
    return [stacked(name), "", *_amounts(values, currency)]


def _amounts(values: Answer, currency: str) -> list[Cell]:
    """Write the amounts of a line or a sum."""
    return [
        money(values["sales"], currency),
        spread(values["to_collect"], currency),
        money(values["collected"], currency),
        spread(values["fulfiller_tax"], currency),
        money(values["fulfiller_tax_charged"], currency),
    ]
