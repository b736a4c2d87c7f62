"""What a state asks for before it takes a document: which forms, and what the seller needs to have first.

The rules are rows of `us/resale_rules`; each row names its source. A form and the number in it are different things:
a multistate form helps only where the state takes it with the number that the seller has.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from taxcalc import places

if TYPE_CHECKING:
    from taxcalc.facts import Facts
    from taxcalc.tables.table import Table

STREAMLINED, MULTIJURISDICTION, STATE, OWN_NUMBER = "streamlined", "multijurisdiction", "state", "own_number"
MULTISTATE = (STREAMLINED, MULTIJURISDICTION)

NOTHING, HOME_NUMBER, REGISTRATION, ASK = "nothing", "home_state_number", "registration", "ask"


class AskedFor(NamedTuple):
    """What a state asks for: the forms it takes, what the seller needs first, and the row of `us/resale_rules`.

    `strict`: only a number of the state itself works, so that registering there is a choice to be weighed.
    """

    forms: tuple[str, ...]
    needs: str
    strict: bool
    row: int


def holds_a_state_number(facts: Facts, day: int) -> bool:
    """Tell whether the seller is registered on the day in any state that has a sales tax; the others give no number."""
    table = facts.tables["us/resale_rules"]
    return any(
        r.place.startswith("US-")
        and facts.registered(r.place, day, "standard")
        and table["rule"][table.row(day, place=r.place)] != "no_tax"
        for r in facts.seller.registrations
    )


def asked_for(place: int, day: int, *, obliged: bool, facts: Facts) -> AskedFor | None:
    """Tell what a state asks for on a day; None where it has no such tax or no rule is held.

    `obliged`: the seller has to register there already, so that another state's number no longer fits.
    """
    table, code = facts.tables["us/resale_rules"], places.code(place)
    row = table.row(day, place=place)
    if row < 0 or table["rule"][row] == "no_tax":
        return None
    if facts.registered(code, day, "standard"):
        return AskedFor((OWN_NUMBER,), NOTHING, strict=False, row=row)
    if table["rule"][row] == "local_only":
        return AskedFor((STATE,), ASK, strict=False, row=row)
    forms = forms_of_other_states(table, row)
    if obliged or not forms:
        return AskedFor((OWN_NUMBER,), REGISTRATION, strict=not forms and not obliged, row=row)
    if holds_a_state_number(facts, day):
        return AskedFor(forms, NOTHING, strict=False, row=row)
    if table["without_us_number"][row] == "accepted":
        return AskedFor(_without_number(forms), NOTHING, strict=False, row=row)
    return AskedFor(forms, HOME_NUMBER, strict=False, row=row)


def forms_of_other_states(table: Table, row: int) -> tuple[str, ...]:
    """List the forms that a state takes with another state's number in them; none where only its own number works."""
    if table["rule"][row] == "own_number_needed":
        return ()
    multistate = table["multistate_form"][row] == "yes" and not table["multistate_needs_own_number"][row]
    own_paper = table["home_number"][row] == "yes" or table["rule"][row] == "paper_without_registration"
    taken = (table["streamlined_form"][row] == "yes", multistate, own_paper)
    return tuple(
        form for form, yes in zip((STREAMLINED, MULTIJURISDICTION, STATE), taken, strict=True) if yes
    )


def _without_number(forms: tuple[str, ...]) -> tuple[str, ...]:
    """Keep the form that says itself what stands in the place of a number: the streamlined one, else the state's own."""
    return (STREAMLINED,) if STREAMLINED in forms else (STATE,)
