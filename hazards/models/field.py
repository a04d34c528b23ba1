"""What is stored of the tablets: each record as it was sent, and what has left a park since a pack was taken."""

from __future__ import annotations

from typing import ClassVar

from django.conf import settings
from django.contrib.postgres.fields import ArrayField
from django.db import models

from hazards.models.inspections import Target
from inventory.models import AppendOnlyQuerySet, Park, Tree


class FieldRecord(models.Model):
    """One record of a tablet that was stored, with its payload as it was sent; ``id`` was made on the tablet.

    ``tree`` and ``target`` are what a record of that kind made, so that records that follow it may name its id.
    """

    id = models.UUIDField(primary_key=True)
    kind = models.CharField(max_length=40)
    user = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    device = models.CharField(max_length=64)
    recorded_at = models.DateTimeField("recorded at, by the tablet's clock")
    received_at = models.DateTimeField(auto_now_add=True)
    clock_offset_ms = models.BigIntegerField("server minus tablet, ms", null=True)
    schema = models.PositiveSmallIntegerField()
    sha256 = models.CharField(max_length=64)
    payload = models.JSONField()
    number = models.CharField(max_length=80, blank=True)
    url = models.CharField(max_length=200, blank=True)
    flags = ArrayField(models.CharField(max_length=300), default=list, blank=True)
    tree = models.ForeignKey(Tree, on_delete=models.PROTECT, null=True, related_name="+")
    target = models.ForeignKey(Target, on_delete=models.PROTECT, null=True, related_name="+")

    objects: ClassVar = AppendOnlyQuerySet.as_manager()

    class Meta:
        ordering: ClassVar = ["-received_at", "-id"]

    def __str__(self) -> str:
        return f"{self.kind} {self.number or self.pk}"


class FieldGone(models.Model):
    """A row that left a park: taken away, or moved into another. Written by the database itself."""

    park = models.ForeignKey(Park, on_delete=models.CASCADE, related_name="+")
    part = models.CharField(max_length=20)
    row = models.BigIntegerField()
    # The transaction that did it: its number says whether a pack taken meanwhile could know.
    transaction = models.BigIntegerField()

    class Meta:
        indexes: ClassVar = [models.Index(fields=["park", "transaction"], name="field_gone_since")]

    def __str__(self) -> str:
        return f"{self.part} {self.row} of {self.park_id}"
