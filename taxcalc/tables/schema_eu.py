"""Tables of the European Union."""

from __future__ import annotations

from taxcalc.tables.fields import CLASS, PLACE, Field, Schema

EU: tuple[Schema, ...] = (
    Schema(
        "eu/rates",
        "VAT rates by kind of goods",
        (
            PLACE,
            CLASS,
            Field("percent", "percent", "rate"),
        ),
    ),
    Schema(
        "eu/territories",
        "Special territories, found by ISO code or postal code",
        (
            Field("territory", "text", "name", key=True),
            PLACE,
            Field("postal_country", "text", "country code written in the address", required=False),
            Field(
                "postal_pattern",
                "pattern",
                "postal codes of the territory, blank where it has an own ISO country code",
                required=False,
            ),
            Field(
                "treatment", "choice", "VAT status", choices=("outside", "inside", "own_rates", "as_other")
            ),
            Field("treated_as", "text", "place whose rules apply, for as_other", required=False),
            Field("customs_territory", "yes_no", "inside the customs territory of the Union"),
        ),
    ),
    Schema(
        "eu/thresholds",
        "Union thresholds",
        (
            Field(
                "measure",
                "choice",
                "what is limited",
                key=True,
                choices=("distance_sales", "import_consignment"),
            ),
            Field(
                "place",
                "place",
                "EU, or the member state whose currency the national equivalent is in",
                key=True,
            ),
            Field("amount", "amount", "limit"),
            Field("currency", "currency", "currency of the limit"),
            Field("met_when", "choice", "limit must be passed", choices=("over", "reached")),
        ),
    ),
    Schema(
        "eu/small_business",
        "Small-business scheme: national limits",
        (
            PLACE,
            Field("amount", "amount", "annual limit", required=False),
            Field("currency", "currency", "currency of the limit", required=False),
            Field(
                "open_to_other_states",
                "choice",
                "sellers of other member states may use it",
                choices=("yes", "no", "unknown"),
            ),
        ),
    ),
)
