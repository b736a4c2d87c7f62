"""What customers may be asked for at the door, as the record shows it: by place, with what is not known and assumed."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

import numpy as np

from taxcalc import places
from taxcalc.at_the_door import ASKED, SPARED, Sums
from taxcalc.caution import CAUTION
from taxcalc.days import number
from taxcalc.eu.import_charges import COLUMNS, not_in_force
from taxcalc.money import write_amount
from taxcalc.tables.schema import BASES

if TYPE_CHECKING:
    import numpy.typing as npt

    from taxcalc.assessment import Assessment

EURO: Final = "EUR"
CUSTOMS: Final = ("base_of_import_vat", "unit_of_duty", "who_pays_duty")
"""Rules of eu/scheme_rules that a charge rests on: VAT on it too, once for a classification, asked of the importer."""
COLUMNS_USED: Final = {
    "eu/import_charges": COLUMNS,
    "eu/rates": ("percent",),
    "eu/scheme_rules": ("answer",),
}
UNKNOWN: Final = (
    "The carrier's own fee for presenting the parcel to customs is not known and in no figure (common practice, no source).",
    "Customs duty by tariff, as it is due above the value limit, is not computed; import VAT is due on it too.",
)
ASSUMED: Final = (
    "Kinds of goods stand in for customs classifications: one for each kind in a parcel, because an order file has none.",
    "All lines of an order to one place travel in one parcel, and the parcel is imported on the day of the sale's rules.",
    "Transport is in the base of import VAT as you charged it; without a charge of your own it is taken to be in the price.",
    "Whether a fee of a single state reaches the customer is open, because the declarant owes it: the low end leaves it out.",
    "Refunds give nothing back here, and what a business may deduct is not taken off.",
    "Whether the import of a business bears the flat duty is open: the low end leaves it out.",
)


def at_the_door(assessment: Assessment) -> dict[str, Any] | None:
    """Build the part of the record; None where no parcel of the period was an import by a customer."""
    found = assessment.run.at_the_door
    if not found.sums:
        return None
    asked = {place: sums for (place, group), sums in found.sums.items() if group == ASKED}
    spared = {place: sums for (place, group), sums in found.sums.items() if group == SPARED}
    basis, rows = _basis(assessment)
    return {
        "currency": EURO,
        "places": [_place(place, sums) for place, sums in sorted(asked.items(), key=_by_code)],
        "asked": _shown(_sum(asked)) if asked else None,
        "spared_by_scheme": _spared(assessment, spared) if spared else None,
        "not_in_force": not_in_force(
            {place for place, _ in found.sums}, _last_day(assessment), assessment.run.facts
        ),
        "not_computed": list(UNKNOWN),
        "assumptions": list(ASSUMED),
        "basis": BASES[basis],
        "row_ids": rows,
        "caution": CAUTION,
    }


def _spared(assessment: Assessment, spared: dict[int, Sums]) -> dict[str, Any]:
    """Write what the import scheme spared: what would be asked without it, and what is charged and due with it."""
    charged = assessment.run.at_the_door.charged_vat
    total = _sum(spared)
    return {
        "without_scheme": _shown(total),
        "vat_in_the_sale": write_amount(sum(charged.values()), EURO),
        "duty_and_fees_all_the_same": _shown(total)["duty_and_fees"],
        "places": [_place(place, sums) for place, sums in sorted(spared.items(), key=_by_code)],
        "caution": CAUTION,
    }


def _place(place: int, sums: Sums) -> dict[str, Any]:
    """Write the parcels into one place."""
    return {"place": places.code(place), "name": places.name(places.code(place)), **_shown(sums)}


def _shown(sums: Sums) -> dict[str, Any]:
    """Write sums of parcels; the total at the door leaves out what is not known."""

    def ends(low: int, expected: int) -> dict[str, str]:
        return {
            "low": write_amount(low, EURO),
            "expected": write_amount(expected, EURO),
            "high": write_amount(expected, EURO),
        }

    return {
        "parcels": sums.parcels,
        "above_limit": sums.above_limit,
        "goods": write_amount(sums.goods, EURO),
        "shipping": write_amount(sums.shipping, EURO),
        "price": write_amount(sums.goods + sums.shipping, EURO),
        "import_vat": ends(sums.vat_low, sums.vat),
        "flat_duty": ends(sums.duty_low, sums.duty),
        "national_fees": ends(sums.fees_low, sums.fees),
        "duty_and_fees": ends(sums.duty_low + sums.fees_low, sums.duty + sums.fees),
        "at_the_door": ends(sums.vat_low + sums.duty_low + sums.fees_low, sums.vat + sums.duty + sums.fees),
        "caution": CAUTION,
    }


def _sum(parts: dict[int, Sums]) -> Sums:
    """Add up places."""
    return Sums(*(sum(column) for column in zip(*parts.values(), strict=True)))


def rows_used(assessment: Assessment) -> dict[str, npt.NDArray[np.int32]]:
    """Give the rows behind these figures by table: charges, rates, and the rules of customs where a charge is made."""
    facts, used = assessment.run.facts, assessment.run.at_the_door.rows
    found = {name: np.array(sorted(numbers), np.int32) for name, numbers in used.items()}
    if used["eu/import_charges"]:
        table, last = facts.tables["eu/scheme_rules"], _last_day(assessment)
        rules = [table.row(last, place=places.index("EU"), subject="customs", rule=rule) for rule in CUSTOMS]
        found["eu/scheme_rules"] = np.array([row for row in rules if row >= 0], np.int32)
    return found


def _basis(assessment: Assessment) -> tuple[int, list[str]]:
    """Give the weakest basis of the rows used, and their names."""
    tables, weakest, names = assessment.run.facts.tables, 0, []
    for name, rows in rows_used(assessment).items():
        weakest = max([weakest, *tables[name].basis(rows, *COLUMNS_USED[name]).tolist()])
        names += [str(each) for each in tables[name].row_ids(rows)]
    return weakest, names


def _by_code(item: tuple[int, Sums]) -> str:
    """Sort places by their code."""
    return places.code(item[0])


def _last_day(assessment: Assessment) -> int:
    """Give the last day that is looked at: that of the period, or of the review."""
    return min(number(assessment.run.period[1]), assessment.run.facts.as_of_day)
