"""What each floor brings to the tablets: the kinds of records they send, the parts of a park that they take along."""

from config.field_page import build
from hazards.field import kinds, packs, storms
from hazards.field.views import Field
from inventory.access import Permission
from removals import field as crews
from replanting import field as care

CARE = packs.Part("plantings", lambda asked: care.plantings(asked.park, asked.on), Permission.CARE)

FIELD = Field(
    kinds=(*kinds.KINDS, *storms.KINDS, *crews.KINDS, *care.KINDS),
    parts=(*packs.PARTS, *storms.PARTS, *crews.PARTS, CARE),
    build=build,
)
