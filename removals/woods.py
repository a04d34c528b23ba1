"""Green wood by species: specific gravity, moisture, bark, dry-to-green factor and modulus of rupture.

Specific gravity (oven-dry mass over green volume), moisture (% of dry mass), bark volume (% of wood volume) and the
dry-to-green mass factor: USDA Forest Inventory and Analysis species reference table, file of 2024-12 (moisture there is
back-figured from whole lb/ft³, so good to about one lb/ft³). Green modulus of rupture, MPa: USDA Wood Handbook
FPL-GTR-282 table 5-3, from memory; None where it is not known here.
"""

from dataclasses import dataclass
from enum import StrEnum
from statistics import fmean


class Basis(StrEnum):
    SPECIES = "species"
    GENUS = "genus"
    GENERIC = "generic"


@dataclass(frozen=True, slots=True)
class WoodRow:
    botanical: str
    common: str
    sg_wood: float
    moisture_wood_pct: float
    sg_bark: float
    moisture_bark_pct: float
    bark_volume_pct: float
    dry_to_green: float
    mor_mpa: float | None

    @property
    def genus(self) -> str:
        return self.botanical.partition(" ")[0]


@dataclass(frozen=True, slots=True)
class Wood:
    """A row of the table and how near it stands to the tree: its species, its genus, or the generic row."""

    row: WoodRow
    basis: Basis


@dataclass(frozen=True, slots=True)
class Strength:
    """Green modulus of rupture, MPa: the value, and 0.7 x the least to 1.3 x the greatest row it was taken from."""

    mor_mpa: float
    low_mpa: float
    high_mpa: float
    basis: Basis


MOR_SPREAD = 0.30

GENERIC = WoodRow("", "generic hardwood", 0.52, 75.1, 0.53, 80.5, 15.2, 1.758, None)

TABLE: tuple[WoodRow, ...] = (
    WoodRow("Acer saccharinum", "Silver maple", 0.44, 67.5, 0.57, 79.9, 8.6, 1.688, 40.0),
    WoodRow("Acer rubrum", "Red maple", 0.49, 63.5, 0.6, 79.0, 8.6, 1.65, 53.0),
    WoodRow("Acer saccharum", "Sugar maple", 0.56, 57.4, 0.54, 89.9, 15.6, 1.616, 65.0),
    WoodRow("Acer platanoides", "Norway maple", 0.47, 70.3, 0.53, 90.6, 10.9, 1.725, None),
    WoodRow("Acer negundo", "Boxelder", 0.42, 90.8, 0.5, 92.3, 8.6, 1.909, None),
    WoodRow("Fraxinus pennsylvanica", "Green ash", 0.53, 57.2, 0.48, 70.3, 16.0, 1.589, 66.0),
    WoodRow("Fraxinus americana", "White ash", 0.55, 45.7, 0.5, 89.1, 16.0, 1.512, 66.0),
    WoodRow("Fraxinus nigra", "Black ash", 0.45, 85.2, 0.43, 90.1, 16.0, 1.858, None),
    WoodRow("Quercus rubra", "N. red oak", 0.56, 83.1, 0.68, 90.9, 20.0, 1.847, 57.0),
    WoodRow("Quercus alba", "White oak", 0.6, 68.3, 0.56, 88.9, 16.0, 1.709, 57.0),
    WoodRow("Quercus macrocarpa", "Bur oak", 0.58, 74.1, 0.54, 89.9, 16.0, 1.761, None),
    WoodRow("Quercus palustris", "Pin oak", 0.58, 76.8, 0.6, 89.6, 22.0, 1.792, 57.0),
    WoodRow("Quercus virginiana", "Live oak", 0.8, 52.2, 0.51, 88.5, 16.0, 1.556, None),
    WoodRow("Quercus robur", "English oak", 0.59, 75.3, 0.58, 83.0, 19.1, 1.765, None),
    WoodRow("Ulmus americana", "American elm", 0.46, 94.0, 0.44, 78.5, 14.0, 1.922, 50.0),
    WoodRow("Ulmus pumila", "Siberian elm", 0.54, 66.0, 0.43, 91.1, 14.0, 1.685, None),
    WoodRow("Tilia americana", "American basswood", 0.32, 105.3, 0.48, 90.3, 10.5, 2.033, 34.0),
    WoodRow("Platanus occidentalis", "American sycamore", 0.46, 81.2, 0.6, 84.3, 8.0, 1.814, 45.0),
    WoodRow("Gleditsia triacanthos", "Honeylocust", 0.6, 60.3, 0.5, 89.1, 15.0, 1.635, 70.0),
    WoodRow("Robinia pseudoacacia", "Black locust", 0.66, 40.8, 0.29, 87.9, 15.0, 1.437, 95.0),
    WoodRow("Populus deltoides", "E. cottonwood", 0.37, 116.6, 0.38, 56.0, 22.0, 2.054, 37.0),
    WoodRow("Populus tremuloides", "Quaking aspen", 0.35, 128.9, 0.5, 101.9, 14.4, 2.243, 35.0),
    WoodRow("Salix nigra", "Black willow", 0.36, 127.0, 0.5, 98.7, 16.0, 2.219, 33.0),
    WoodRow("Liquidambar styraciflua", "Sweetgum", 0.46, 74.2, 0.42, 90.8, 15.0, 1.762, 49.0),
    WoodRow("Liriodendron tulipifera", "Yellow-poplar", 0.4, 95.0, 0.38, 123.5, 18.0, 1.992, 41.0),
    WoodRow("Celtis occidentalis", "Hackberry", 0.49, 63.5, 0.49, 89.7, 15.0, 1.669, 45.0),
    WoodRow("Juglans nigra", "Black walnut", 0.51, 79.1, 0.33, 89.4, 15.0, 1.8, 66.0),
    WoodRow("Carya ovata", "Shagbark hickory", 0.64, 60.3, 0.72, 33.5, 16.0, 1.562, 76.0),
    WoodRow("Fagus grandifolia", "American beech", 0.56, 54.5, 0.67, 89.0, 6.0, 1.568, 59.0),
    WoodRow("Prunus serotina", "Black cherry", 0.47, 53.4, 0.63, 90.8, 9.2, 1.575, 55.0),
    WoodRow("Betula papyrifera", "Paper birch", 0.48, 73.6, 0.56, 51.7, 12.6, 1.708, 44.0),
    WoodRow("Betula nigra", "River birch", 0.49, 86.4, 0.55, 45.7, 9.8, 1.824, None),
    WoodRow("Ailanthus altissima", "Ailanthus", 0.46, 74.2, 0.45, 78.1, 15.0, 1.747, None),
    WoodRow("Malus pumila", "Apple", 0.61, 78.0, 0.5, 69.9, 15.0, 1.771, None),
    WoodRow("Nyssa sylvatica", "Blackgum", 0.46, 101.0, 0.44, 71.2, 14.0, 1.975, None),
    WoodRow("Pinus strobus", "E. white pine", 0.34, 65.0, 0.47, 70.5, 16.0, 1.66, 34.0),
    WoodRow("Pinus resinosa", "Red pine", 0.41, 64.2, 0.27, 89.9, 16.0, 1.666, None),
    WoodRow("Pinus nigra", "Austrian pine", 0.43, 76.1, 0.4, 68.4, 16.1, 1.751, None),
    WoodRow("Pinus sylvestris", "Scotch pine", 0.43, 76.1, 0.4, 68.4, 16.1, 1.751, None),
    WoodRow("Pinus ponderosa", "Ponderosa pine", 0.38, 89.8, 0.35, 32.8, 25.6, 1.789, 35.0),
    WoodRow("Picea abies", "Norway spruce", 0.36, 59.2, 0.44, 80.6, 12.6, 1.62, None),
    WoodRow("Picea pungens", "blue spruce", 0.36, 59.2, 0.44, 80.6, 12.6, 1.62, None),
    WoodRow("Tsuga canadensis", "E. hemlock", 0.38, 110.9, 0.46, 98.6, 17.0, 2.088, 44.0),
    WoodRow("Pseudotsuga menziesii", "Douglas-fir", 0.45, 35.3, 0.44, 89.4, 17.3, 1.432, 53.0),
    WoodRow("Thuja occidentalis", "N. white-cedar", 0.29, 98.9, 0.42, 90.8, 14.0, 1.976, None),
    WoodRow("Juniperus virginiana", "E. redcedar", 0.44, 34.8, 0.4, 60.3, 12.0, 1.373, 48.0),
    WoodRow("Taxodium distichum", "Baldcypress", 0.42, 94.6, 0.5, 98.7, 20.0, 1.954, 46.0),
    WoodRow("Sequoia sempervirens", "Redwood", 0.36, 122.6, 0.43, 15.5, 18.0, 2.036, None),
)

CONIFER_GENERA = frozenset(
    (
        *("Abies", "Cedrus", "Chamaecyparis", "Cupressus", "Juniperus", "Larix", "Metasequoia", "Picea", "Pinus"),
        *("Pseudotsuga", "Sequoia", "Sequoiadendron", "Taxodium", "Taxus", "Thuja", "Tsuga"),
    )
)


def wood_for(botanical: str) -> Wood:
    """The wood of a botanical name: its species, else the mean of its genus in the table, else the generic row."""
    name = _binomial(botanical)
    exact = next((row for row in TABLE if row.botanical == name), None)
    if exact:
        return Wood(exact, Basis.SPECIES)
    rows = _genus_rows(name)
    if rows:
        return Wood(_mean_row(rows), Basis.GENUS)
    return Wood(GENERIC, Basis.GENERIC)


def strength_for(botanical: str) -> Strength:
    """Green modulus of rupture of a botanical name: species, else genus, else all hardwoods or all conifers known."""
    name = _binomial(botanical)
    exact = [row for row in TABLE if row.botanical == name and row.mor_mpa is not None]
    if exact:
        return _strength(exact, Basis.SPECIES)
    genus = [row for row in _genus_rows(name) if row.mor_mpa is not None]
    if genus:
        return _strength(genus, Basis.GENUS)
    conifer = is_conifer(botanical)
    return _strength([row for row in TABLE if is_conifer(row.botanical) is conifer], Basis.GENERIC)


def is_conifer(botanical: str) -> bool:
    return _binomial(botanical).partition(" ")[0] in CONIFER_GENERA


def _strength(rows: list[WoodRow], basis: Basis) -> Strength:
    known = [row.mor_mpa for row in rows if row.mor_mpa is not None]
    return Strength(fmean(known), (1 - MOR_SPREAD) * min(known), (1 + MOR_SPREAD) * max(known), basis)


def _binomial(botanical: str) -> str:
    """Genus and epithet alone: a cultivar or an authority behind them does not change the wood."""
    words = botanical.split()
    return " ".join(words[:2]).capitalize()


def _genus_rows(name: str) -> list[WoodRow]:
    genus = name.partition(" ")[0]
    return [row for row in TABLE if row.genus == genus]


def _mean_row(rows: list[WoodRow]) -> WoodRow:
    known = [row.mor_mpa for row in rows if row.mor_mpa is not None]
    return WoodRow(
        botanical=rows[0].genus,
        common=f"mean of {len(rows)} in the table",
        sg_wood=fmean(row.sg_wood for row in rows),
        moisture_wood_pct=fmean(row.moisture_wood_pct for row in rows),
        sg_bark=fmean(row.sg_bark for row in rows),
        moisture_bark_pct=fmean(row.moisture_bark_pct for row in rows),
        bark_volume_pct=fmean(row.bark_volume_pct for row in rows),
        dry_to_green=fmean(row.dry_to_green for row in rows),
        mor_mpa=fmean(known) if known else None,
    )
