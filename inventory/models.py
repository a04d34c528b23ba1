"""What is stored of parks, species, trees, places, imports and of who did what."""

from __future__ import annotations

from typing import Any, ClassVar, NoReturn

from django.conf import settings
from django.contrib.postgres.fields import ArrayField
from django.contrib.postgres.indexes import GinIndex, OpClass
from django.db import models
from django.db.models import F, Q
from django.db.models.functions import Upper
from uuid_utils.compat import uuid7

from inventory.bounds import DBH_MAX_CM, HEIGHT_MAX_M, SPREAD_MAX_M
from inventory.cells import cell


def between(field: str, low: float, high: float, *, name: str) -> models.CheckConstraint:
    """Empty, or within the bounds."""
    return models.CheckConstraint(
        condition=Q(**{f"{field}__isnull": True}) | Q(**{f"{field}__range": (low, high)}), name=name
    )


def one_of(
    field: str, choices: type[models.TextChoices], *, name: str, or_empty: bool = False
) -> models.CheckConstraint:
    """The database holds the choices too: a bulk write may not slip past the form."""
    words = [*choices.values, ""] if or_empty else choices.values
    return models.CheckConstraint(condition=Q(**{f"{field}__in": words}), name=name)


def holds_text(field: str, *, name: str) -> GinIndex:
    """Serves ``field__icontains``, which asks for the text in upper case: an index on the bare column would stand idle."""
    return GinIndex(OpClass(Upper(field), name="gin_trgm_ops"), name=name)


class Park(models.Model):
    """A park, with the emergency card of the place."""

    code = models.CharField(max_length=12, unique=True)
    name = models.CharField(max_length=120)
    boundary = models.JSONField(null=True, blank=True, help_text="GeoJSON Polygon or MultiPolygon, WGS 84")
    area_m2 = models.FloatField("area, m²", null=True, blank=True, help_text="geodesic, from the boundary")
    hardiness_zone = models.CharField(max_length=3, blank=True, help_text="for example 6a")
    dispatch_address = models.CharField("address to give a dispatcher", max_length=200, blank=True)
    access_note = models.TextField("how a rescuer gets in", blank=True)
    hospital = models.CharField("nearest hospital", max_length=200, blank=True)
    phone_coverage = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering: ClassVar = ["code"]
        constraints: ClassVar = [
            models.CheckConstraint(condition=Q(code__regex=r"^[A-Z0-9][A-Z0-9-]{0,11}$"), name="park_code_form"),
        ]

    def __str__(self) -> str:
        return self.name


class SizeClass(models.TextChoices):
    SMALL = "small"
    MEDIUM = "medium"
    LARGE = "large"


class Porosity(models.TextChoices):
    RING = "ring"
    SEMI_RING = "semi-ring"
    DIFFUSE = "diffuse"
    CONIFER = "conifer"
    NONE = "none", "no rings"


class Species(models.Model):
    """A taxon. ``palette`` ones carry the figures of the palette file; others are names met in an import."""

    botanical = models.CharField(max_length=120, unique=True)
    common = models.CharField(max_length=120, blank=True)
    genus = models.CharField(max_length=60, db_index=True)
    family = models.CharField(max_length=60, blank=True)
    palette = models.BooleanField(default=False)
    zone_min = models.PositiveSmallIntegerField(null=True, blank=True)
    zone_max = models.PositiveSmallIntegerField(null=True, blank=True)
    height_min_m = models.FloatField(null=True, blank=True)
    height_max_m = models.FloatField(null=True, blank=True)
    spread_min_m = models.FloatField(null=True, blank=True)
    spread_max_m = models.FloatField(null=True, blank=True)
    size_class = models.CharField(max_length=10, blank=True, choices=SizeClass)
    growth = models.CharField(max_length=10, blank=True)
    light = ArrayField(models.CharField(max_length=10), default=list, blank=True)
    moisture = ArrayField(models.CharField(max_length=10), default=list, blank=True)
    flood_tolerance = models.CharField(max_length=10, blank=True)
    drought_tolerance = models.CharField(max_length=10, blank=True)
    ph_min = models.FloatField(null=True, blank=True)
    ph_max = models.FloatField(null=True, blank=True)
    salt_tolerance = models.CharField(max_length=10, blank=True)
    leaf = models.CharField(max_length=20, blank=True)
    porosity = models.CharField(max_length=10, blank=True, choices=Porosity)
    jenkins_group = models.CharField(max_length=40, blank=True)
    pests = ArrayField(models.CharField(max_length=10), default=list, blank=True)
    flag = models.CharField(max_length=200, blank=True, help_text="invasive, weak wood and the like")

    class Meta:
        ordering: ClassVar = ["botanical"]
        verbose_name_plural = "species"
        indexes: ClassVar = [
            holds_text("botanical", name="species_botanical_trgm"),
            holds_text("common", name="species_common_trgm"),
        ]
        constraints: ClassVar = [
            between("zone_min", 1, 13, name="species_zone_min"),
            between("zone_max", 1, 13, name="species_zone_max"),
            one_of("size_class", SizeClass, name="species_size_class", or_empty=True),
            one_of("porosity", Porosity, name="species_porosity", or_empty=True),
            models.CheckConstraint(
                condition=Q(zone_min__isnull=True) | Q(zone_min__lte=F("zone_max")), name="species_zone_order"
            ),
        ]

    def __str__(self) -> str:
        return self.botanical

    @property
    def weak_wooded(self) -> bool:
        return "weak wood" in self.flag


class TreeStatus(models.TextChoices):
    STANDING = "standing"
    DEAD_STANDING = "dead standing"
    REMOVED = "removed"


class Condition(models.TextChoices):
    GOOD = "good"
    FAIR = "fair"
    POOR = "poor"
    DYING = "dying"
    DEAD = "dead"


class DatePrecision(models.TextChoices):
    DAY = "day"
    MONTH = "month"
    YEAR = "year"


class TreeQuerySet(models.QuerySet["Tree"]):
    def standing(self) -> TreeQuerySet:
        """Alive or dead, it still stands."""
        return self.exclude(status=TreeStatus.REMOVED)

    def removed(self) -> TreeQuerySet:
        return self.filter(status=TreeStatus.REMOVED)

    def unlocated(self) -> TreeQuerySet:
        """Kept without a position, to be located on the ground."""
        return self.standing().filter(cell__isnull=True)

    def named(self, text: str) -> TreeQuerySet:
        """Tag or name holds the text (trigram indexes serve all four)."""
        species = Species.objects.filter(Q(botanical__icontains=text) | Q(common__icontains=text))
        # Read here, not as a subquery: beside OR the database would look at every tree instead of at its indexes.
        found = list(species.values_list("pk", flat=True))
        return self.filter(Q(tag__icontains=text) | Q(cultivar__icontains=text) | Q(species__in=found))


class Tree(models.Model):
    """A tree of the inventory: its place, its size and what stood there before."""

    tag = models.CharField(max_length=40, unique=True)
    park = models.ForeignKey(Park, on_delete=models.PROTECT, related_name="trees")
    species = models.ForeignKey(Species, on_delete=models.PROTECT, null=True, blank=True, related_name="trees")
    cultivar = models.CharField(max_length=80, blank=True)
    lon = models.FloatField("longitude, °", null=True, blank=True)
    lat = models.FloatField("latitude, °", null=True, blank=True)
    cell = models.BigIntegerField(null=True, blank=True, editable=False)
    status = models.CharField(max_length=15, choices=TreeStatus, default=TreeStatus.STANDING)
    condition = models.CharField(max_length=10, choices=Condition, blank=True)
    dead_since = models.DateField(null=True, blank=True, help_text="empty while alive, or when the date is unknown")
    removed_on = models.DateField(null=True, blank=True)
    dbh_cm = models.FloatField("diameter at breast height, cm", null=True, blank=True)
    dbh_estimated = models.BooleanField("diameter estimated", default=False)
    size_as_given = models.CharField(max_length=40, blank=True, help_text="a size class as the source wrote it")
    stems_cm = ArrayField(models.FloatField(), default=list, blank=True, help_text="diameters of several stems, cm")
    height_m = models.FloatField("height, m", null=True, blank=True)
    crown_spread_m = models.FloatField("crown spread, m", null=True, blank=True)
    planted_on = models.DateField(null=True, blank=True)
    planted_precision = models.CharField(max_length=5, choices=DatePrecision, blank=True)
    growing_space_m = models.FloatField("growing space, m", null=True, blank=True)
    overhead_lines = models.BooleanField(null=True, blank=True)
    light = models.CharField(max_length=10, blank=True)
    soil_moisture = models.CharField(max_length=10, blank=True)
    replaces = models.ForeignKey("self", on_delete=models.PROTECT, null=True, blank=True, related_name="replacements")
    note = models.TextField(blank=True)
    # What the last imported file said of it: the same said again changes nothing, whatever was corrected here since.
    source_digest = models.CharField(max_length=32, blank=True, editable=False)
    created_at = models.DateTimeField(auto_now_add=True)
    updated_at = models.DateTimeField(auto_now=True)

    objects: ClassVar = TreeQuerySet.as_manager()

    class Meta:
        ordering: ClassVar = ["tag"]
        indexes: ClassVar = [
            models.Index(fields=["park", "tag"], name="tree_park_tag"),
            models.Index(fields=["species", "tag"], name="tree_species_tag"),
            models.Index(fields=["status", "tag"], name="tree_status_tag"),
            models.Index(fields=["cell"], name="tree_cell"),
            holds_text("tag", name="tree_tag_trgm"),
            holds_text("cultivar", name="tree_cultivar_trgm"),
        ]
        constraints: ClassVar = [
            one_of("status", TreeStatus, name="tree_status"),
            one_of("condition", Condition, name="tree_condition", or_empty=True),
            one_of("planted_precision", DatePrecision, name="tree_planted_precision", or_empty=True),
            models.CheckConstraint(condition=~Q(tag=""), name="tree_tag_given"),
            between("lon", -180, 180, name="tree_lon"),
            between("lat", -90, 90, name="tree_lat"),
            models.CheckConstraint(
                condition=Q(lon__isnull=True, lat__isnull=True, cell__isnull=True)
                | Q(lon__isnull=False, lat__isnull=False, cell__isnull=False),
                name="tree_position_whole",
            ),
            models.CheckConstraint(
                condition=(Q(status=TreeStatus.REMOVED) & Q(removed_on__isnull=False))
                | (~Q(status=TreeStatus.REMOVED) & Q(removed_on__isnull=True)),
                name="tree_removed_has_date",
            ),
            models.CheckConstraint(
                condition=Q(planted_on__isnull=True, planted_precision="")
                | (Q(planted_on__isnull=False) & ~Q(planted_precision="")),
                name="tree_planted_precision_paired",
            ),
            models.CheckConstraint(
                condition=Q(dbh_cm__isnull=True) | Q(dbh_cm__gt=0, dbh_cm__lte=DBH_MAX_CM), name="tree_dbh"
            ),
            models.CheckConstraint(
                condition=Q(height_m__isnull=True) | Q(height_m__gt=0, height_m__lte=HEIGHT_MAX_M), name="tree_height"
            ),
            between("crown_spread_m", 0, SPREAD_MAX_M, name="tree_crown_spread"),
            models.CheckConstraint(condition=~Q(replaces=F("id")), name="tree_replaces_another"),
        ]

    def __str__(self) -> str:
        return self.tag

    def place(self, lon: float | None, lat: float | None) -> None:
        """Set the position and its map cell together."""
        self.lon, self.lat = lon, lat
        self.cell = None if lon is None or lat is None else cell(lon, lat)

    @property
    def stands(self) -> bool:
        return self.status != TreeStatus.REMOVED

    @property
    def is_dead(self) -> bool:
        return self.status == TreeStatus.DEAD_STANDING

    @property
    def name(self) -> str:
        """The name in full, with the cultivar in its quotes."""
        base = self.species.botanical if self.species else "species unknown"
        return f"{base} ‘{self.cultivar}’" if self.cultivar else base


class PlaceKind(models.TextChoices):
    STUMP = "stump"
    VACANT = "vacant site"


class PlantingPlace(models.Model):
    """A place where a tree could stand: a stump or a vacant site met in an import."""

    tag = models.CharField(max_length=40, unique=True)
    park = models.ForeignKey(Park, on_delete=models.PROTECT, related_name="places")
    kind = models.CharField(max_length=12, choices=PlaceKind)
    lon = models.FloatField(null=True, blank=True)
    lat = models.FloatField(null=True, blank=True)
    stump_diameter_cm = models.FloatField(null=True, blank=True)
    note = models.TextField(blank=True)

    class Meta:
        ordering: ClassVar = ["tag"]
        constraints: ClassVar = [
            one_of("kind", PlaceKind, name="place_kind"),
            between("lon", -180, 180, name="place_lon"),
            between("lat", -90, 90, name="place_lat"),
        ]

    def __str__(self) -> str:
        return self.tag


def photo_path(photo: Photo, filename: str) -> str:
    """The name of the upload never reaches the disk."""
    return f"photos/{photo.pk.hex[:6]}/{photo.pk.hex}.jpg"


class Photo(models.Model):
    """A photograph of a tree, or of no tree yet; ``about`` names the record it came with, an inspection for instance."""

    id = models.UUIDField(primary_key=True, default=uuid7)
    tree = models.ForeignKey(Tree, on_delete=models.PROTECT, null=True, blank=True, related_name="photos")
    about = models.UUIDField(null=True, blank=True, db_index=True)
    image = models.ImageField(upload_to=photo_path)
    sha256 = models.CharField(max_length=64)
    caption = models.CharField(max_length=200, blank=True)
    taken_at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+")

    class Meta:
        ordering: ClassVar = ["-taken_at"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["tree", "sha256"], name="photo_once_a_tree"),
            models.UniqueConstraint(
                fields=["about", "sha256"], condition=Q(tree__isnull=True), name="photo_once_a_record"
            ),
            models.CheckConstraint(
                condition=Q(tree__isnull=False) | Q(about__isnull=False), name="photo_belongs_somewhere"
            ),
        ]

    def __str__(self) -> str:
        return self.caption or f"photo of {self.tree_id}"


class RunState(models.TextChoices):
    UPLOADED = "uploaded"
    QUEUED = "queued"
    RUNNING = "running"
    DONE = "done"
    FAILED = "failed"
    CANCELLED = "cancelled"


class ImportRun(models.Model):
    """One reading of one tree file: its mapping, its counts and, beside it, every refused row."""

    file_name = models.CharField(max_length=200)
    file = models.FileField(upload_to="imports/", blank=True)
    sha256 = models.CharField(max_length=64, blank=True)
    mapping = models.JSONField(default=dict)
    park = models.ForeignKey(Park, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    state = models.CharField(max_length=10, choices=RunState, default=RunState.UPLOADED)
    message = models.TextField(blank=True, help_text="why it failed, or what was assumed")
    progress_done = models.BigIntegerField(default=0)
    progress_total = models.BigIntegerField(default=0)
    rows = models.IntegerField(default=0)
    imported = models.IntegerField(default=0)
    updated = models.IntegerField(default=0)
    unchanged = models.IntegerField(default=0)
    sites = models.IntegerField(default=0)
    refused = models.IntegerField(default=0)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+")
    created_at = models.DateTimeField(auto_now_add=True)
    finished_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering: ClassVar = ["-pk"]
        constraints: ClassVar = [
            one_of("state", RunState, name="run_state"),
            models.CheckConstraint(
                condition=~Q(state=RunState.DONE)
                | Q(rows=F("imported") + F("updated") + F("unchanged") + F("sites") + F("refused")),
                name="run_every_row_accounted_for",
            ),
        ]

    def __str__(self) -> str:
        return self.file_name


class ImportRefusal(models.Model):
    """A source row that was not taken, with the column, the value and the reason."""

    run = models.ForeignKey(ImportRun, on_delete=models.CASCADE, related_name="refusals")
    row = models.IntegerField()
    column = models.CharField(max_length=200)
    value = models.TextField()
    reason = models.TextField()

    class Meta:
        ordering: ClassVar = ["run", "row"]
        constraints: ClassVar = [models.UniqueConstraint(fields=["run", "row"], name="refusal_once_a_row")]

    def __str__(self) -> str:
        return f"row {self.row}: {self.reason}"


class ColumnMapping(models.Model):
    """A mapping that was confirmed once, remembered by the file's header."""

    header_key = models.CharField(max_length=64, unique=True)
    header = models.JSONField()
    mapping = models.JSONField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+")
    updated_at = models.DateTimeField(auto_now=True)

    class Meta:
        ordering: ClassVar = ["-updated_at"]

    def __str__(self) -> str:
        return ", ".join(self.header[:4])


class AppendOnlyError(TypeError):
    """A record that is only ever added to was about to be changed."""


class AppendOnlyQuerySet(models.QuerySet[Any]):
    """Refuses what would change rows; a trigger in the database refuses the rest."""

    def _refuse(self, *args: object, **kwargs: object) -> NoReturn:
        raise AppendOnlyError(f"{self.model._meta.verbose_name} is append-only: add a correction instead")

    update = _refuse
    delete = _refuse
    bulk_update = _refuse


class RecordEntry(models.Model):
    """The append-only record: who did what to what, when, and from where."""

    at = models.DateTimeField()
    actor = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+")
    actor_name = models.CharField(max_length=150)
    via = models.CharField(max_length=20)
    verb = models.CharField(max_length=60)
    subject_type = models.CharField(max_length=40)
    subject_id = models.CharField(max_length=40)
    tree = models.ForeignKey(Tree, on_delete=models.PROTECT, null=True, related_name="record")
    summary = models.CharField(max_length=300)
    data = models.JSONField(default=dict)

    objects: ClassVar = AppendOnlyQuerySet.as_manager()

    class Meta:
        ordering: ClassVar = ["-pk"]
        verbose_name_plural = "record entries"
        indexes: ClassVar = [
            models.Index(fields=["tree", "-id"], name="record_tree"),
            models.Index(fields=["subject_type", "subject_id", "-id"], name="record_subject"),
        ]

    def __str__(self) -> str:
        return self.summary
