"""Names of trees as files write them: botanical, with cultivar, with the common name in the same cell, or a genus alone."""

import re
from dataclasses import dataclass
from functools import lru_cache

from inventory.importing.values import is_blank

_PAIR = re.compile(r"\s*::\s*|\s+[-–—|/]\s+")
_BRACKET = re.compile(r"(.*?)\s*\(([^()]+)\)\s*")
_QUOTED = re.compile(r"[‘'\"“”’]([^‘'\"“”’]+(?:[’'](?:s\b)[^‘'\"“”’]*)?)[’'\"”“]")
_CV = re.compile(r"\bcv\.?\s+(.+)$", re.IGNORECASE)
_CROSS = re.compile(r"(?<=\s)[xX×]\s+(?=\S)|^[xX×]\s+(?=\S)|×\s*(?=\S)")
_RANKS = {
    "var": "var.", "var.": "var.", "v.": "var.", "subsp": "subsp.", "subsp.": "subsp.", "ssp": "subsp.",
    "ssp.": "subsp.", "f.": "f.", "fo.": "f.", "forma": "f.",
}  # fmt: skip
_GENUS_ONLY = frozenset({"sp", "sp.", "spp", "spp.", "species", "sp.?", "spp.?", *_RANKS})
_LATIN_ENDING = re.compile(r".*(us|a|um|is|i|ae|ns|ea)$")
_AUTHOR = re.compile(r"\(|.*\.$|&|ex$|et$|Linnaeus$|Miller$|Marshall$|Mill$")
_NO_NAME = re.compile(
    r"(?:unknown|unidentified|not identified|undetermined|other|mixed|tree|tree\(s\)|misc\w*)"
    r"(?:\s+(?:tree|species|sp\.?|spp\.?))*",
    re.I,
)
_LATIN = re.compile(r"×?[A-Z][a-z-]{2,}(?:\s+(?:[x×X]\s*)?[a-z-]{3,}.*)?")

# Other names of a taxon, as older files and other lists write it → the name used here; without hybrid signs. From memory of
# Plants of the World Online (Royal Botanic Gardens, Kew).
SYNONYMS = {
    "acer saccharum subsp. nigrum": "acer nigrum",
    "acer tataricum subsp. ginnala": "acer ginnala",
    "aesculus octandra": "aesculus flava",
    "aria edulis": "sorbus aria",
    "carya alba": "carya tomentosa",
    "cedrus libani subsp. atlantica": "cedrus atlantica",
    "cercis canadensis var. reniformis": "cercis canadensis",
    "cercis reniformis": "cercis canadensis",
    "chamaecyparis nootkatensis": "cupressus nootkatensis",
    "cladrastis lutea": "cladrastis kentukea",
    "crataegus germanica": "mespilus germanica",
    "cupressocyparis leylandii": "cupressus leylandii",
    "eucalyptus citriodora": "corymbia citriodora",
    "eucalyptus ficifolia": "corymbia ficifolia",
    "eucalyptus maculata": "corymbia maculata",
    "evodia daniellii": "tetradium daniellii",
    "hesperotropsis leylandii": "cupressus leylandii",
    "malus pumila": "malus domestica",
    "pinus leucodermis": "pinus heldreichii",
    "platanus hispanica": "platanus acerifolia",
    "platanus hybrida": "platanus acerifolia",
    "quercus nuttallii": "quercus texana",
    "quercus prinus": "quercus montana",
    "robinia pseudacacia": "robinia pseudoacacia",
    "salix babylonica var. matsudana": "salix matsudana",
    "salix rubens": "salix fragilis",
    "sophora japonica": "styphnolobium japonicum",
    "syringa reticulata subsp. pekinensis": "syringa pekinensis",
    "thuja orientalis": "platycladus orientalis",
    "tilia vulgaris": "tilia europaea",
    "ulmus carpinifolia": "ulmus minor",
    "ulmus japonica": "ulmus davidiana",
}


@dataclass(frozen=True, slots=True)
class Name:
    """A taxon (``botanical``, without the cultivar), its cultivar and its common name; one of the three is given."""

    botanical: str = ""
    cultivar: str = ""
    common: str = ""

    @property
    def genus(self) -> str:
        first = self.botanical.split(" ", 1)[0]
        return first.lstrip("×") if _LATIN.match(first) else ""

    @property
    def key(self) -> str:
        """By which names are compared: without case, hybrid sign and old spelling."""
        return key(self.botanical or self.common)

    def __str__(self) -> str:
        botanical = f"{self.botanical} '{self.cultivar}'" if self.cultivar else self.botanical
        return f"{botanical} :: {self.common}" if self.common and botanical else botanical or self.common


@lru_cache(maxsize=20_000)
def key(name: str) -> str:
    plain = " ".join(name.lower().replace("×", " ").split())
    return SYNONYMS.get(plain, plain)


def is_latin(text: str) -> bool:
    """Has the form of a botanical name, or of a genus alone."""
    return bool(_LATIN.fullmatch(text))


@lru_cache(maxsize=20_000)
def parse(text: str) -> Name | None:
    """The name in one cell, case and signs mended; None when the cell names no tree.

    ``Acer platanoides 'Crimson King' :: crimson king maple``, ``PLATANUS X ACERIFOLIA``, ``Quercus sp.``, ``red maple
    (Acer rubrum)``, ``Gleditsia triacanthos var. inermis``, ``Tilia cordata Mill.`` What has no botanical form is kept
    as it stands.
    """
    plain = " ".join(text.split())
    if is_blank(plain) or _NO_NAME.fullmatch(plain):
        return None
    first, common = _parted(plain)
    botanical, cultivar = _botanical(first)
    if botanical and not common and not is_latin(botanical):
        return Name(common=plain)
    named = Name(botanical, cultivar, "" if is_blank(common) else common)
    return named if named.botanical or named.common else None


def _parted(text: str) -> tuple[str, str]:
    """Botanical and common part, '' where there is none."""
    parts = _PAIR.split(text, maxsplit=1)
    if len(parts) == 2:
        return _latin_first(parts[0], parts[1])
    found = _BRACKET.fullmatch(text)
    if found and found[1] and not _AUTHOR.match(found[2]):
        return _latin_first(found[1], found[2])
    return text, ""


def _latin_first(one: str, other: str) -> tuple[str, str]:
    swap = bool(one) and " " in other and is_latin(other) and not (" " in one and is_latin(one))
    return (other, one) if swap else (one, other)


def _botanical(text: str) -> tuple[str, str]:
    """Taxon and cultivar."""
    if is_blank(text) or _NO_NAME.fullmatch(text):
        return "", ""
    found = _QUOTED.search(text) or _CV.search(text)
    cultivar = found[1].strip() if found else ""
    bare = f"{text[: found.start()]} {text[found.end() :]}" if found else text
    words = _CROSS.sub("×", " ".join(bare.split())).split()
    taxon, rest = _taxon(words)
    return taxon, cased(cultivar or " ".join(rest))


def _taxon(words: list[str]) -> tuple[str, list[str]]:
    """The words of the taxon, mended, and the words after it that may be a cultivar without its quotes."""
    if not words:
        return "", []
    shouted = len(words) > 1 and all(word.isupper() for word in words if word[-1:].isalpha() and len(word) > 1)
    taxon = [_capital(words[0])]
    rest = words[1:]
    while rest:
        word = rest[0].lower()
        if word in _RANKS and len(rest) > 1:
            taxon += [_RANKS[word], rest[1].lower()]
            rest = rest[2:]
        elif word in _GENUS_ONLY or not (len(taxon) == 1 or _goes_on(rest[0], shouted)):
            break
        else:
            taxon.append(word)
            rest = rest[1:]
    return " ".join(taxon), [] if not rest or rest[0].lower() in _GENUS_ONLY or _AUTHOR.match(rest[0]) else rest


def _goes_on(word: str, shouted: bool) -> bool:
    """Whether a word after the epithet belongs to the taxon still; a name in capitals shows it only by its Latin."""
    if shouted:
        return bool(_LATIN_ENDING.fullmatch(word.lower()))
    return word.islower() and not _AUTHOR.match(word)


def _capital(word: str) -> str:
    return f"×{word[1:].capitalize()}" if word.startswith("×") else word.capitalize()


def cased(cultivar: str) -> str:
    """A cultivar in capitals throughout, in the case it is printed in."""
    return cultivar.title() if cultivar.isupper() and len(cultivar) > 3 else cultivar
