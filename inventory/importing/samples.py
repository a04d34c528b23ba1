"""What the sampled values of a column say about it."""

import re
from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cached_property

from inventory.importing import names, positions, values
from inventory.importing.source import SourceRow

_LATIN_ENDING = re.compile(r"(us|a|um|is|i|ae|ns|ea|ia)$")
_NUMBER_LIKE = re.compile(r"[-+]?[\d.,\s]+")
_COMMA_DECIMAL = re.compile(r"-?\d+,(?:\d{1,2}|\d{4,})")
_ANY_COMMA = re.compile(r"-?\d+,\d+")
_POINT_DECIMAL = re.compile(r"-?\d+\.\d+")
_ANY_DAY = date(9999, 12, 31)

# Genera that parks of the temperate and warm-temperate world are full of: they tell a botanical column from a common one.
_GENERA_TEXT = (
    "abies acacia acer aesculus agathis ailanthus albizia alnus amelanchier araucaria arbutus asimina betula brachychiton "
    "butia callistemon calocedrus carpinus carya casuarina castanea catalpa ceanothus cedrus celtis cercidiphyllum cercis "
    "chamaecyparis chionanthus cinnamomum citrus cladrastis cordyline cornus corylus corymbia cotinus crataegus "
    "cryptomeria cupressus davidia diospyros elaeagnus eriobotrya erythrina eucalyptus eucommia euonymus fagus ficus "
    "firmiana fraxinus ginkgo gleditsia grevillea gymnocladus halesia hamamelis hesperocyparis hibiscus ilex jacaranda "
    "juglans juniperus koelreuteria laburnum lagerstroemia larix laurus ligustrum liquidambar liriodendron livistona "
    "lophostemon maackia maclura magnolia malus melaleuca melia metasequoia morus myrtus nyssa olea ostrya oxydendrum "
    "parrotia paulownia phellodendron phoenix photinia picea pinus pistacia pittosporum platanus podocarpus populus prunus "
    "pseudotsuga pterocarya ptelea pyrus quercus rhamnus rhus robinia salix sambucus sassafras schinus sciadopitys sequoia "
    "sequoiadendron sophora sorbus stewartia styphnolobium styrax syringa syzygium tamarix taxodium taxus tetradium thuja "
    "thujopsis tilia toona trachycarpus tristaniopsis tsuga ulmus umbellularia viburnum washingtonia zelkova"
)
GENERA = frozenset(_GENERA_TEXT.split())


@dataclass(frozen=True)
class Column:
    """A heading with the sampled values under it, in the order of the rows; blanks are None in ``cells``."""

    heading: str
    cells: tuple[str | None, ...]

    @cached_property
    def values(self) -> tuple[str, ...]:
        return tuple(cell for cell in self.cells if cell is not None)

    @cached_property
    def distinct(self) -> Counter[str]:
        return Counter(self.values)

    def share(self, test: Callable[[str], bool]) -> float:
        """The part of the filled cells that pass the test, 0 when there are none."""
        passed = sum(count for value, count in self.distinct.items() if test(value))
        return passed / len(self.values) if self.values else 0.0

    def pointed(self) -> "Column":
        """With decimal commas written as points."""
        cells = (cell.replace(",", ".") if cell and _ANY_COMMA.fullmatch(cell) else cell for cell in self.cells)
        return Column(self.heading, tuple(cells))


def attempt(read: Callable[[str], object], value: str) -> object | None:
    try:
        return read(value)
    except (ValueError, OverflowError):
        return None


def columns(header: Sequence[str], sample: Iterable[SourceRow]) -> list[Column]:
    whole = [row.values for row in sample if not row.problem]
    return [
        Column(heading, tuple(None if values.is_blank(row[place]) else row[place] for row in whole))
        for place, heading in enumerate(header)
    ]


def writes_decimal_comma(found: Iterable[Column]) -> bool:
    """Numbers like ``40,72`` and none like ``40.72``."""
    cells = [value for column in found for value in column.distinct]
    return any(map(_COMMA_DECIMAL.fullmatch, cells)) and not any(map(_POINT_DECIMAL.fullmatch, cells))


def looks_numeric(value: str) -> bool:
    return bool(_NUMBER_LIKE.fullmatch(value))


def looks_botanical(value: str) -> bool:
    """A pair, a genus of the list, or two words of which the second ends as Latin does."""
    if "::" in value:
        return True
    found = value.replace("×", " ").split()
    if not found or not found[0].isalpha():
        return False
    if found[0].lower() in GENERA:
        return True
    return len(found) > 1 and names.is_latin(value.capitalize()) and bool(_LATIN_ENDING.search(found[1].lower()))


def looks_dated(value: str) -> bool:
    def read(order: values.DateOrder) -> object | None:
        return attempt(lambda text: values.planted(text, order, _ANY_DAY), value)

    return any(map(read, values.DateOrder))


def looks_classed(value: str) -> bool:
    found = attempt(lambda text: values.size(text, "cm"), value)
    return isinstance(found, values.Size) and bool(found.as_given)


def is_degree(value: str) -> bool:
    found = attempt(positions.degrees, value)
    return isinstance(found, float) and abs(found) <= 180
