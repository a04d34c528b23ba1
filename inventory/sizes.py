"""Size classes by diameter at breast height: one set for filters, reports and exports."""

from dataclasses import dataclass

from inventory.units import Units, diameter


@dataclass(frozen=True)
class SizeClass:
    """From ``low_cm`` up to, not including, ``high_cm``; no upper bound when None."""

    key: str
    low_cm: float
    high_cm: float | None

    def label(self, units: Units) -> str:
        if self.high_cm is None:
            return f"{diameter(self.low_cm, units)} and over"
        high = diameter(self.high_cm, units)
        if self.low_cm == 0:
            return f"under {high}"
        low, _unit = diameter(self.low_cm, units).split()
        return f"{low} to under {high}"


SIZE_CLASSES = (
    SizeClass("0-15", 0, 15),
    SizeClass("15-30", 15, 30),
    SizeClass("30-60", 30, 60),
    SizeClass("60-90", 60, 90),
    SizeClass("90", 90, None),
)
BY_KEY = {size.key: size for size in SIZE_CLASSES}
