"""A row of the ranking is marked when what it was worked out from changes, whoever changes it."""

from django.db import migrations, models

CHANGED = """
CREATE OR REPLACE FUNCTION standing_follows_changed_trees() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    DELETE FROM hazards_standing s USING after_it n WHERE s.tree_id = n.id AND n.status = 'removed';
    UPDATE hazards_standing s SET park_id = n.park_id FROM after_it n
        WHERE s.tree_id = n.id AND s.park_id <> n.park_id;
    INSERT INTO hazards_standing (tree_id, park_id, rating, imminent, reason)
        SELECT n.id, n.park_id, '', false, '' FROM after_it n JOIN before_it o USING (id)
        WHERE n.status <> 'removed' AND o.status = 'removed';
    UPDATE hazards_standing s SET stale = true FROM after_it n JOIN before_it o USING (id)
        WHERE s.tree_id = n.id AND s.inspected_on IS NOT NULL AND NOT s.stale
          AND (n.species_id, n.status, n.condition, n.dead_since) IS DISTINCT FROM
              (o.species_id, o.status, o.condition, o.dead_since);
    RETURN NULL;
END $$;

CREATE FUNCTION standing_follows_changed_species() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    UPDATE hazards_standing s SET stale = true FROM inventory_tree t
        WHERE t.id = s.tree_id AND t.species_id = NEW.id AND s.inspected_on IS NOT NULL AND NOT s.stale;
    RETURN NULL;
END $$;
CREATE TRIGGER standing_species AFTER UPDATE OF flag ON inventory_species
    FOR EACH ROW WHEN (NEW.flag <> OLD.flag) EXECUTE FUNCTION standing_follows_changed_species();
"""
UNDO = """
DROP TRIGGER standing_species ON inventory_species;
DROP FUNCTION standing_follows_changed_species();
CREATE OR REPLACE FUNCTION standing_follows_changed_trees() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    DELETE FROM hazards_standing s USING after_it n WHERE s.tree_id = n.id AND n.status = 'removed';
    UPDATE hazards_standing s SET park_id = n.park_id FROM after_it n
        WHERE s.tree_id = n.id AND s.park_id <> n.park_id;
    INSERT INTO hazards_standing (tree_id, park_id, rating, imminent, reason)
        SELECT n.id, n.park_id, '', false, '' FROM after_it n JOIN before_it o USING (id)
        WHERE n.status <> 'removed' AND o.status = 'removed';
    RETURN NULL;
END $$;
"""


class Migration(migrations.Migration):
    dependencies = [("hazards", "0005_city_policy"), ("inventory", "0004_source_digest")]

    operations = [
        migrations.AddField("standing", "stale", models.BooleanField(db_default=False, default=False)),
        migrations.AddIndex(
            "standing", models.Index(fields=["tree"], name="standing_stale", condition=models.Q(stale=True))
        ),
        migrations.RunSQL(CHANGED, UNDO),
    ]
