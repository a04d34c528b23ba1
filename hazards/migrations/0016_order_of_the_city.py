"""A city orders its ranking; between equal keys the tag decides; grave ratings are looked at again."""

import django.contrib.postgres.fields
from django.db import migrations, models

import hazards.models.policy

FILL = """
UPDATE hazards_standing s
    SET tag = t.tag,
        -- Dated anew by the next page: declining since when, and the looks that a grave rating asks for.
        stale = s.stale OR (s.inspected_on IS NOT NULL
            AND (s.imminent OR s.rating IN ('extreme', 'high') OR t.condition = 'dying'))
    FROM inventory_tree t WHERE t.id = s.tree_id;
"""
# As before, and each row carries the tag of its tree.
ADDED = """
CREATE OR REPLACE FUNCTION standing_follows_new_trees() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    INSERT INTO hazards_standing (tree_id, park_id, tag, rating, imminent, reason)
        SELECT id, park_id, tag, '', false, '' FROM added WHERE status <> 'removed';
    RETURN NULL;
END $$;
"""
CHANGED = """
CREATE OR REPLACE FUNCTION standing_follows_changed_trees() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    DELETE FROM hazards_standing s USING after_it n WHERE s.tree_id = n.id AND n.status = 'removed';
    UPDATE hazards_standing s SET park_id = n.park_id, tag = n.tag FROM after_it n
        WHERE s.tree_id = n.id AND (s.park_id <> n.park_id OR s.tag <> n.tag);
    INSERT INTO hazards_standing (tree_id, park_id, tag, rating, imminent, reason)
        SELECT n.id, n.park_id, n.tag, '', false, '' FROM after_it n JOIN before_it o USING (id)
        WHERE n.status <> 'removed' AND o.status = 'removed';
    UPDATE hazards_standing s SET stale = true FROM after_it n JOIN before_it o USING (id)
        WHERE s.tree_id = n.id AND s.inspected_on IS NOT NULL AND NOT s.stale
          AND (n.species_id, n.status, n.condition, n.dead_since) IS DISTINCT FROM
              (o.species_id, o.status, o.condition, o.dead_since);
    RETURN NULL;
END $$;
"""
UNDO_ADDED = ADDED.replace("park_id, tag, rating", "park_id, rating").replace("park_id, tag, ''", "park_id, ''")
UNDO_CHANGED = (
    CHANGED.replace("park_id = n.park_id, tag = n.tag FROM", "park_id = n.park_id FROM")
    .replace("(s.park_id <> n.park_id OR s.tag <> n.tag)", "s.park_id <> n.park_id")
    .replace("park_id, tag, rating", "park_id, rating")
    .replace("n.park_id, n.tag, ''", "n.park_id, ''")
)
INDEXES = {
    "standing_triage": {"fields": ["triage_key"]},
    "standing_park_triage": {"fields": ["park", "triage_key"]},
    "standing_rating_triage": {"fields": ["rating", "triage_key"]},
    "standing_imminent": {"fields": ["triage_key"], "condition": models.Q(imminent=True)},
}


def by_tag():
    """Each index that ended with the tree's number ends with its tag."""
    for name, made in INDEXES.items():
        yield migrations.RemoveIndex("standing", name)
        yield migrations.AddIndex("standing", models.Index(name=name, **{**made, "fields": [*made["fields"], "tag"]}))


class Migration(migrations.Migration):
    dependencies = [("hazards", "0015_guards_of_those_records")]

    operations = [
        migrations.AddField("citypolicy", "extreme_look_days", models.PositiveSmallIntegerField(blank=True, default=7, null=True)),
        migrations.AddField("citypolicy", "high_look_days", models.PositiveSmallIntegerField(blank=True, default=90, null=True)),
        migrations.AddField("citypolicy", "moderate_look_days", models.PositiveSmallIntegerField(blank=True, null=True)),
        migrations.AddField("citypolicy", "low_look_days", models.PositiveSmallIntegerField(blank=True, null=True)),
        migrations.AddField(
            "citypolicy",
            "order",
            django.contrib.postgres.fields.ArrayField(
                base_field=models.CharField(max_length=20), blank=True, default=hazards.models.policy.own_order, size=None
            ),
        ),
        migrations.AddField(
            "standing",
            "declining_since",
            models.DateField(blank=True, help_text="the first of the last looks that found it dying", null=True),
        ),
        migrations.AddField(
            "standing",
            "tag",
            models.CharField(db_collation="C", default="", editable=False, max_length=40),
            preserve_default=False,
        ),
        migrations.RunSQL(FILL, migrations.RunSQL.noop),
        *by_tag(),
        migrations.AddIndex("standing", models.Index(fields=["park", "inspect_due"], name="standing_park_inspect_due")),
        migrations.RunSQL(ADDED, UNDO_ADDED),
        migrations.RunSQL(CHANGED, UNDO_CHANGED),
    ]
