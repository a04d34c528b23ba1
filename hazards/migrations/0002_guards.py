"""Inspections only grow; exactly one standing row a standing tree, whoever writes the trees."""

from django.db import migrations

APPEND_ONLY = """
CREATE TRIGGER inspection_append_only BEFORE UPDATE OR DELETE ON hazards_inspection FOR EACH ROW EXECUTE FUNCTION append_only();
CREATE TRIGGER assessment_append_only BEFORE UPDATE OR DELETE ON hazards_assessment FOR EACH ROW EXECUTE FUNCTION append_only();
CREATE TRIGGER defect_append_only BEFORE UPDATE OR DELETE ON hazards_defect FOR EACH ROW EXECUTE FUNCTION append_only();
"""
UNDO_APPEND_ONLY = """
DROP TRIGGER inspection_append_only ON hazards_inspection;
DROP TRIGGER assessment_append_only ON hazards_assessment;
DROP TRIGGER defect_append_only ON hazards_defect;
"""

# Statement triggers with transition tables: an import of a million trees fires each once a statement, not once a row.
STANDING = """
CREATE FUNCTION standing_follows_new_trees() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    INSERT INTO hazards_standing (tree_id, park_id, rating, imminent, reason)
        SELECT id, park_id, '', false, '' FROM added WHERE status <> 'removed';
    RETURN NULL;
END $$;
CREATE TRIGGER standing_added AFTER INSERT ON inventory_tree
    REFERENCING NEW TABLE AS added FOR EACH STATEMENT EXECUTE FUNCTION standing_follows_new_trees();

CREATE FUNCTION standing_follows_changed_trees() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    DELETE FROM hazards_standing s USING after_it n WHERE s.tree_id = n.id AND n.status = 'removed';
    UPDATE hazards_standing s SET park_id = n.park_id FROM after_it n
        WHERE s.tree_id = n.id AND s.park_id <> n.park_id;
    INSERT INTO hazards_standing (tree_id, park_id, rating, imminent, reason)
        SELECT n.id, n.park_id, '', false, '' FROM after_it n JOIN before_it o USING (id)
        WHERE n.status <> 'removed' AND o.status = 'removed';
    RETURN NULL;
END $$;
CREATE TRIGGER standing_changed AFTER UPDATE ON inventory_tree
    REFERENCING OLD TABLE AS before_it NEW TABLE AS after_it FOR EACH STATEMENT
    EXECUTE FUNCTION standing_follows_changed_trees();
"""
UNDO_STANDING = """
DROP TRIGGER standing_added ON inventory_tree;
DROP TRIGGER standing_changed ON inventory_tree;
DROP FUNCTION standing_follows_new_trees();
DROP FUNCTION standing_follows_changed_trees();
"""


class Migration(migrations.Migration):
    dependencies = [("hazards", "0001_initial"), ("inventory", "0002_guards")]

    operations = [
        migrations.RunSQL(APPEND_ONLY, UNDO_APPEND_ONLY),
        migrations.RunSQL(STANDING, UNDO_STANDING),
    ]
