"""Bounds that forms, imports and the database share: one place for each."""

DBH_MAX_CM = 500.0
HEIGHT_MAX_M = 120.0
SPREAD_MAX_M = 60.0
# A stem thinner or lower than this is a slip of the pen.
DBH_MIN_CM = 0.1
HEIGHT_MIN_M = 0.1
