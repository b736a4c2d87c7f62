"""The one-stop-shop returns of the period as the record shows them: supplies, corrections, balances, what is payable.

A negative balance of one member state is not set off against another: what is payable is the sum of the others. Amounts
are exact cents (Implementing Regulation 282/2011, art. 60). Names follow the published return: member state of consumption
and of dispatch, taxable amount, VAT rate type. Figures for a return, not a return.
"""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Any, Final

from taxcalc import places
from taxcalc.caution import CAUTION
from taxcalc.days import day as to_day
from taxcalc.days import number
from taxcalc.exchange import last_published
from taxcalc.money import PPM, write_amount
from taxcalc.one_stop_shop import EURO, NOT_CORRECTED, Amounts, Box, last_day, period_months
from taxcalc.served import SCHEMES

if TYPE_CHECKING:
    from collections.abc import Iterable

    from taxcalc.assessment import Assessment
    from taxcalc.facts import Facts

NAMES: Final = {
    "union_oss": "Union one-stop shop",
    "non_union_oss": "Non-Union one-stop shop",
    "ioss": "Import one-stop shop",
}
RATE_RULE: Final = (
    "ECB reference rate of the last day of the tax period, or of the next publication day; a correction at that of the "
    "period it corrects."
)
_YEAR = 12


def one_stop_shop_returns(assessment: Assessment) -> list[dict[str, Any]]:
    """Build the returns whose period ends inside the period reviewed, in the order of scheme and period."""
    run = assessment.run
    found = []
    periods = ((scheme, period_months(scheme, run.facts)) for scheme in SCHEMES[1:])
    for scheme, months in periods:
        if not months:
            continue
        for period in _periods(number(run.period[0]), number(run.period[1]), months):
            boxes = {
                box: amounts
                for box, amounts in run.one_stop_shop.boxes.items()
                if SCHEMES[box.scheme] == scheme and box.period == period
            }
            registered = _registered(scheme, period, months, run.facts)
            if boxes or registered:
                found.append(_return(scheme, period, months, boxes, registered=registered, facts=run.facts))
    return found


def _periods(first: int, last: int, months: int) -> list[int]:
    """List the periods (by their first month) that end between two days."""
    start = to_day(first)
    begin = (start.year * _YEAR + start.month - 1) // months * months
    end = to_day(last)
    stop = end.year * _YEAR + end.month
    return [period for period in range(begin, stop, months) if first <= int(_last(period, months)) <= last]


def _last(period: int, months: int) -> int:
    """Give the last day of one period."""
    import numpy as np  # noqa: PLC0415 - one number through what is made for many

    return int(last_day(np.array([period], np.int64), months)[0])


def _registered(scheme: str, period: int, months: int, facts: Facts) -> bool:
    """Tell whether the seller was in the scheme on a day of the period."""
    first, last = _last(period - 1, 1) + 1, _last(period, months)
    return any(
        r.scheme == scheme
        and number(r.from_day) <= last
        and (r.until_day is None or number(r.until_day) >= first)
        for r in facts.seller.registrations
    )


def _return(
    scheme: str,
    period: int,
    months: int,
    boxes: dict[Box, Amounts],
    *,
    registered: bool,
    facts: Facts,
) -> dict[str, Any]:
    """Build one return."""
    last = _last(period, months)
    ordered = sorted(boxes.items(), key=lambda item: (places.code(item[0].consumption), item[0]))
    taxed = [(box, amounts) for box, amounts in ordered if box.corrected == NOT_CORRECTED and box.ppm]
    zero = [amounts for box, amounts in ordered if box.corrected == NOT_CORRECTED and not box.ppm]
    corrections = [(box, amounts) for box, amounts in ordered if box.corrected != NOT_CORRECTED]
    balances = _balances([*taxed, *corrections])
    return {
        "scheme": scheme,
        "name": NAMES[scheme],
        "period": name_of(period, months),
        "from": to_day(_last(period - 1, 1) + 1).isoformat(),
        "to": to_day(last).isoformat(),
        "complete": last < facts.as_of_day,
        "registered": registered,
        "due": _due(period, months, facts),
        "records_kept_until": _kept_until(last, facts),
        "nil": not taxed and not corrections,
        "currency": EURO,
        "exchange_rate": {"rule": RATE_RULE, "carried_on": last > number(last_published())},
        "supplies": [_supply(box, amounts) for box, amounts in taxed],
        "corrections": [_correction(box, amounts, months) for box, amounts in corrections],
        "zero_rated": {"taxable_amount": _money(sum(a.taxable for a in zero)), "caution": CAUTION},
        "balances": [
            {"member_state": places.code(state), "name": places.name(places.code(state)), **vat}
            for state, vat in ((state, _vat(ends)) for state, ends in balances.items())
        ],
        "payable": _vat(tuple(sum(max(ends[at], 0) for ends in balances.values()) for at in range(3))),
        "caution": CAUTION,
    }


def _supply(box: Box, amounts: Amounts) -> dict[str, Any]:
    """Build one line of supplies."""
    return {
        "member_state_of_consumption": places.code(box.consumption),
        "member_state_of_dispatch": places.code(box.dispatch) if box.dispatch else None,
        "supply_type": "SERVICES" if box.service else "GOODS",
        "vat_rate_type": "STANDARD" if box.standard else "REDUCED",
        "vat_rate": percent(box.ppm),
        "taxable_amount": _money(amounts.taxable),
        "lines": amounts.lines,
        **_vat(amounts[1:4]),
    }


def _correction(box: Box, amounts: Amounts, months: int) -> dict[str, Any]:
    """Build one correction: only the VAT difference, with the period it corrects."""
    return {
        "period": name_of(box.corrected, months),
        "member_state_of_consumption": places.code(box.consumption),
        "lines": amounts.lines,
        **_vat(amounts[1:4]),
    }


def _balances(boxes: Iterable[tuple[Box, Amounts]]) -> dict[int, tuple[int, ...]]:
    """Add up VAT and corrections by member state of consumption, at each end."""
    found: dict[int, tuple[int, ...]] = {}
    for box, amounts in boxes:
        before = found.get(box.consumption, (0, 0, 0))
        found[box.consumption] = tuple(a + b for a, b in zip(before, amounts[1:4], strict=True))
    return found


def _vat(ends: tuple[int, ...]) -> dict[str, Any]:
    """Write VAT at its three ends; a refund turns the ends of its sale around."""
    return {
        "vat_amount": {"low": _money(min(ends)), "expected": _money(ends[1]), "high": _money(max(ends))},
        "caution": CAUTION,
    }


def _money(cents: int) -> str:
    """Write euros."""
    return write_amount(cents, EURO)


def percent(ppm: int) -> str:
    """Write a rate as percent with two decimals, more where it has them."""
    whole, rest = divmod(ppm, PPM // 100)
    decimals = f"{rest:04d}"
    return f"{whole}.{decimals[:2]}{decimals[2:].rstrip('0')}"


def name_of(period: int, months: int) -> str:
    """Write a period by the number of its first month: 2026-Q3 for a quarter, 2026-07 for a month."""
    year, month = divmod(period, _YEAR)
    return f"{year}-{month + 1:02d}" if months == 1 else f"{year}-Q{month // months + 1}"


def _due(period: int, months: int, facts: Facts) -> str | None:
    """Give the day by which the return and its payment are due, None where no rule is held (eu/scheme_rules)."""
    table = facts.tables["eu/scheme_rules"]
    row = table.row(_last(period, months), place=places.index("EU"), subject="oss", rule="return_due")
    if row < 0 or table["answer"][row] != "last_day_of_next_month":
        return None
    return to_day(_last(period + months, 1)).isoformat()


def _kept_until(last: int, facts: Facts) -> str | None:
    """Give the day until which the records of a period's sales are kept: so many years from the end of their year."""
    table = facts.tables["eu/scheme_rules"]
    row = table.row(last, place=places.index("EU"), subject="oss", rule="records_kept")
    if row < 0 or table["answer"][row] != "from_end_of_year_of_sale":
        return None
    return date(to_day(last).year + int(table["years"][row]), 12, 31).isoformat()
