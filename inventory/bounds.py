"""Bounds that forms, imports and the database share: one place for each."""

DBH_MAX_CM = 500.0
HEIGHT_MAX_M = 120.0
SPREAD_MAX_M = 60.0
