"""Everywhere else: places whose own rules are not held here. Nothing is computed, and that is said."""

from taxcalc.elsewhere.collect import collect
from taxcalc.elsewhere.fulfiller import fulfiller
from taxcalc.elsewhere.place import place
from taxcalc.elsewhere.recovery import recovery
from taxcalc.elsewhere.thresholds import thresholds
from taxcalc.regime import Regime

REGIME = Regime("elsewhere", place, thresholds, collect, fulfiller, recovery)
