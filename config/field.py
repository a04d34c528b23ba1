"""What each floor brings to the tablets: the kinds of records they send, the parts of a park that they take along."""

from config.field_page import build
from hazards.field import kinds, packs
from hazards.field.views import Field

FIELD = Field(kinds=kinds.KINDS, parts=packs.PARTS, build=build)
