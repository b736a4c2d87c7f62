"""How a state taxes kinds of goods and shipping, as rules for the kernel: shared by both sides of the chain.

The rows are `us/product_rules` (a state's own row for the class before the general one) and `us/shipping_rules`.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from taxcalc import places
from taxcalc.columns import PRODUCT_CLASSES
from taxcalc.kernel import ShippingTreatment, Treatment
from taxcalc.places_find import zones
from taxcalc.zone_numbers import county_of

if TYPE_CHECKING:
    import numpy.typing as npt

    from taxcalc.regime import Cases
    from taxcalc.tables.load import Table, Tables

    Flags = npt.NDArray[np.bool_]

EXEMPT = int(Treatment.EXEMPT)
ANY_CLASS = -1

_TREATMENTS = {
    "taxable": Treatment.TAXED,
    "exempt": Treatment.EXEMPT,
    "exempt_below_item_price": Treatment.EXEMPT_BELOW,
    "taxable_excess_over_item_price": Treatment.EXCESS_OVER,
    "higher_rate_over_item_price": Treatment.HIGHER_RATE_OVER,
    "exempt_for_some": Treatment.TAXED,
    "": Treatment.TAXED,
}
_SHARE, _WHOLE = ShippingTreatment.SHARE_OF_TAXED_GOODS, ShippingTreatment.WHOLE_IF_ANY_TAXED
_ONE_CHARGE, _LINE = ShippingTreatment.WHOLE_IF_ONE_CHARGE, ShippingTreatment.LIKE_ITS_LINE
_MIXED = {
    "follows_goods": (_SHARE, _SHARE, _WHOLE),
    "by_price": (_SHARE, _SHARE, _SHARE),
    "by_item": (_LINE, _LINE, _LINE),
    "all_if_one_charge": (_ONE_CHARGE, _WHOLE, _WHOLE),
    "all": (_WHOLE, _WHOLE, _WHOLE),
    "by_price_else_all": (_SHARE, _SHARE, _WHOLE),
    "exempt_share_if_identified": (_SHARE, _WHOLE, _WHOLE),
    "unknown": (_SHARE, _SHARE, _WHOLE),
    "no_tax": (ShippingTreatment.EXEMPT,) * 3,
    "": (_SHARE, _SHARE, _SHARE),
}
"""How one charge for a parcel of taxed and exempt goods is taxed, low, expected and high, by `mixed_shipment`.

Low and high differ where it turns on what the invoice shows, which an order file does not hold, and where the state's
paper does not say how one charge is divided.
"""

_HANDLING_MAY_BE_TAXED = ("taxable", "taxable_if_combined", "unknown")
"""Words of `handling` under which a charge that pays for handling too may be taxed though transport is free."""


@dataclass(frozen=True)
class GoodsRows:
    """Rows of us/product_rules per case: the one for the state part and the one for the local part."""

    table: Table
    state: npt.NDArray[np.int32]
    local: npt.NDArray[np.int32]
    local_may_follow: npt.NDArray[np.bool_]
    """The county is unknown and some county of the state treats the local part otherwise."""

    @property
    def specific(self) -> npt.NDArray[np.bool_]:
        """Tell where a row says more than the general rule: one of the state, of the class, or of the user.

        Elsewhere the general rule holds that goods are taxed (common
        practice, no source), which the assumptions of every report name once.
        """
        general = self.table["place"][self.state] == places.index("US")
        general &= self.table["product_class"][self.state] == ANY_CLASS
        return np.asarray((self.state >= 0) & (~general | self.table.is_own(self.state)), dtype=np.bool_)


def goods_rows(cases: Cases, tables: Tables) -> GoodsRows:
    """Find the rows that hold for each case's class, place and day."""
    table = tables["us/product_rules"]
    both = _row(table, cases, "both")
    state = _first(_row(table, cases, "state"), both)
    local = _first(_row(table, cases, "local"), both)
    county = county_of(tables, cases.destination, cases.zone)
    in_county = np.flatnonzero(county > 0)
    if in_county.size:
        counties = np.array(zones(tables), dtype=object)[county[in_county]]
        local[in_county] = _first(_row(table, cases.take(in_county), "local", counties), local[in_county])
    return GoodsRows(table, state, local, (county == 0) & _has_county_rows(table, cases))


def _first(rows: npt.NDArray[np.int32], otherwise: npt.NDArray[np.int32]) -> npt.NDArray[np.int32]:
    """Take the first row where there is one."""
    return np.where(rows >= 0, rows, otherwise)


def _row(table: Table, cases: Cases, part: str, locality: object = "") -> npt.NDArray[np.int32]:
    """Look a rule up: the state's row for the class, then for all classes, then the same of the whole country."""
    found = np.full(cases.size, -1, np.int32)
    for place, kind in (
        (cases.destination, cases.product_class),
        (cases.destination, ANY_CLASS),
        ("US", cases.product_class),
        ("US", ANY_CLASS),
    ):
        rows = table.lookup(cases.day, place=place, product_class=kind, part=part, locality=locality)
        found = _first(found, rows)
    return found


def _has_county_rows(table: Table, cases: Cases) -> npt.NDArray[np.bool_]:
    """Tell whether the state has rows for single counties for the class."""
    rows = np.flatnonzero(table["locality"][:-1] != "")
    known = table["place"][rows].astype(np.int32) * len(PRODUCT_CLASSES) + table["product_class"][rows]
    asked = cases.destination.astype(np.int32) * len(PRODUCT_CLASSES) + cases.product_class
    return np.isin(asked, known)


def treatment(table: Table, rows: npt.NDArray[np.int32]) -> npt.NDArray[np.int8]:
    """Turn the words of the table into the kernel's treatments."""
    return np.array([_TREATMENTS[word] for word in table["treatment"][rows]], np.int8)


def goods_rules(cases: Cases, tables: Tables) -> tuple[npt.NDArray[np.int8], npt.NDArray[np.int8], GoodsRows]:
    """Give the treatment of goods in the state and in the local part, and the rows they come from."""
    rows = goods_rows(cases, tables)
    return treatment(rows.table, rows.state), treatment(rows.table, rows.local), rows


@dataclass(frozen=True)
class ShippingRules:
    """Kernel treatments of the shipping charge per case (int8) at the low, expected and high end, and their rows.

    `handling_open` bool: transport is free, but what the charge may hold of handling is taxed at the high end.
    """

    low: npt.NDArray[np.int8]
    expected: npt.NDArray[np.int8]
    high: npt.NDArray[np.int8]
    handling_open: npt.NDArray[np.bool_]
    table: Table
    rows: npt.NDArray[np.int32]


def shipping_rules(cases: Cases, tables: Tables, goods: GoodsRows, *, avoidable: bool) -> ShippingRules:
    """Find how each state taxes a separately stated charge; `avoidable`: the customer has a way around the charge.

    `exempt_by_carrier` holds for parcels, which a carrier brings; `exempt_if_avoidable` makes the charge taxable in a
    shop that only sends parcels. An order file does not tell handling from transport: where transport is free and
    handling is not known to be, the high end takes the charge as handling. A state that frees no more than the actual
    cost of transport taxes what is above it, handling included.
    """
    table = tables["us/shipping_rules"]
    rows = table.lookup(cases.day, place=cases.destination)
    words = table["treatment"][rows]
    exempt = transport_is_free(table, rows, avoidable=avoidable)
    over_cost = exempt & table["actual_cost_only"][rows]
    handling = exempt & ~over_cost & handling_may_be_taxed(table, rows)
    as_price = table["alone_is_price"][rows] & (treatment(goods.table, goods.state) != EXEMPT)
    alone = np.where(as_price, ShippingTreatment.EXEMPT_UNLESS_ALONE, ShippingTreatment.EXEMPT)
    in_price = goods.table["delivery_in_item_price"][goods.state]
    taxed = np.array([_MIXED[word] for word in table["mixed_shipment"][rows]], np.int8).T

    def end(
        free: Flags, how: npt.NDArray[np.int8] | int, otherwise: npt.NDArray[np.int8]
    ) -> npt.NDArray[np.int8]:
        return np.select(
            [in_price, over_cost, free],
            [ShippingTreatment.IN_ITEM_PRICE, ShippingTreatment.OVER_ACTUAL_COST, how],
            otherwise,
        ).astype(np.int8)

    return ShippingRules(
        end(exempt | (words == "local_rules"), ShippingTreatment.EXEMPT, taxed[0]),
        end(exempt, alone, taxed[1]),
        end(exempt & ~handling, alone, taxed[2]),
        handling,
        table,
        rows,
    )


def transport_is_free(table: Table, rows: npt.NDArray[np.int32], *, avoidable: bool) -> Flags:
    """Tell where a charge for transport alone is free; what the state's rule says of handling is another question."""
    words = table["treatment"][rows]
    always = np.isin(words, ("exempt_if_stated", "exempt_by_carrier", "no_tax"))
    return np.asarray(always | ((words == "exempt_if_avoidable") & avoidable), np.bool_)


def handling_may_be_taxed(table: Table, rows: npt.NDArray[np.int32]) -> Flags:
    """Tell where handling is taxed, or not known to be free, whatever holds for transport."""
    return np.asarray((rows >= 0) & np.isin(table["handling"][rows], _HANDLING_MAY_BE_TAXED), np.bool_)
