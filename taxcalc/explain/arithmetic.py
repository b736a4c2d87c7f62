"""The arithmetic of a line written out, so that it can be followed with a pocket calculator."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING, Any, Final

from taxcalc.caution import CAUTION
from taxcalc.explain import words
from taxcalc.explain.base import RATE_NAMES
from taxcalc.explain.exact import under_of
from taxcalc.money import PPM, round_fraction, write_amount
from taxcalc.terms import SCENARIOS

if TYPE_CHECKING:
    from taxcalc.explain.exact import Part, Refunded, Side, Worked

ROUNDING: Final = "half away from zero, so that a half goes up"
ENDS: Final = ("expected", "low", "high")


def arithmetic(side: Side, at: int, currency: str) -> list[dict[str, Any]]:
    """Write the arithmetic of a line at each end: the expected one, and low and high where they differ from it."""
    found = [_one(side["expected"][at], "expected", currency)]
    other = (end for end in ("low", "high") if side[end][at] != side["expected"][at])
    return [*found, *(_one(side[end][at], end, currency) for end in other)]


def spread(side: Side, at: int, currency: str) -> dict[str, str]:
    """Write the three ends of a figure in rising order of their size, as the record has them."""
    low, expected, high = (side[end][at].tax for end in SCENARIOS)
    ends = (min(low, expected), expected, max(high, expected))
    return {end: write_amount(tax, currency) for end, tax in zip(SCENARIOS, ends, strict=True)}


def _one(worked: Worked, end: str, currency: str) -> dict[str, Any]:
    """Write one end."""
    return {
        "end": end,
        "products": [_product(part, worked, currency) for part in worked.parts],
        "tax_included": worked.included,
        "before_rounding": words.unrounded(worked.exact, currency),
        "rounding": "order" if worked.order_tax is not None else "line",
        "order": _order(worked, currency),
        "refund": _refund(worked, currency),
        "tax": write_amount(worked.tax, currency),
        "currency": currency,
        "formula": formula(worked, currency),
        "caution": CAUTION,
    }


def _product(part: Part, worked: Worked, currency: str) -> dict[str, Any]:
    """Write one product: amount × percent ÷ divisor, the divisor in percent (100, or 100 plus the rates inside a price)."""
    under = under_of(worked.parts, part.of, included=worked.included) or PPM
    return {
        "of": part.of,
        "rate": part.rate,
        "amount": write_amount(part.base, currency),
        "percent": words.plain_percent(part.ppm),
        "divided_by": words.plain_percent(under),
        "caution": CAUTION,
    }


def _order(worked: Worked, currency: str) -> dict[str, Any] | None:
    """Write the sums of the lines that are rounded together."""
    if worked.order_exact is None or worked.order_tax is None:
        return None
    return {
        "before_rounding": words.unrounded(worked.order_exact, currency),
        "tax": write_amount(worked.order_tax, currency),
        "caution": CAUTION,
    }


def _refund(worked: Worked, currency: str) -> dict[str, Any] | None:
    """Write what a refund takes back of which tax."""
    step = worked.refunded
    if step is None:
        return None
    return {
        "tax_of_sale": write_amount(step.tax_of_sale, currency),
        "sold": write_amount(step.sold, currency),
        "refunded_before": write_amount(step.since, currency),
        "refunded_until": write_amount(step.until, currency),
        "caution": CAUTION,
    }


def formula(worked: Worked, currency: str) -> str:
    """Write the whole calculation in one line."""
    tax = words.amount(worked.tax, currency)
    if worked.refunded is not None:
        return _refund_formula(worked, currency)
    if not worked.parts:
        return f"nothing is taxed: {tax}"
    products = _together(worked, currency) or " + ".join(
        _written(worked, of, currency) for of in _kinds(worked)
    )
    exact = words.unrounded(worked.exact, currency)
    text = f"{products} = {exact}, rounded {words.amount(abs(worked.tax), currency)}"
    if worked.order_exact is not None and worked.order_tax is not None:
        whole = words.unrounded(worked.order_exact, currency)
        text = (
            f"{products} = {exact}; all lines rounded together {whole}, rounded "
            f"{words.amount(worked.order_tax, currency)}, of which this line gets {words.amount(abs(worked.tax), currency)}"
        )
    return f"{text}, taken back: {tax}" if worked.tax < 0 else text


def _together(worked: Worked, currency: str) -> str:
    """Write goods and shipping as one sum, where the same rate applies to all of both; nothing elsewhere."""
    kinds = [[part for part in worked.parts if part.of == of] for of in ("goods", "shipping")]
    if not all(kinds) or any(len({part.base for part in parts}) > 1 for parts in kinds):
        return ""
    rates = [[(part.rate, part.ppm) for part in parts] for parts in kinds]
    if rates[0] != rates[1]:
        return ""
    under = under_of(worked.parts, "goods", included=worked.included) or PPM
    sums = " + ".join(f"{parts[0].of} {write_amount(parts[0].base, currency)}" for parts in kinds)
    return f"({sums}) × {_times(sum(ppm for _, ppm in rates[0]), under)}"


def _kinds(worked: Worked) -> list[str]:
    """List goods and shipping, as far as they are taxed; together where they are added up in one product."""
    return [of for of in ("goods", "shipping") if any(part.of == of for part in worked.parts)]


def _written(worked: Worked, of: str, currency: str) -> str:
    """Write the products of the goods or of the shipping."""
    parts = [part for part in worked.parts if part.of == of]
    under = under_of(worked.parts, of, included=worked.included) or PPM
    bases = {part.base for part in parts}
    if len(bases) == 1:
        rate = sum(part.ppm for part in parts)
        return f"{of} {write_amount(parts[0].base, currency)} × {_times(rate, under)}"
    return " + ".join(
        f"{of} {write_amount(part.base, currency)} × {_times(part.ppm, under)} ({RATE_NAMES[part.rate]})"
        for part in parts
    )


def _times(ppm: int, under: int) -> str:
    """Write a rate, or the fraction that is inside a price: 20 ÷ 120."""
    if under == PPM:
        return words.percent(ppm)
    return f"{words.plain_percent(ppm)} ÷ {words.plain_percent(under)}"


def _refund_formula(worked: Worked, currency: str) -> str:
    """Write how a refund takes its part of the tax back."""
    step, tax = worked.refunded, words.amount(worked.tax, currency)
    if step is None or not step.sold:
        return f"nothing was charged for the sale: {tax}"
    text = f"tax of the sale {_share(step, step.until, currency)}"
    if step.since:
        text += f", less {_share(step, step.since, currency)} for what was refunded before"
    return f"{text}, taken back: {tax}"


def _share(step: Refunded, part: int, currency: str) -> str:
    """Write tax × refunded ÷ sold, before and after rounding."""
    tax, refunded, sold = (write_amount(one, currency) for one in (step.tax_of_sale, part, step.sold))
    exact = Fraction(step.tax_of_sale * part, step.sold)
    rounded = words.amount(round_fraction(exact), currency)
    return f"{tax} × {refunded} ÷ {sold} = {words.unrounded(exact, currency)}, rounded {rounded}"
