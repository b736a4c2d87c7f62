"""European Union: VAT on goods that someone else makes and sends, for sellers inside and outside the Union.

Establishment, dispatch, destination, buyer and documents decide where a sale is taxed (`place`); the EUR 10 000 limit is
in `thresholds`, the small-business scheme with its limits in `small_business` and the files named after it; what the
seller should collect and what the fulfiller may charge are `collect` and `fulfiller`.
"""

from taxcalc.eu.collect import collect
from taxcalc.eu.fulfiller import fulfiller
from taxcalc.eu.place import place
from taxcalc.eu.recovery import recovery
from taxcalc.eu.thresholds import thresholds
from taxcalc.regime import Regime

REGIME = Regime("eu", place, thresholds, collect, fulfiller, recovery)
