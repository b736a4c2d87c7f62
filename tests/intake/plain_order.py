"""One plain order line, as text; tests change it."""

from __future__ import annotations

PLAIN = {
    "order_id": "A-1",
    "line_id": "1",
    "ordered_on": "2025-03-01",
    "entry": "sale",
    "currency": "USD",
    "ship_to_country": "US",
    "ship_to_region": "CA",
    "ship_to_postal_code": "90001",
    "product_class": "clothing",
    "quantity": "2",
    "item_amount": "19.99",
    "shipping_amount": "4.50",
    "tax_included": "no",
    "tax_collected": "1.85",
    "channel": "own",
    "marketplace": "",
    "buyer_tax_number": "",
    "buyer_exempt": "no",
    "fulfiller": "",
    "fulfiller_item_cost": "8.00",
    "fulfiller_shipping_cost": "3.00",
    "fulfiller_tax_charged": "0.66",
    "fulfiller_currency": "",
    "ship_from_country": "US",
    "ship_from_region": "IN",
    "supplied_on": "",
    "original_ordered_on": "",
}
