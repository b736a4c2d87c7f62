"""Whether the seller had to collect on a line: since when, for which cause, by which limit, order, or registration."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

from taxcalc import places
from taxcalc.duties import CAUSES, NOWHERE
from taxcalc.explain import words
from taxcalc.explain.line import Step
from taxcalc.facts import OPEN
from taxcalc.money import write_amount
from taxcalc.reasons import (
    BY_IMPORT_ONE_STOP_SHOP,
    BY_ONE_STOP_SHOP,
    FROM_FIRST_SALE,
    LOCAL_REGISTRATION,
    REASONS,
)
from taxcalc.regime import DUTIES, NO_LIMIT

if TYPE_CHECKING:
    from taxcalc.duties import Interval, ThresholdRow
    from taxcalc.explain.line import OneLine
    from taxcalc.explain.rows import Used

ANSWERS: Final = {
    "collect": "You had to collect tax on this line",
    "marketplace_collects": "Nothing for you to collect",
    "below_threshold": "No duty to collect here at that time",
    "import_at_border": "Nothing for you to collect",
    "buyer_accounts": "Nothing is expected to be collected by you",
    "unknown_place": "No answer can be given",
}
NOTHING: Final = "Nothing to collect"
"""What the other answers of the duty come to; the reason says why."""
BY_DUTY: Final = (
    "us/thresholds",
    "us/threshold_starts",
    "us/duty_ends",
    "us/facilitator_laws",
    "eu/thresholds",
)
"""Tables whose rows decide whether there is a duty."""
REGISTERING: Final = (
    (BY_ONE_STOP_SHOP, "the one-stop shop, or a registration in that state,"),
    (BY_IMPORT_ONE_STOP_SHOP, "the import one-stop shop"),
    (LOCAL_REGISTRATION, "a registration in that state, which no one-stop shop replaces,"),
)
"""What serves a sale, by its reason."""
GROUNDS: Final = {"amount": "by the amount of your sales", "transactions": "by the number of your sales"}


def duty_word(line: OneLine) -> str:
    """Give the answer of the duty for a line, as the record has it."""
    return DUTIES[int(line.found.figures.duty[line.at])]


def duty(line: OneLine) -> Step:
    """Say whether the seller had to collect, and what that rests on."""
    word, reason = duty_word(line), str(line.of_case(line.terms.collect.reason))
    step = Step("duty", [words.sentence(f"{ANSWERS.get(word, NOTHING)}: {REASONS[reason]}")])
    step.rows = line.ledger.cite(*line.used(line.terms.collect, *BY_DUTY))
    if word == "collect" and reason.endswith("_exempt_goods"):
        step.says.append("The goods are exempt, but shipping is taxed with the taxed goods of the parcel.")
    holding = holding_interval(line)
    if holding is not None:
        step.says.append(_since(holding))
        step.rows = list(dict.fromkeys([*step.rows, *line.ledger.cite(*_rows_of_crossing(line, holding))]))
        step.says += _start_rule(line, holding)
    elif reason in FROM_FIRST_SALE and word == "collect":
        step.says.append(
            f"No limit frees this kind of sale: the duty begins with the first one{_first_sale(line)}."
        )
    if word == "below_threshold" or reason == "eu_under_limit":
        step.says += _standing(line)
    if word == "collect" and (holding is None or holding.cause != "registration"):
        step.says += _served(line, reason)
    return step


def _served(line: OneLine, reason: str) -> list[str]:
    """Say which registration serves the sale, or that none does."""
    since = int(line.of_case(line.assessment.run.served))
    if since < OPEN:
        return [f"A registration of yours serves such sales since {words.day(since)} (your profile)."]
    kind = next((said for reasons, said in REGISTERING if reason in reasons), "a registration there")
    return [f"By your profile no registration serves it; {kind} would."]


def limit_place(line: OneLine) -> int:
    """Give the place whose limit the line counts for: the Union's for some sales, else the place of the sale."""
    code = int(line.of_case(line.terms.placed.limit_place))
    return int(line.of_case(line.terms.placed.place)) if code == NO_LIMIT else code


def holding_interval(line: OneLine) -> Interval | None:
    """Find the interval of duty that the line lies in, by the cause of its case; None where there is none."""
    cause = CAUSES[int(line.of_case(line.terms.cases.state))]
    day = (
        line.of_settled("rule_day") if cause in ("registration", "presence") else line.of_settled("duty_day")
    )
    held = [
        one
        for one in line.assessment.intervals
        if one.place == limit_place(line) and one.cause == cause and one.start.day <= day <= one.until
    ]
    return max(held, key=lambda one: one.start, default=None) if cause else None


def _since(held: Interval) -> str:
    """Say since when, until when and why the duty holds."""
    until = "" if held.until >= OPEN else f" until {words.day(held.until)}"
    since = f"since {words.day(held.start.day)}{until}"
    if held.cause == "registration":
        return f"By your profile you are registered there {since}."
    if held.cause == "presence":
        return f"By your profile you are present there {since}."
    if held.cause == "election":
        return f"By your profile you chose to be taxed on arrival {since}."
    if held.crossed == NOWHERE:
        return f"The duty holds {since}."
    by = f" with order {held.crossed.order_id}" if held.crossed.order_id else ""
    grounds = GROUNDS.get(held.grounds, "")
    return (
        f"The limit of {words.place(held.place)} was met on {words.day(held.crossed.day)}{by} {grounds}; "
        f"the duty holds {since}{_from_order(held)}."
    ).replace(" ;", ";")


def _first_sale(line: OneLine) -> str:
    """Name the first sale of the stretch of duty, where the history holds it."""
    taxed, day = int(line.of_case(line.terms.placed.place)), line.of_settled("duty_day")
    began = [
        one.start
        for one in line.assessment.intervals
        if one.cause == "first_sale" and one.place == taxed and one.start.day <= day <= one.until
    ]
    if not began:
        return ""
    first = max(began)
    order = f", order {first.order_id}" if first.order_id else ""
    return f", here on {words.day(first.day)}{order}"


def _from_order(held: Interval) -> str:
    """Name the order with which the duty begins, where it begins inside a day."""
    return f", beginning with order {held.start.order_id}" if held.start.order_id else ""


def _rows_of_crossing(line: OneLine, held: Interval) -> list[Used]:
    """List the rows of the day on which the limit was met, which may be others than those of the line's day."""
    if held.cause != "threshold" or places.regimes()[held.place] != places.US:
        return []
    tables = line.assessment.run.facts.tables
    found: list[Used] = []
    for name, columns in (
        ("us/thresholds", ("amount", "transactions", "window")),
        ("us/threshold_starts", ("start_rule",)),
    ):
        row = tables[name].row(held.crossed.day, place=held.place)
        found += [(tables[name], row, columns)] if row >= 0 else []
    return found


def _start_rule(line: OneLine, held: Interval) -> list[str]:
    """Say by which rule the duty began after the limit was met."""
    if held.cause != "threshold" or places.regimes()[held.place] != places.US:
        return []
    tables = line.assessment.run.facts.tables
    starts, rules = tables["us/threshold_starts"], tables["us/start_rules"]
    row = starts.row(held.crossed.day, place=held.place)
    rule = rules.row(start_rule=str(starts["start_rule"][row])) if row >= 0 else -1
    return [f"When it begins: {words.sentence(str(rules['meaning'][rule]))}"] if rule >= 0 else []


def _standing(line: OneLine) -> list[str]:
    """Say where the limit stands on the day of the review."""
    here = [row for row in line.assessment.sorted_thresholds if row.place == limit_place(line)]
    as_of = line.assessment.run.as_of
    if not here:
        return ["No limit of sales is held for this place."]
    return [f"Seen from {as_of}, {_measure(row)}." for row in here]


def _measure(row: ThresholdRow) -> str:
    """Say one measure of one limit."""

    def write(value: int) -> str:
        return f"{write_amount(value, row.currency)} {row.currency}" if row.currency else f"{value} sales"

    share: Any = f"{row.share_tenths // 10}.{row.share_tenths % 10} %"
    window = f"from {words.day(row.window_start)} to {words.day(row.window_end)}"
    return f"{write(row.value)} of the limit of {write(row.limit)} were reached {window}, which is {share}"
