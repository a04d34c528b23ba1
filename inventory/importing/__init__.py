"""Bringing a city's tree file in: read it, guess its columns, read its values, merge it into the inventory."""
