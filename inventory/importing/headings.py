"""The words by which files head their columns."""

import re
import unicodedata

from inventory.importing.mapping import Role
from inventory.importing.values import unit_of

# In order of preference. A star: the words may also stand inside a longer heading.
PHRASES: dict[Role, tuple[str, ...]] = {
    Role.LATITUDE: ("geometry latitude", "latitude*", "lat", "lat wgs84", "point lat", "y lat", "gps lat"),
    Role.LONGITUDE: ("geometry longitude", "longitude*", "lon", "long", "lng", "point lon", "x long", "gps lon", "gps long"),
    Role.POINT: (
        "geolocation*", "geo point 2d", "geo point", "geopoint", "the geom", "geom", "geometry", "wkt", "coordinates",
        "lat long", "lat lon", "latlong", "location", "point", "position", "shape",
    ),
    Role.X: ("geometry x*", "easting*", "x coordinate", "x coord", "xcoord", "coord x", "point x", "x sp", "x", "east"),
    Role.Y: ("geometry y*", "northing*", "y coordinate", "y coord", "ycoord", "coord y", "point y", "y sp", "y", "north"),
    Role.STUMP: ("stump diameter*", "stump diam*", "stump size", "stump width", "stump dbh"),
    Role.SPREAD: (
        "crown spread*", "canopy spread*", "crown diameter*", "canopy diameter*", "crown width*", "canopy width*",
        "crown diam*", "spread*", "crown",
        "kronendurchmesser", "kronedurch",
    ),
    Role.SIZE_CLASS: (
        "dbh class*", "diameter class*", "size class*", "dbh range*", "diameter range*", "size range*", "girth class*",
        "dbh category", "diameter category", "size category", "class", "size", "trunk size",
    ),
    Role.DBH: (
        "dbh*", "diameter breast height*", "diameter at breast height*", "trunk diameter*", "stem diameter*",
        "diameter trunk", "diameter*", "diam*", "trunk dia", "caliper*", "calliper*",
        "stammdurchmesser", "durchmesser", "brusthohendurchmesser", "bhd", "diametre", "diametro",
    ),
    Role.GIRTH: (
        "girth*", "trunk circumference*", "stem circumference*", "circumference*", "cbh", "gbh", "circ",
        "stammumfang", "stammumfg", "umfang", "circonference", "circonferenceencm", "perimetro",
    ),
    Role.HEIGHT: ("height*", "total height", "ht", "hohe", "baumhohe", "baumhoehe", "hauteur", "hauteurenm", "altura"),
    Role.TAG: (
        "tag*", "id", "number", "no", "nr", "num", "tree tag", "tag id", "asset id", "asset number", "asset no", "com id",
        "inventory number", "inventory id", "unique id", "reference", "ref", "plant id", "site id", "gis id", "uid",
        "global id", "globalid", "key", "code", "objectid", "object id", "gid", "fid",
        "baumnummer", "baumnr", "baum nr", "standortnr", "idbase",
    ),
    Role.PARK: (
        "park name*", "park", "park code", "parkname", "reserve name", "reserve", "garden", "garden name", "open space",
        "green space", "facility name", "facility", "property name", "property", "site name", "site", "location name",
        "place", "cemetery", "estate", "borough*", "boroname", "boro name", "boro", "district*", "precinct*", "ward*",
        "suburb*", "neighbourhood*", "neighborhood*", "locality", "area name", "area", "zone", "region", "section",
        "bezirk", "arrondissement", "quartier", "barrio", "distrito",
    ),
    Role.BOTANICAL: (
        "botanical name*", "botanical*", "scientific name*", "scientific*", "latin name*", "spc latin", "latin*",
        "species name", "species*", "taxon*", "binomial", "full name", "name", "qspecies", "spp", "spc", "plant",
        "baumart", "art bot", "botanischer name", "nombre cientifico",
    ),
    Role.COMMON: (
        "common name*", "common*", "spc common", "vernacular*", "english name", "popular name", "species common",
        "species", "name", "kind",
        "art dtsch", "deutscher name", "libelle francais", "libellefrancais", "nombre comun",
    ),
    Role.GENUS: ("genus*", "genus name", "gen", "gattung", "genre", "genero"),
    Role.EPITHET: ("specific epithet", "epithet", "species", "species epithet", "species name", "spec", "espece", "especie"),
    Role.CULTIVAR: ("cultivar*", "cultivar name", "variety", "cv", "infraspecific", "sorte", "variete", "variete oucultivar"),
    Role.PLANTED: (
        "date planted*", "planted date*", "planting date*", "plant date*", "planted on", "planted", "date plant",
        "plantdate", "dateplanted", "date of planting",
        "pflanzdatum",
    ),
    Role.PLANTED_YEAR: (
        "year planted*", "planted year*", "planting year*", "plant year*", "yearplanted", "plantyear", "year of planting",
        "year",
        "pflanzjahr",
    ),
    Role.STATUS: ("status*", "life status", "alive", "alive dead", "living", "state", "lifecycle*", "vitality status"),
    Role.TYPE: (
        "record type", "record", "record kind", "entity", "site type", "type", "feature type", "feature", "asset type",
        "entry type", "category", "kind",
    ),
    Role.CONDITION: ("condition*", "health*", "vigour*", "vigor*", "vitality*", "cond"),
    Role.NOTE: (
        "notes*", "note", "comments*", "comment", "remarks*", "remark", "problems*", "problem", "observations*", "defects*",
    ),
}  # fmt: skip

_NOISE = frozenset({"tree", "trees", "the", "of", "value", "current", "est", "estimated", "approx", "measured"})
# Beside a measure these make it a number of something else: HEIGHT_RANGE_ID.
_NO_MEASURE = frozenset({"id", "code", "index"})
_EPSG = re.compile(r"epsg\D{0,3}(\d{4,6})", re.IGNORECASE)
_WORDS = re.compile(r"[A-Z]?[a-z]+|[A-Z]+(?![a-z])|\d+|[^\W\d_]+")


def words(heading: str) -> tuple[str, ...]:
    """``Date.Planted`` and ``datePlanted`` → date, planted; letters without their accents."""
    plain = unicodedata.normalize("NFKD", heading)
    return tuple(
        word.lower() for word in _WORDS.findall("".join(sign for sign in plain if not unicodedata.combining(sign)))
    )


def reduced(heading: str) -> str:
    """A heading without its units and without what is said of every column of a tree file."""
    found = words(_EPSG.sub("", heading))
    kept = [word for word in found if word not in _NOISE and not _is_unit(word, found)]
    return " ".join(kept) or " ".join(found)


def unit_in(heading: str) -> str | None:
    """The unit a heading names; the last one, so that ``height in m`` is metres."""
    found = [unit for word in words(heading)[1:] if (unit := unit_of(word))]
    return found[-1] if found else None


def epsg_in(heading: str) -> int | None:
    """``x (EPSG:2263)`` → 2263."""
    found = _EPSG.search(heading)
    return int(found[1]) if found else None


def _is_unit(word: str, found: tuple[str, ...]) -> bool:
    return unit_of(word) is not None and word != found[0]


def columns_for(role: Role, headings: list[str]) -> list[tuple[int, bool]]:
    """The columns whose heading may mean the role, best first, and whether the heading says just that and no more."""
    short = [reduced(heading) for heading in headings]
    ranked: dict[int, bool] = {}
    for phrase in PHRASES[role]:
        plain = reduced(phrase.rstrip("*"))
        ranked |= {place: True for place, name in enumerate(short) if name == plain and place not in ranked}
    for phrase in PHRASES[role]:
        if phrase.endswith("*"):
            inside = re.compile(rf"\b{re.escape(phrase[:-1])}\b")
            found = (
                place for place, name in enumerate(short) if inside.search(name) and not _NO_MEASURE & {*name.split()}
            )
            ranked |= {place: False for place in found if place not in ranked}
    return list(ranked.items())
