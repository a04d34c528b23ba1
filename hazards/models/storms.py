"""What is stored of storms: an event for some parks, and what was found after it."""

from __future__ import annotations

from typing import ClassVar

from django.conf import settings
from django.db import models
from django.db.models import F, Q
from uuid_utils.compat import uuid7

from hazards.matrix import Occupancy
from hazards.models.words import is_word, words
from hazards.models.work import Closure
from hazards.storm import SIZE_MAX_CM, Find, FindKind
from inventory.bounds import DBH_MAX_CM
from inventory.models import Park, Tree, between

GUST_MAX_MS = 120


class StormQuerySet(models.QuerySet["StormEvent"]):
    def open(self) -> StormQuerySet:
        return self.filter(ended_at__isnull=True)


class StormEvent(models.Model):
    """One storm over some parks, from its opening to the day when all it left is dealt with or given to inspections."""

    name = models.CharField(max_length=80)
    parks: models.ManyToManyField[Park, models.Model] = models.ManyToManyField(Park, related_name="storms")
    began_at = models.DateTimeField()
    gust_ms = models.FloatField("strongest gust, m/s", null=True, blank=True)
    opened_at = models.DateTimeField(auto_now_add=True)
    opened_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+")
    ended_at = models.DateTimeField(null=True, blank=True)
    ended_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )

    objects: ClassVar = StormQuerySet.as_manager()

    class Meta:
        ordering: ClassVar = ["-pk"]
        constraints: ClassVar = [
            models.CheckConstraint(condition=~Q(name=""), name="storm_named"),
            between("gust_ms", 0, GUST_MAX_MS, name="storm_gust"),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def is_open(self) -> bool:
        return self.ended_at is None


class StormFindQuerySet(models.QuerySet["StormFind"]):
    def open(self) -> StormFindQuerySet:
        return self.filter(dealt_at__isnull=True)


class StormFind(models.Model):
    """One thing that the storm did: at a tree of the inventory or only at a place, in the order of danger to people."""

    id = models.UUIDField(primary_key=True, default=uuid7)
    event = models.ForeignKey(StormEvent, on_delete=models.PROTECT, related_name="finds")
    park = models.ForeignKey(Park, on_delete=models.PROTECT, related_name="storm_finds")
    tree = models.ForeignKey(Tree, on_delete=models.PROTECT, null=True, blank=True, related_name="storm_finds")
    place = models.CharField(max_length=200, blank=True)
    lon = models.FloatField("longitude, °", null=True, blank=True)
    lat = models.FloatField("latitude, °", null=True, blank=True)
    kind = models.CharField(max_length=30, choices=words(FindKind))
    occupancy = models.CharField("use of the place", max_length=12, choices=words(Occupancy))
    wires = models.BooleanField("wires are down or touched", default=False)
    emergency_way = models.BooleanField("an emergency way is blocked", default=False)
    size_cm = models.FloatField("diameter at the break or of the stem, cm", null=True, blank=True)
    # For the record that a claim for reimbursement asks for.
    dbh_cm = models.FloatField("diameter at breast height, cm", null=True, blank=True)
    stump_cm = models.FloatField("diameter of the stump, cm", null=True, blank=True)
    crown_lost_pct = models.PositiveSmallIntegerField("crown lost, %", null=True, blank=True)
    lean_deg = models.PositiveSmallIntegerField("lean, °", null=True, blank=True)
    public_property = models.BooleanField("on public ground", null=True, blank=True)
    note = models.TextField(blank=True)
    danger = models.BigIntegerField(editable=False)
    reason = models.CharField(max_length=300, editable=False)
    seen_at = models.DateTimeField()
    received_at = models.DateTimeField(auto_now_add=True)
    seen_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+")
    closure = models.OneToOneField(Closure, on_delete=models.PROTECT, null=True, blank=True, related_name="storm_find")
    dealt_at = models.DateTimeField(null=True, blank=True)
    dealt_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    dealt_how = models.CharField(max_length=300, blank=True)

    objects: ClassVar = StormFindQuerySet.as_manager()

    class Meta:
        ordering: ClassVar = ["danger", "id"]
        indexes: ClassVar = [
            models.Index(fields=["event", "danger", "id"], name="find_open", condition=Q(dealt_at__isnull=True)),
            models.Index(fields=["event", "-dealt_at", "-id"], name="find_dealt", condition=Q(dealt_at__isnull=False)),
        ]
        constraints: ClassVar = [
            is_word("kind", FindKind, name="find_kind"),
            is_word("occupancy", Occupancy, name="find_occupancy"),
            models.CheckConstraint(condition=Q(tree__isnull=False) | ~Q(place=""), name="find_somewhere"),
            between("lon", -180, 180, name="find_lon"),
            between("lat", -90, 90, name="find_lat"),
            models.CheckConstraint(
                condition=Q(lon__isnull=True, lat__isnull=True) | Q(lon__isnull=False, lat__isnull=False),
                name="find_position_whole",
            ),
            between("size_cm", 0.1, SIZE_MAX_CM, name="find_size"),
            between("dbh_cm", 0.1, DBH_MAX_CM, name="find_dbh"),
            between("stump_cm", 0.1, SIZE_MAX_CM, name="find_stump"),
            between("crown_lost_pct", 0, 100, name="find_crown_lost"),
            between("lean_deg", 0, 90, name="find_lean"),
            models.CheckConstraint(
                condition=Q(dealt_at__isnull=True, dealt_by__isnull=True, dealt_how="")
                | (Q(dealt_at__gte=F("seen_at")) & ~Q(dealt_how="")),
                name="find_dealt_whole",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.kind} at {self.where}"

    @property
    def where(self) -> str:
        return self.tree.tag if self.tree else self.place

    @property
    def is_open(self) -> bool:
        return self.dealt_at is None

    @property
    def as_found(self) -> Find:
        """What the order of danger is made from."""
        return Find(
            kind=FindKind(self.kind),
            occupancy=Occupancy(self.occupancy),
            wires=self.wires,
            emergency_way=self.emergency_way,
            size_cm=self.size_cm,
        )
