"""What makes the range of a figure: everything in which the low and the high end differ from what is expected."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

from taxcalc.explain import words
from taxcalc.explain.base import shipping_words

if TYPE_CHECKING:
    from taxcalc.explain.exact import Side
    from taxcalc.explain.line import OneLine
    from taxcalc.kernel import Rules
    from taxcalc.terms import Terms

FIELDS: Final = (
    "charged",
    "state_ppm",
    "local_ppm",
    "state_rule",
    "local_rule",
    "shipping",
    "state_freed",
    "local_freed",
)
"""Fields of the rules in which two ends may differ, the weightiest first."""


def causes(line: OneLine, terms: Terms, side: Side, currency: str) -> list[str]:
    """Say what makes low and high differ from the expected figure."""
    expected = line.rules(terms, "expected")
    found = []
    for end in ("low", "high"):
        rules, tax = line.rules(terms, end), side[end][line.at].tax
        found += [
            f"{end.capitalize()}, {words.amount(tax, currency)}: {_words(field, rules, expected)}."
            for field in FIELDS
            if _differs(field, rules, expected)
        ]
    return found


def _differs(field: str, one: Rules, other: Rules) -> bool:
    """Tell whether a field differs where tax is charged at all; a charge that is none hides the rest."""
    if field != "charged" and not one.charged[0]:
        return False
    values: tuple[Any, Any] = getattr(one, field)[0], getattr(other, field)[0]
    return bool(values[0] != values[1])


def _words(field: str, rules: Rules, expected: Rules) -> str:
    """Say one difference."""
    if field == "charged":
        return (
            "tax is due, where the reason does not hold"
            if rules.charged[0]
            else "no tax is due, because facts or law are open (see the reason)"
        )
    if field == "state_ppm":
        return f"a rate of {words.percent(int(rules.state_ppm[0]))}, where another place or rate may be the right one"
    if field == "local_ppm":
        return f"a local rate of {words.percent(int(rules.local_ppm[0]))}"
    if field == "shipping":
        return shipping_words(int(rules.shipping[0]))
    if field in ("state_freed", "local_freed"):
        freed = int(getattr(rules, field)[0]) > int(getattr(expected, field)[0])
        return f"the holiday {'frees' if freed else 'does not free'} the {field.partition('_')[0]} part"
    return f"the {field.partition('_')[0]} part treats the goods otherwise (locality or use not known)"
