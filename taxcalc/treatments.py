"""How goods and shipping enter the base of a tax, as the numbers that the kernel reads."""

from __future__ import annotations

from enum import IntEnum


class Treatment(IntEnum):
    """How the goods of a line enter the base of one part (state or local) of the tax."""

    TAXED = 0
    EXEMPT = 1
    EXEMPT_BELOW = 2
    EXCESS_OVER = 3
    HIGHER_RATE_OVER = 4


class ShippingTreatment(IntEnum):
    """How a separately stated shipping charge enters the base.

    WHOLE_IF_ONE_CHARGE: on one line of the parcel it is one charge, taxed in full once any goods are; on several lines
    each goes with its goods. EXEMPT_UNLESS_ALONE: taxed where the parcel has no charge for goods.
    """

    TAXED = 0
    EXEMPT = 1
    SHARE_OF_TAXED_GOODS = 2
    WHOLE_IF_ANY_TAXED = 3
    LIKE_ITS_LINE = 4
    OVER_ACTUAL_COST = 5
    IN_ITEM_PRICE = 6
    WHOLE_IF_ONE_CHARGE = 7
    EXEMPT_UNLESS_ALONE = 8


class Freed(IntEnum):
    """What a dated relief (a sales-tax holiday) frees of the goods of a line, on top of their treatment."""

    NOTHING = 0
    UP_TO = 1
    BELOW = 2
    AT_ANY_PRICE = 3
    FIRST_PART = 4
