"""Tables of the European Union: charges on small imports, reverse charge and representatives."""

from __future__ import annotations

from taxcalc.tables.fields import PLACE, Field, Schema

EU_BORDERS: tuple[Schema, ...] = (
    Schema(
        "eu/import_charges",
        "Fixed charges on small imports",
        (
            PLACE,
            Field(
                "charge",
                "choice",
                "which charge",
                key=True,
                choices=("flat_duty", "union_handling_fee", "national_fee"),
            ),
            Field(
                "status",
                "choice",
                "only a row in force may be charged",
                choices=("in_force", "planned", "postponed", "withdrawn", "considered"),
            ),
            Field("amount", "amount", "charge", required=False),
            Field("currency", "currency", "currency of the charge", required=False),
            Field(
                "per",
                "choice",
                "what is charged once",
                required=False,
                choices=("tariff_line", "item", "declaration_line", "consignment", "parcel"),
            ),
            Field("value_limit", "amount", "value of the consignment that bounds it", required=False),
            Field("value_currency", "currency", "currency of the value limit", required=False),
            Field(
                "value_met_when",
                "choice",
                "charged up to the limit, or only below it",
                required=False,
                choices=("up_to", "below"),
            ),
            Field(
                "scope",
                "choice",
                "which imports",
                choices=("consumer_distance_sales", "ioss_or_postal", "low_value_parcels", "unknown"),
            ),
            Field(
                "in_vat_base",
                "choice",
                "whether VAT is charged on it",
                choices=("yes", "no", "outside_ioss", "unknown"),
            ),
        ),
    ),
    Schema(
        "eu/reverse_charge",
        "Article 194: the buyer accounts for VAT on goods of a supplier from elsewhere",
        (
            PLACE,
            Field(
                "ordinary_goods",
                "choice",
                "whether the state uses the option for plain goods",
                choices=("yes", "no", "conditional", "unclear", "national_choice"),
            ),
            Field(
                "supplier",
                "choice",
                "what the supplier must lack",
                choices=(
                    "establishment",
                    "establishment_and_number",
                    "establishment_and_representative",
                    "varies",
                    "not_applicable",
                    "unknown",
                ),
            ),
            Field(
                "buyer",
                "choice",
                "what the buyer must have",
                choices=(
                    "number",
                    "establishment",
                    "establishment_or_number",
                    "establishment_or_representative",
                    "business",
                    "not_applicable",
                    "unknown",
                ),
            ),
            Field("supplier_may_choose_to_pay", "yes_no", "the supplier may ask to be liable instead"),
            Field("law", "text", "article of the national law", required=False),
        ),
    ),
    Schema(
        "eu/fiscal_representation",
        "Whether a seller outside the Union needs a representative",
        (
            PLACE,
            Field(
                "topic",
                "choice",
                "for which registration",
                key=True,
                choices=("local_registration", "union_oss", "non_union_oss", "ioss"),
            ),
            Field(
                "needed",
                "choice",
                "whether one is needed",
                choices=(
                    "yes",
                    "no",
                    "on_notice",
                    "national_choice",
                    "as_state_of_dispatch",
                    "may_not_be_asked",
                    "in_some_cases",
                    "unclear",
                ),
            ),
            Field(
                "liable",
                "choice",
                "whether the representative is liable for the tax",
                choices=("yes", "no", "unknown"),
            ),
            Field("law", "text", "article of the law", required=False),
        ),
    ),
    Schema(
        "eu/representation_freed",
        "Countries whose sellers need no representative",
        (
            PLACE,
            Field("seller_country", "place", "where the seller is established", key=True),
            Field(
                "topic",
                "choice",
                "for which registration",
                key=True,
                choices=("local_registration", "ioss"),
            ),
            Field("freed", "yes_no", "no representative is needed"),
        ),
    ),
)
