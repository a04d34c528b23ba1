"""Green weight of a standing tree from its diameter at breast height (dbh, cm), kilograms.

Dry mass above ground: exp(b0 + b1 ln dbh), Jenkins, Chojnacky, Heath & Birdsey 2003, Forest Science 49:12-35. Wrong
copies of the coefficients circulate (-2.20294, -2.0339, 2.4813, 2.4249). No group is used beyond its largest sampled
stem; there the form-factor estimate stands in, and says so.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass

from removals.woods import GENERIC, Basis, Wood

GRAVITY = 9.80665
FORM_FACTOR = 0.65
FORM_FACTOR_SPREAD = 0.40
ENTERED_SPREAD = 0.30
"""Spread of an entered mass without a range of its own: the 30 % the paper itself sees between equations."""
FOLIAGE_DRY_TO_GREEN = 2.0
GENERIC_MOISTURE_LOW_PCT = 50.0
GENERIC_MOISTURE_HIGH_PCT = 150.0


class OutsideSample(ValueError):
    """The stem is thicker than any that the group's equation was fitted to."""


@dataclass(frozen=True, slots=True)
class JenkinsGroup:
    name: str
    b0: float
    b1: float
    largest_cm: float
    sigma: float
    softwood: bool
    at_root_collar: bool = False


_ROWS = (
    JenkinsGroup("aspen/alder/cottonwood/willow", -2.2094, 2.3867, 70, 1.661, False),
    JenkinsGroup("soft maple/birch", -1.9123, 2.3651, 66, 1.635, False),
    JenkinsGroup("mixed hardwood", -2.4800, 2.4835, 56, 1.434, False),
    JenkinsGroup("hard maple/oak/hickory/beech", -2.0127, 2.4342, 73, 1.267, False),
    JenkinsGroup("cedar/larch", -2.0336, 2.2592, 250, 1.343, True),
    JenkinsGroup("Douglas-fir", -2.2304, 2.4435, 210, 1.244, True),
    JenkinsGroup("true fir/hemlock", -2.5384, 2.4814, 230, 1.200, True),
    JenkinsGroup("pine", -2.5356, 2.4349, 180, 1.289, True),
    JenkinsGroup("spruce", -2.0773, 2.3323, 250, 1.285, True),
    JenkinsGroup("woodland", -0.7152, 1.7029, 78, 1.469, False, at_root_collar=True),
)
GROUPS: Mapping[str, JenkinsGroup] = {row.name.lower(): row for row in _ROWS}
GROUP_NAMES = tuple(row.name for row in _ROWS)


@dataclass(frozen=True, slots=True)
class Shares:
    """Parts of the dry mass above ground; they add up to 1."""

    foliage: float
    bark: float
    wood: float
    branches: float


@dataclass(frozen=True, slots=True)
class GreenMass:
    """Green mass, kg, with its range and the words that say where it comes from."""

    kg: float
    low_kg: float
    high_kg: float
    basis: str
    formula: str

    @property
    def weight_n(self) -> float:
        return self.kg * GRAVITY


def group_named(name: str) -> JenkinsGroup:
    """The group of that name (case does not matter); ValueError with the names that exist."""
    group = GROUPS.get(name.strip().lower())
    if group is None:
        raise ValueError(f"'{name}' is no species group; use one of: {', '.join(GROUP_NAMES)}.")
    return group


def dry_mass_kg(group: JenkinsGroup, diameter_cm: float) -> float:
    """Dry mass above ground, kg, from dbh in cm (woodland: root collar); OutsideSample beyond the largest stem."""
    if diameter_cm <= 0:
        raise ValueError("The diameter must be more than 0.")
    if diameter_cm > group.largest_cm:
        raise OutsideSample(
            f"{diameter_cm:.3g} cm is thicker than the largest stem measured for {group.name}, {group.largest_cm:g} cm."
        )
    return math.exp(group.b0 + group.b1 * math.log(diameter_cm))


_HARDWOOD_SHARES = ((-4.0813, 5.8816), (-2.0129, -1.6805), (-0.3065, -5.4240))
_SOFTWOOD_SHARES = ((-2.9584, 4.4766), (-2.0980, -1.1432), (-0.3737, -1.8055))


def component_shares(dbh_cm: float, *, softwood: bool) -> Shares:
    """Shares of foliage, stem bark, stem wood, each exp(a + b/dbh); branches are the rest."""
    rows = _SOFTWOOD_SHARES if softwood else _HARDWOOD_SHARES
    foliage, bark, wood = (math.exp(a + b / dbh_cm) for a, b in rows)
    return Shares(foliage, bark, wood, 1 - foliage - bark - wood)


def long_green_mass_kg(group: JenkinsGroup, dbh_cm: float, wood: Wood, *, leafless: bool = False) -> float:
    """Green mass by component, kg: moist wood and bark, branches by dry-to-green, foliage at twice its dry mass."""
    shares = component_shares(dbh_cm, softwood=group.softwood)
    row = wood.row
    factor = (
        shares.wood * (1 + row.moisture_wood_pct / 100)
        + shares.bark * (1 + row.moisture_bark_pct / 100)
        + shares.branches * row.dry_to_green
        + (0.0 if leafless else shares.foliage * FOLIAGE_DRY_TO_GREEN)
    )
    return dry_mass_kg(group, dbh_cm) * factor


def short_green_mass_kg(group: JenkinsGroup, dbh_cm: float, dry_to_green: float) -> float:
    """Green mass in one step, kg: dry mass times the dry-to-green factor."""
    return dry_mass_kg(group, dbh_cm) * dry_to_green


def green_density_kg_m3(specific_gravity: float, moisture_pct: float) -> float:
    return 1000 * specific_gravity * (1 + moisture_pct / 100)


def form_factor_mass_kg(dbh_cm: float, height_m: float, specific_gravity: float, moisture_pct: float) -> float:
    """Green mass, kg, of 0.65 of a cylinder of the tree's height and dbh."""
    volume_m3 = FORM_FACTOR * math.pi / 4 * (dbh_cm / 100) ** 2 * height_m
    return volume_m3 * green_density_kg_m3(specific_gravity, moisture_pct)


def entered_mass(kg: float, low_kg: float | None = None, high_kg: float | None = None) -> GreenMass:
    """A mass that somebody weighed or worked out; without a range of its own it is taken plus or minus 30 %."""
    return GreenMass(
        kg,
        (1 - ENTERED_SPREAD) * kg if low_kg is None else low_kg,
        (1 + ENTERED_SPREAD) * kg if high_kg is None else high_kg,
        "entered",
        f"m = {kg:,.0f} kg as entered",
    )


def mass_by_moisture(
    group: JenkinsGroup,
    diameter_cm: float,
    height_m: float,
    moisture_pct: float,
    dbh_per_cut: tuple[float, float, float],
) -> GreenMass:
    """Green mass of a tree known by its diameter at the cut (cm), species group and moisture (% of dry mass).

    `dbh_per_cut` holds the least, likely and greatest dbh as shares of the diameter at the cut; the range of the mass
    spans them and the group's one sigma. Beyond the largest stem, and for the woodland group (whose equation wants the
    root collar), it is the form-factor estimate with the generic specific gravity.
    """
    low_cm, dbh_cm, high_cm = (share * diameter_cm for share in dbh_per_cut)
    if not usable(group, dbh_cm):
        return _form_factor(dbh_cm, height_m, GENERIC.sg_wood, moisture_pct)
    green = 1 + moisture_pct / 100
    return GreenMass(
        green * dry_mass_kg(group, dbh_cm),
        green * _dry_unbounded_kg(group, low_cm) / group.sigma,
        green * _dry_unbounded_kg(group, high_cm) * group.sigma,
        f"{group.name} (Jenkins and others 2003), moisture {moisture_pct:g} % of dry mass, dbh as the diameter at the cut",
        f"m = exp({group.b0:g} + {group.b1:g} · ln {dbh_cm:.4g}) · (1 + {moisture_pct:g} / 100)",
    )


def mass_by_species(
    group: JenkinsGroup, dbh_cm: float, height_m: float, wood: Wood, *, leafless: bool = False, dead: bool = False
) -> GreenMass:
    """Green mass of a tree of known dbh (cm) and wood; standing dead lies between dry and green, and spans both."""
    if not usable(group, dbh_cm):
        return _form_factor(dbh_cm, height_m, wood.row.sg_wood, wood.row.moisture_wood_pct)
    dry_kg = dry_mass_kg(group, dbh_cm)
    green_kg = long_green_mass_kg(group, dbh_cm, wood, leafless=leafless)
    low_kg, high_kg = _moisture_ends(dry_kg, green_kg, wood, dead=dead)
    return GreenMass(
        (dry_kg + green_kg) / 2 if dead else green_kg,
        low_kg / group.sigma,
        high_kg * group.sigma,
        f"{group.name} (Jenkins and others 2003), wood of {wood.row.botanical or wood.row.common} ({wood.basis})",
        _species_formula(group, dbh_cm, dry_kg, green_kg, dead=dead),
    )


def usable(group: JenkinsGroup, dbh_cm: float) -> bool:
    """Whether the group's equation may be used for this dbh."""
    return not group.at_root_collar and dbh_cm <= group.largest_cm


def _moisture_ends(dry_kg: float, green_kg: float, wood: Wood, *, dead: bool) -> tuple[float, float]:
    if wood.basis is Basis.GENERIC:
        ends = dry_kg * (1 + GENERIC_MOISTURE_LOW_PCT / 100), dry_kg * (1 + GENERIC_MOISTURE_HIGH_PCT / 100)
    else:
        ends = green_kg, green_kg
    return (dry_kg, ends[1]) if dead else ends


def _species_formula(group: JenkinsGroup, dbh_cm: float, dry_kg: float, green_kg: float, *, dead: bool) -> str:
    dry = f"dry = exp({group.b0:g} + {group.b1:g} · ln {dbh_cm:.4g}) = {dry_kg:.4g} kg"
    if dead:
        return f"{dry}; green {green_kg:.4g} kg; standing dead lies between: m = ({dry_kg:.4g} + {green_kg:.4g}) / 2"
    return f"{dry}; m = dry · {green_kg / dry_kg:.4g} (wood, bark, branches and foliage with their moisture)"


def _form_factor(dbh_cm: float, height_m: float, specific_gravity: float, moisture_pct: float) -> GreenMass:
    kg = form_factor_mass_kg(dbh_cm, height_m, specific_gravity, moisture_pct)
    density = green_density_kg_m3(specific_gravity, moisture_pct)
    return GreenMass(
        kg,
        (1 - FORM_FACTOR_SPREAD) * kg,
        (1 + FORM_FACTOR_SPREAD) * kg,
        "form-factor estimate, plus or minus 40 %, because no Jenkins equation covers this stem",
        f"m = {FORM_FACTOR} · π/4 · ({dbh_cm / 100:.4g} m)² · {height_m:.4g} m · {density:.4g} kg/m³",
    )


def _dry_unbounded_kg(group: JenkinsGroup, dbh_cm: float) -> float:
    """The end of a range only: its nominal value has already been held to the sample."""
    return math.exp(group.b0 + group.b1 * math.log(dbh_cm))
