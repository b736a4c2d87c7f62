"""United States: sales and use tax of the states, the District of Columbia and Puerto Rico.

A sale is taxed where the parcel arrives. The seller must collect where it is registered, present, or over a state's
economic-nexus threshold; the fulfiller may charge tax on its own sale to the seller unless a document stops it.
"""

from taxcalc.regime import Regime
from taxcalc.us.collect import collect
from taxcalc.us.fulfiller import fulfiller
from taxcalc.us.place import place
from taxcalc.us.recovery import recovery
from taxcalc.us.thresholds import thresholds

REGIME = Regime("us", place, thresholds, collect, fulfiller, recovery)
