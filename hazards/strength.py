"""How much strength a hollow stem has lost, by the rules that the trade uses. Figures and flags advise; the inspector rates.

D: diameter inside bark at the defect; t: thickness of sound wood, the thinnest of at least three readings; d = D − 2t: the
decayed column; R = D/2; r: the opening as a share of the circumference. Any unit of length, the same for all; here cm.

* Wagener 1963 (USFS Pacific Southwest): 100 d³/D³, line at 33 %.
* Coder 1989: 100 d⁴/D⁴, the exact loss of section modulus of a concentric tube; caution from 20 %, hazard from 45 % (both lines
  from memory).
* Smiley & Fraedrich 1992, J. Arboric. 18(4): 100 [d³ + r (D³ − d³)]/D³, line at 33 %.
* Mattheck & Breloer: t/R below 0.30. Holds for closed hollows only, so that an opening has no such figure.
* USFS guide to hazard rating codes: 1 in of sound wood for each 6 in of diameter.
* An opening over a third of the circumference is critical whatever the figures say.
"""

from dataclasses import dataclass
from math import isfinite

DIAMETER_MAX_CM = 500.0
LOSS_LINE_PCT = 33.0
CODER_CAUTION_PCT, CODER_HAZARD_PCT = 20.0, 45.0
SHELL_RATIO_LINE = 0.30
SHELL_PER_DIAMETER = 1 / 6
CRITICAL_OPENING = 1 / 3
# Lines are met by what stands on them, whatever the last bit of a division says.
_EPSILON = 1e-9

CAUTIONS = (
    "None of these figures knows the load on the tree.",
    "The 33 % line caught half of the failures in a wind of 90 mph (40 m/s), at the price of 12 % of the decayed trees that "
    "stood (Smiley & Fraedrich 1992).",
    "A hollow off the centre has lost more: 2 in off in a 24 in stem with a 16 in hollow, 37 % where the formula says 20 %.",
    "Not for stems that are not round, nor for several hollows beside each other.",
)


@dataclass(frozen=True)
class Hollow:
    """A round stem with one concentric hollow, measured inside bark."""

    diameter_cm: float
    decay_diameter_cm: float
    opening: float = 0.0

    def __post_init__(self) -> None:
        """Raises ValueError with a sentence outside the bounds of the rules."""
        if not (isfinite(self.diameter_cm) and 0 < self.diameter_cm <= DIAMETER_MAX_CM):
            raise ValueError(
                f"The diameter is {self.diameter_cm:g} cm; it lies above 0 and up to {DIAMETER_MAX_CM:g} cm."
            )
        if not (isfinite(self.decay_diameter_cm) and 0 <= self.decay_diameter_cm < self.diameter_cm):
            raise ValueError(
                f"The decayed column is {self.decay_diameter_cm:g} cm across in a stem of {self.diameter_cm:g} cm; "
                "it lies between 0 and less than the diameter."
            )
        if not (isfinite(self.opening) and 0 <= self.opening < 1):
            raise ValueError(
                f"The opening is {self.opening:g}; it is a share of the circumference, 0 for a closed stem and below 1."
            )

    @classmethod
    def with_shell(cls, diameter_cm: float, shell_cm: float, opening: float = 0.0) -> "Hollow":
        """From the sound shell: half a diameter at most, more than nothing."""
        if not (isfinite(shell_cm) and 0 < shell_cm <= diameter_cm / 2):
            raise ValueError(
                f"The shell is {shell_cm:g} cm in a stem of {diameter_cm:g} cm; it lies above 0 and up to half the diameter."
            )
        return cls(diameter_cm, diameter_cm - 2 * shell_cm, opening)

    @property
    def shell_cm(self) -> float:
        return (self.diameter_cm - self.decay_diameter_cm) / 2


@dataclass(frozen=True)
class Strength:
    """Losses in per cent; ``shell_ratio`` is None where an opening makes it meaningless."""

    wagener_pct: float
    coder_pct: float
    open_cavity_pct: float
    shell_ratio: float | None
    shell_rule_met: bool
    flags: tuple[str, ...]


def wagener_pct(hollow: Hollow) -> float:
    return float(100 * (hollow.decay_diameter_cm / hollow.diameter_cm) ** 3)


def coder_pct(hollow: Hollow) -> float:
    return float(100 * (hollow.decay_diameter_cm / hollow.diameter_cm) ** 4)


def open_cavity_pct(hollow: Hollow) -> float:
    closed = wagener_pct(hollow)
    return closed + hollow.opening * (100 - closed)


def shell_ratio(hollow: Hollow) -> float | None:
    return None if hollow.opening else 2 * hollow.shell_cm / hollow.diameter_cm


def shell_rule_met(hollow: Hollow) -> bool:
    return hollow.shell_cm >= SHELL_PER_DIAMETER * hollow.diameter_cm - _EPSILON


def strength(hollow: Hollow) -> Strength:
    """Every figure with the flags that they raise."""
    return Strength(
        wagener_pct=wagener_pct(hollow),
        coder_pct=coder_pct(hollow),
        open_cavity_pct=open_cavity_pct(hollow),
        shell_ratio=shell_ratio(hollow),
        shell_rule_met=shell_rule_met(hollow),
        flags=flags(hollow),
    )


def flags(hollow: Hollow) -> tuple[str, ...]:
    """A sentence for each line that is reached, the gravest first."""
    raised = [
        opening_flag(hollow.opening),
        _loss_flag(hollow),
        _coder_flag(hollow),
        _ratio_flag(hollow),
        _shell_flag(hollow),
    ]
    return tuple(flag for flag in raised if flag)


def opening_flag(opening: float) -> str:
    """Holds by itself, whether a shell was measured or not."""
    if opening <= CRITICAL_OPENING + _EPSILON:
        return ""
    return "Critical: the opening is over a third of the circumference; remove, or assess with instruments."


def _loss_flag(hollow: Hollow) -> str:
    """Wagener's formula, with an opening that of Smiley and Fraedrich; one line for both."""
    loss = open_cavity_pct(hollow)
    name = "Smiley & Fraedrich" if hollow.opening else "Wagener"
    return f"Loss of {loss:.1f} % ({name}): at or over the 33 % line." if loss >= LOSS_LINE_PCT - _EPSILON else ""


def _coder_flag(hollow: Hollow) -> str:
    loss = coder_pct(hollow)
    if loss < CODER_CAUTION_PCT - _EPSILON:
        return ""
    grade = "hazard" if loss >= CODER_HAZARD_PCT - _EPSILON else "caution"
    return f"Loss of {loss:.1f} % (Coder): {grade}."


def _ratio_flag(hollow: Hollow) -> str:
    ratio = shell_ratio(hollow)
    if ratio is None or ratio >= SHELL_RATIO_LINE - _EPSILON:
        return ""
    return f"Shell of {ratio:.2f} of the radius (Mattheck & Breloer): under 0.30."


def _shell_flag(hollow: Hollow) -> str:
    return "" if shell_rule_met(hollow) else "Less than 1 in of sound wood for each 6 in of diameter (USFS)."
