"""The fulfiller's side of a line: does it collect there, with which document, on which price, charged against expected."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from taxcalc import places
from taxcalc.charges import purchase_charges
from taxcalc.columns import Blank
from taxcalc.explain import words
from taxcalc.explain.base import goods_words, shipping_words, taxed_words
from taxcalc.explain.line import Step
from taxcalc.explain.ranges import causes
from taxcalc.explain.rate import rate
from taxcalc.facts import holds
from taxcalc.purchases.compared import ROUNDING
from taxcalc.reasons import REASONS
from taxcalc.regime import MARKED_UP, RETAIL
from taxcalc.terms import SCENARIOS
from taxcalc.us.asked_for import NOTHING, asked_for
from taxcalc.us.fulfiller import OBLIGED

if TYPE_CHECKING:
    from taxcalc.explain.line import OneLine
    from taxcalc.seller import Certificate

FORMS: Final = {
    "streamlined": "a Streamlined certificate",
    "multijurisdiction": "a multijurisdiction resale certificate",
    "state": "the state's own form",
    "own_number": "a document with that state's own number",
    "vat_number": "a VAT number",
}
STARTS_IN: Final = {
    "all": "collects everywhere",
    "unknown": "may or may not collect there: the profile does not say",
}


def fulfiller(line: OneLine) -> list[Step]:
    """Say what the fulfiller may charge on the line, and what that rests on."""
    terms = line.terms.fulfiller
    reason = str(line.of_case(terms.reason))
    step = Step("fulfiller", [words.sentence(REASONS[reason])])
    step.says += [_collects(line, reason), _documents(line)]
    steps = [step]
    if any(line.rules(terms, end).charged[0] for end in SCENARIOS):
        step.says += [_base(line), *_taxed(line)]
        rates = rate(line, terms)
        steps.append(Step("fulfiller_rate", rates.says, rates.rows))
        if len({line.purchase[end][line.at].tax for end in SCENARIOS}) > 1:
            found = causes(line, terms, line.purchase, line.fulfiller_currency)
            steps.append(Step("fulfiller_range", [*_other_base(line), *found]))
    cited = [row for one in steps for row in one.rows]
    rest = [one for one in line.used(terms) if not set(line.ledger.cite(one)) & set(cited)]
    step.rows = line.ledger.cite(*rest)
    return [*steps, Step("fulfiller_charged", [charged(line), *_avoidable(line)])]


def _taxed(line: OneLine) -> list[str]:
    """Say which part of the fulfiller's base is taxed, by the rules of the state for goods and shipping."""
    terms = line.terms.fulfiller
    end = "expected" if line.rules(terms, "expected").charged[0] else "high"
    rules, charges = line.rules(terms, end), purchase_charges(line.found.bucket, line.terms)[end]
    says = goods_words(rules, charges, line.at, line.fulfiller_currency)
    if charges.shipping[line.at]:
        says.append(words.sentence(f"its charge for shipping: {shipping_words(int(rules.shipping[0]))}"))
    said = taxed_words(line.purchase[end][line.at], line.fulfiller_currency)
    return [*says, said if end == "expected" else f"Nothing is expected to be taxed; at the high end: {said}"]


def _collects(line: OneLine, reason: str) -> str:
    """Say whether the fulfiller collects where its sale is taxed, by the profile."""
    who = line.assessment.run.facts.fulfiller(line.of_settled("fulfiller"))
    if isinstance(who.collects_in, str):
        return f"By your profile fulfiller {who.id} {STARTS_IN[who.collects_in]}."
    code = line.of_settled("ship_from") if reason.startswith("eu_") else line["destination"]
    day = line.of_settled("rule_day")
    listed = any(
        one.place == places.code(code) and holds(one.from_day, one.until_day, day) for one in who.collects_in
    )
    answer = "collects" if listed else "does not collect"
    return f"By your profile fulfiller {who.id} {answer} in {words.place(code)} on that day."


def _documents(line: OneLine) -> str:
    """Say which documents of the profile the fulfiller had for the place on the day."""
    held = line.assessment.run.facts.certificates_on(
        line.of_settled("fulfiller"), line.of_settled("rule_day")
    )
    code = line["destination"]
    wide = "US" if places.regimes()[code] == places.US else "EU"
    here = [one for one in held if one.place in (places.code(code), wide)]
    if not here:
        return "It had no document of yours for this place."
    return f"It had: {'; '.join(_document(one) for one in here)} (your profile)."


def _document(one: Certificate) -> str:
    """Name a document; the number in it is nobody's business here."""
    number = f" with a number of {one.number_of}" if one.number_of else ""
    return f"{FORMS.get(one.form, one.form)} for {one.place}{number}, given on {one.from_day.isoformat()}"


def _base(line: OneLine) -> str:
    """Say which price the tax is on."""
    base = int(line.of_case(line.terms.base["expected"]))
    if base == RETAIL:
        return "Its tax is on the price that your customer pays, not on its own price."
    if base == MARKED_UP:
        ppm = int(line.of_case(line.terms.markup_ppm))
        return (
            f"Its tax is on its own price with a presumed mark-up of {words.percent(ppm)}; "
            "the high end takes your customer's price."
        )
    return "Its tax is on its own price to you."


def _other_base(line: OneLine) -> list[str]:
    """Say at which end the tax is on another price."""
    expected = int(line.of_case(line.terms.base["expected"]))
    return [
        f"{end.capitalize()}: on the price that your customer pays."
        for end in ("low", "high")
        if int(line.of_case(line.terms.base[end])) == RETAIL != expected
    ]


def charged(line: OneLine) -> str:
    """Hold what was charged against what may be charged."""
    currency = line.fulfiller_currency
    low, expected, high = (line.purchase[end][line.at].tax for end in ("low", "expected", "high"))
    said = f"It may charge {words.amount(expected, currency)}"
    if low != high:
        said += f" ({words.amount(low, currency)} to {words.amount(high, currency)})"
    if line["blanks"] & Blank.FULFILLER_TAX_CHARGED:
        return f"{said}; what it charged is not in your file."
    charged = line["fulfiller_tax_charged"]
    fits = min(low, high) - ROUNDING <= charged <= max(low, high) + ROUNDING
    verdict = "which fits" if fits else "which does not fit: ask it why"
    return f"{said}; it charged {words.amount(charged, currency)}, {verdict}."


def _avoidable(line: OneLine) -> list[str]:
    """Say what a document would have stopped, and which."""
    avoidable = int(line.found.figures.fulfiller_tax_avoidable[line.at])
    if not avoidable:
        return []
    amount = words.amount(abs(avoidable), line.fulfiller_currency)
    code, facts = line["destination"], line.assessment.run.facts
    if places.regimes()[code] != places.US:
        return [
            f"Avoidable: {amount}, with a VAT number of yours from another member state that you held then."
        ]
    obliged = int(line.of_case(line.terms.cases.state)) in OBLIGED
    asks = asked_for(code, line.of_settled("rule_day"), obliged=obliged, facts=facts)
    if asks is None or asks.needs != NOTHING:
        return [f"Avoidable: {amount}, with a document that could have been given that day."]
    line_row = line.ledger.cite((facts.tables["us/resale_rules"], asks.row, ("preferred_document",)))
    forms = " or ".join(FORMS.get(form, form) for form in asks.forms)
    return [f"Avoidable: {amount}, with {forms} (row {line_row[0]})."]
