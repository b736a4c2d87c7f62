"""Reports only show what was computed; they never decide. Everything they show carries the caution."""
