"""A seller that is exempt at home, and a transport that may belong to the fulfiller's sale: then the sale lies on arrival."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest
from shop import asked, fulfiller, net_sale, registered, union_seller

if TYPE_CHECKING:
    import pandas as pd

FRENCH = "FR40303265045"
AT_HOME = registered("IE", scheme="small_business")
IN_FRANCE = registered("FR", scheme="small_business", identified_in="IE")
ENDS = ["to_collect_low", "to_collect", "to_collect_high"]


def sold(
    transport: str, *more: dict[str, Any], sent_from: str = "IE", day: str = "2026-03-02"
) -> pd.DataFrame:
    """Sell by an exempt shop in Ireland: to consumers at home and in France, and to a French business."""
    profile = union_seller(
        "IE",
        registration=[*AT_HOME, *more],
        fulfiller=[fulfiller(ship_from=[sent_from], transport_supply=transport)],
    )
    return asked(
        profile,
        net_sale("home", "IE", "100.00", day),
        net_sale("consumer", "FR", "100.00", day),
        net_sale("business", "FR", "100.00", day, buyer_tax_number=FRENCH),
    )


@pytest.mark.source("ie-tdm-sme-domestic")
@pytest.mark.parametrize(
    ("transport", "high"),
    [
        pytest.param("unset", 2000, id="open"),
        pytest.param("second", 0, id="with the seller's sale"),
    ],
)
def test_an_exemption_at_home_has_the_vat_of_arrival_as_its_high_end_while_the_transport_is_open(
    transport: str, high: int
) -> None:
    """The exemption covers supplies located in Ireland only; art. 36a(1) would locate these in France, at 20 %."""
    found = sold(transport)
    assert set(found["duty"]) == {"exempt_small_business"}
    assert found.loc["consumer", ENDS].tolist() == [0, 0, high]
    assert found.loc["business", ENDS].tolist() == [0, 0, high]
    assert found.loc["home", ENDS].tolist() == [0, 0, 0]


def test_the_scheme_used_in_the_state_of_arrival_as_well_leaves_no_high_end() -> None:
    """Art. 284(2): wherever the sale lies, an exemption covers it."""
    assert sold("unset", *IN_FRANCE).loc["consumer", ENDS].tolist() == [0, 0, 0]


@pytest.mark.source("ie-tdm-sme-domestic")
@pytest.mark.parametrize("transport", ["unset", "first", "second"])
def test_a_sale_from_another_state_into_the_home_state_is_exempt_at_home(transport: str) -> None:
    """Goods made in Latvia and sent to Ireland: located in Ireland either way (art. 33(a), 36a), where the seller is exempt."""
    line = sold(transport, sent_from="LV").loc["home"]
    assert (line.place, line.duty, line.to_collect_high) == ("IE", "exempt_small_business", 0)


@pytest.mark.source("ie-tdm-sme-domestic")
def test_a_sale_from_another_state_to_a_third_one_is_not_exempt_by_the_scheme_at_home() -> None:
    """From Latvia to France: located in France (art. 33(a)), where only the cross-border scheme would help."""
    assert sold("second", sent_from="LV").loc["consumer", ENDS].tolist() == [2000] * 3
    assert sold("second", *IN_FRANCE, sent_from="LV").loc["consumer", ENDS].tolist() == [0] * 3
