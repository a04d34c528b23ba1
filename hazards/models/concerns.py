"""What is stored of concerns: what somebody saw at a tree and told the city, and what became of it."""

from __future__ import annotations

import secrets
from typing import ClassVar

from django.conf import settings
from django.db import models
from django.db.models import Q
from uuid_utils.compat import uuid7

from hazards.models.work import AskedLook
from inventory.models import Park, Tree, between, one_of

# Without letters and digits that are taken for each other when they are read out.
_ALPHABET = "23456789ABCDEFGHJKMNPQRSTUVWXYZ"
CONTACT_DAYS_MAX = 730


def new_reference() -> str:
    """``7K3M-9QXF-2H``: 49 bits, so that nobody finds another's by trying."""
    signs = "".join(secrets.choice(_ALPHABET) for _ in range(10))
    return f"{signs[:4]}-{signs[4:8]}-{signs[8:]}"


class Seen(models.TextChoices):
    """What somebody saw, in words that need no training."""

    FALLING = "falling", "A tree or limb that looks about to fall"
    BROKEN = "broken", "A broken or hanging limb"
    LEANING = "leaning", "A tree that leans more than before, or soil that lifts"
    FALLEN = "fallen", "A tree or limb on the ground"
    HOLLOW = "hollow", "A crack, a hollow or a mushroom on the stem"
    DEAD = "dead", "A tree that looks dead or is dying back"
    IN_THE_WAY = "in-the-way", "Branches in the way, or over a sign or lamp"
    ROOTS = "roots", "Roots that lift a path"
    LEAVES = "leaves", "Something on the leaves, insects, sticky drops"
    OTHER = "other", "Something else"


class ConcernSource(models.TextChoices):
    PUBLIC = "public", "the public page"
    STAFF = "staff", "a colleague"
    OPEN311 = "open311", "Open311"


class ConcernState(models.TextChoices):
    NEW = "new"
    ANSWERED = "answered"
    INSPECTION = "inspection"
    URGENT = "urgent"
    SPAM = "spam"


OPEN_CONCERNS = (ConcernState.NEW, ConcernState.INSPECTION, ConcernState.URGENT)


class ConcernQuerySet(models.QuerySet["Concern"]):
    def open(self) -> ConcernQuerySet:
        return self.filter(state__in=OPEN_CONCERNS)


class Concern(models.Model):
    """What somebody told of a tree. ``contact`` is the one thing kept about them, and only until ``forget_at``.

    Its photos are in the photo store under ``about=id``, without a tree until a person has looked at them.
    """

    id = models.UUIDField(primary_key=True, default=uuid7)
    reference = models.CharField(max_length=12, unique=True, default=new_reference, editable=False)
    source = models.CharField(max_length=8, choices=ConcernSource)
    seen = models.CharField("what was seen", max_length=12, choices=Seen)
    description = models.TextField("in their own words", blank=True)
    place = models.CharField(max_length=200, blank=True)
    lon = models.FloatField("longitude, °", null=True, blank=True)
    lat = models.FloatField("latitude, °", null=True, blank=True)
    park = models.ForeignKey(Park, on_delete=models.PROTECT, null=True, blank=True, related_name="concerns")
    tree = models.ForeignKey(Tree, on_delete=models.PROTECT, null=True, blank=True, related_name="concerns")
    tree_is_sure = models.BooleanField("a person has said which tree it is", default=False)
    contact = models.CharField(max_length=200, blank=True)
    forget_at = models.DateTimeField(null=True, blank=True)
    forgotten_at = models.DateTimeField(null=True, blank=True)
    received_at = models.DateTimeField()
    received_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    state = models.CharField(max_length=10, choices=ConcernState, default=ConcernState.NEW)
    answer = models.TextField(blank=True)
    asked = models.ForeignKey(AskedLook, on_delete=models.PROTECT, null=True, blank=True, related_name="concerns")
    changed_at = models.DateTimeField()
    decided_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )

    objects: ClassVar = ConcernQuerySet.as_manager()

    class Meta:
        ordering: ClassVar = ["-received_at", "-id"]
        indexes: ClassVar = [
            models.Index(fields=["-received_at", "-id"], name="concern_latest"),
            models.Index(fields=["state", "-received_at", "-id"], name="concern_state_latest"),
            models.Index(fields=["park", "-received_at", "-id"], name="concern_park_latest"),
            models.Index(fields=["forget_at"], name="concern_forget_due", condition=Q(forgotten_at__isnull=True)),
        ]
        constraints: ClassVar = [
            one_of("source", ConcernSource, name="concern_source"),
            one_of("seen", Seen, name="concern_seen"),
            one_of("state", ConcernState, name="concern_state_known"),
            between("lon", -180, 180, name="concern_lon"),
            between("lat", -90, 90, name="concern_lat"),
            models.CheckConstraint(
                condition=Q(lon__isnull=True, lat__isnull=True) | Q(lon__isnull=False, lat__isnull=False),
                name="concern_position_whole",
            ),
            models.CheckConstraint(
                condition=Q(contact="") | Q(forget_at__isnull=False, forgotten_at__isnull=True),
                name="concern_contact_has_its_end",
            ),
            models.CheckConstraint(
                condition=~Q(state=ConcernState.ANSWERED) | ~Q(answer=""), name="concern_answered_in_words"
            ),
            models.CheckConstraint(
                condition=~Q(state=ConcernState.INSPECTION) | Q(asked__isnull=False), name="concern_look_is_asked"
            ),
            models.CheckConstraint(
                condition=~Q(state=ConcernState.SPAM) | Q(contact="", description="", place=""),
                name="concern_spam_is_emptied",
            ),
        ]

    def __str__(self) -> str:
        return f"concern {self.reference}"

    @property
    def is_open(self) -> bool:
        return self.state in OPEN_CONCERNS


class ConcernDesk(models.Model):
    """What the city has set about concerns: one row, and none while the program's defaults hold: all of it shut."""

    id = models.PositiveSmallIntegerField(primary_key=True, default=1, editable=False)
    version = models.PositiveIntegerField(default=0, editable=False)
    page_open = models.BooleanField("the public page is open", default=False)
    open311_open = models.BooleanField("Open311 is open", default=False)
    emergency_number = models.CharField(max_length=60, blank=True)
    contact_days = models.PositiveSmallIntegerField("days that a contact is kept", default=90)

    class Meta:
        constraints: ClassVar = [
            models.CheckConstraint(condition=Q(id=1), name="concern_desk_one"),
            models.CheckConstraint(condition=Q(contact_days__range=(1, CONTACT_DAYS_MAX)), name="concern_desk_days"),
        ]

    def __str__(self) -> str:
        return f"settings of concerns, version {self.version}"


class PlainAnswer(models.Model):
    """The city's own plain answer, or its own wording of one that the program brings (the same ``slug``)."""

    slug = models.SlugField(max_length=40, unique=True)
    title = models.CharField(max_length=80)
    text = models.TextField()
    used = models.BooleanField("offered", default=True)

    class Meta:
        ordering: ClassVar = ["title"]
        constraints: ClassVar = [
            models.CheckConstraint(condition=~Q(title="") & ~Q(text=""), name="plain_answer_whole"),
        ]

    def __str__(self) -> str:
        return self.title


class Knock(models.Model):
    """One report from one sender, kept for the limit alone: a keyed hash of the address, and only until ``until``."""

    sender = models.CharField(max_length=64)
    until = models.DateTimeField()

    class Meta:
        ordering: ClassVar = ["pk"]
        indexes: ClassVar = [
            models.Index(fields=["sender", "until"], name="knock_sender"),
            models.Index(fields=["until"], name="knock_until"),
        ]

    def __str__(self) -> str:
        return f"knock until {self.until:%Y-%m-%d %H:%M}"


class ApiKey(models.Model):
    """Who may send reports through Open311; of the key itself only a hash is kept."""

    name = models.CharField(max_length=80, unique=True)
    digest = models.CharField(max_length=64, unique=True)
    made_at = models.DateTimeField(auto_now_add=True)
    ended_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering: ClassVar = ["name"]

    def __str__(self) -> str:
        return self.name
