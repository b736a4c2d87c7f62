"""One line of an explained order as text: its steps with their arithmetic, its figures, and what would have changed them."""

from __future__ import annotations

from decimal import Decimal
from typing import TYPE_CHECKING, Any, Final

from taxcalc.reports.layout import (
    CAUTION_STYLE,
    Column,
    figures,
    heading,
    labelled,
    paragraph,
    spread,
)
from taxcalc.reports.words import money, printable

if TYPE_CHECKING:
    from collections.abc import Iterator

    from taxcalc.reports.layout import Cell, Pieces

Line = dict[str, Any]
Said = dict[str, tuple[int, frozenset[str]]]
"""By topic: the first line that has it, and what it said."""
TOPICS: Final = {
    "read": "What was read",
    "place": "Where it is taxed",
    "duty": "Your duty",
    "base": "What is taxed",
    "rate": "Rate",
    "range": "Range",
    "refund": "Refund",
    "collected": "Collected",
    "fulfiller": "Fulfiller",
    "fulfiller_rate": "Its rate",
    "fulfiller_range": "Its range",
    "fulfiller_charged": "Its charge",
}
AFTER: Final = {"rate": "arithmetic", "fulfiller_rate": "fulfiller_arithmetic", "refund": "arithmetic"}
"""After which step the arithmetic of which side stands."""
NO_CHANGE: Final = "Nothing that was tried would have changed the figures of this line."


def one_line(line: Line, numbers: dict[str, int], before: Said) -> Pieces:
    """Draw one line; `numbers` are those of the table rows, `before` holds what earlier lines said."""
    name = f"Line {line['line']}" + (f" ({printable(line['line_id'])})" if line["line_id"] else "")
    return [
        *heading(f"{name}. {printable(line['summary'])}"),
        *labelled(_steps(line, numbers, before)),
        *(_changes(line, numbers) or [paragraph(f"\n{line['caution']}", CAUTION_STYLE)]),
    ]


def in_short(lines: list[Line], whole: Line | None) -> Pieces:
    """Draw the figures of all lines in one table: what the order comes to, before the steps that say why."""
    columns = [
        Column("Line"), Column("You should collect", number=True), Column("Collected", number=True),
        Column("Difference", number=True), Column("Fulfiller may charge", number=True), Column("It charged", number=True),
    ]  # fmt: skip
    rows = [_short(line, f"{line['line']}. {printable(line['summary'])}", _lack(line)) for line in lines]
    if whole is not None and len(lines) > 1:
        ends = {"fulfiller_currency": whole["currency"], "fulfiller_tax_known": True}
        rows.append(
            _short(
                {**whole, **ends},
                "The whole order",
                money(str(-Decimal(whole["shortfall"])), whole["currency"]),
            )
        )
    below = " ".join(filter(None, map(_below, lines)))
    return [*heading("In short"), *figures(columns, rows, lines[0]["caution"], below)]


def _short(line: Line, name: str, lack: str) -> list[Cell]:
    """Write the figures of one line, or of all."""
    mine, theirs = line["currency"], line["fulfiller_currency"]
    return [
        name,
        spread(line["to_collect"], mine),
        money(line["collected"], mine),
        lack,
        spread(line["fulfiller_tax"], theirs),
        money(line["fulfiller_tax_charged"], theirs) if line["fulfiller_tax_known"] else "not given",
    ]


def _steps(line: Line, numbers: dict[str, int], before: Said) -> Iterator[tuple[str, str]]:
    """Write the steps beside their topics, the arithmetic after the rate that it uses."""
    shown = set()
    for step in line["steps"]:
        cited = " ".join(f"[{numbers[row]}]" for row in step["rows"])
        yield TOPICS[step["topic"]], f"{_said(step, line['line'], before)} {cited}".rstrip()
        side = AFTER.get(step["topic"])
        if side and side not in shown:
            shown.add(side)
            yield "   Arithmetic", "\n".join(_formulas(line[side]))


def _said(step: Line, number: int, before: Said) -> str:
    """Write the sentences of a step; what the first line with this topic says word by word is not repeated.

    Of what was read only what differs is written; any other step is written whole, or not at all.
    """
    first, known = before.setdefault(step["topic"], (number, frozenset(step["says"])))
    new = step["says"] if first == number else [said for said in step["says"] if said not in known]
    if new and step["topic"] != "read":
        new = step["says"]
    elif len(new) < len(step["says"]):
        new = [*new, f"{'All else as' if new else 'As'} in line {first}."]
    return "\n".join(map(printable, new))


def _formulas(ends: list[Line]) -> Iterator[str]:
    """Write the calculation of each end."""
    for end in ends:
        name = "" if len(ends) == 1 else f"{end['end']}: "
        yield f"{name}{end['formula']}"


def _below(line: Line) -> str:
    """Say what of the fulfiller's tax was avoidable and what was collected without a duty."""
    said = []
    if Decimal(line["fulfiller_tax_avoidable"]):
        amount = money(line["fulfiller_tax_avoidable"], line["fulfiller_currency"])
        said.append(f"Line {line['line']}: {amount} of the fulfiller's tax was avoidable.")
    if Decimal(line["collected_without_duty"]):
        amount = money(line["collected_without_duty"], line["currency"])
        said.append(f"Line {line['line']}: {amount} collected without a duty, to be paid over or given back.")
    return " ".join(said)


def _change(one: Line, numbers: dict[str, int]) -> str:
    """Write what is different and which reasons would hold then."""
    cited = "".join(f" [{numbers[row]}]" for row in one["rows"])
    return "\n".join([f"{printable(one['says'])}{cited}", *(f"  {printable(said)}" for said in one["then"])])


def _lack(line: Line) -> str:
    """Write what is missing, as what was collected less what should have been, where there is a duty."""
    return (
        money(str(-Decimal(line["shortfall"])), line["currency"]) if line["duty"] == "collect" else "no duty"
    )


def _changes(line: Line, numbers: dict[str, int]) -> Pieces:
    """Draw what would have changed the figures; nothing for a refund, which follows its sale."""
    title = paragraph("\nWhat would have changed it", "bold")
    if line["entry"] == "refund" and not line["would_change"]:
        return []
    if not line["would_change"]:
        return [title, paragraph(NO_CHANGE), paragraph(line["caution"], CAUTION_STYLE)]
    columns = [
        Column("The same order, with one thing different"),
        *(Column(name, number=True) for name in ("You collect", "Fulfiller's tax")),
    ]
    rows: list[list[Cell]] = [
        [
            _change(one, numbers),
            spread(one["to_collect"], one["currency"]),
            spread(one["fulfiller_tax"], one["fulfiller_currency"]),
        ]
        for one in line["would_change"]
    ]
    return [title, *figures(columns, rows, line["caution"])]
