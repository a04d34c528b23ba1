"""Which species a name of a file means: one of the palette by its name or another it goes by, or a new one."""

from collections.abc import Sequence
from dataclasses import dataclass

from inventory.importing.names import key
from inventory.models import Species


@dataclass(frozen=True)
class Named:
    """A name as it stands in the file, once for all rows that share its key."""

    key: str
    botanical: str
    genus: str
    common: str


def ids_of(named: Sequence[Named]) -> tuple[dict[str, int], list[Species]]:
    """Species ids by the names' keys, and those that had to be made.

    A botanical name is compared without case, hybrid sign and old spelling; a row with a common name alone takes the
    one species that bears it.
    """
    by_key, by_common = _known()
    new: dict[str, Species] = {}
    found: dict[str, int] = {}
    for name in named:
        known = by_key.get(name.key) or (None if name.botanical else by_common.get(name.common.lower()))
        if known is None:
            new[name.key] = Species(botanical=name.botanical or name.common, common=name.common, genus=name.genus)
        else:
            found[name.key] = known
    made = Species.objects.bulk_create(new.values())
    return found | {name_key: species.pk for name_key, species in zip(new, made, strict=True)}, made


def _known() -> tuple[dict[str, int], dict[str, int]]:
    """By key and by common name; where two share one, the palette's goes first, and a shared common name names none."""
    by_key: dict[str, int] = {}
    by_common: dict[str, int] = {}
    shared: set[str] = set()
    for pk, botanical, common in Species.objects.order_by("-palette", "pk").values_list("pk", "botanical", "common"):
        by_key.setdefault(key(botanical), pk)
        if common and by_common.setdefault(common.lower(), pk) != pk:
            shared.add(common.lower())
    return by_key, {common: pk for common, pk in by_common.items() if common not in shared}
