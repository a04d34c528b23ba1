"""What a tablet sent stays as it was sent; what leaves a park is noted for the packs that still hold it."""

from django.db import migrations

APPEND_ONLY = """
CREATE TRIGGER field_record_append_only BEFORE UPDATE OR DELETE ON hazards_fieldrecord
    FOR EACH ROW EXECUTE FUNCTION append_only();
"""
UNDO_APPEND_ONLY = "DROP TRIGGER field_record_append_only ON hazards_fieldrecord;"

# Row triggers behind a condition: an import that moves no tree into another park never runs them.
GONE = """
CREATE FUNCTION field_gone() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    INSERT INTO hazards_fieldgone (park_id, part, "row", transaction)
        SELECT OLD.park_id, TG_ARGV[0], OLD.id, pg_current_xact_id()::text::bigint
        WHERE EXISTS (SELECT FROM inventory_park WHERE id = OLD.park_id);
    RETURN NULL;
END $$;
CREATE TRIGGER field_tree_moved AFTER UPDATE OF park_id ON inventory_tree FOR EACH ROW
    WHEN (OLD.park_id IS DISTINCT FROM NEW.park_id) EXECUTE FUNCTION field_gone('trees');
CREATE TRIGGER field_tree_deleted AFTER DELETE ON inventory_tree FOR EACH ROW EXECUTE FUNCTION field_gone('trees');
CREATE TRIGGER field_target_moved AFTER UPDATE OF park_id ON hazards_target FOR EACH ROW
    WHEN (OLD.park_id IS DISTINCT FROM NEW.park_id) EXECUTE FUNCTION field_gone('targets');
CREATE TRIGGER field_target_deleted AFTER DELETE ON hazards_target FOR EACH ROW EXECUTE FUNCTION field_gone('targets');
"""
UNDO_GONE = """
DROP TRIGGER field_tree_moved ON inventory_tree;
DROP TRIGGER field_tree_deleted ON inventory_tree;
DROP TRIGGER field_target_moved ON hazards_target;
DROP TRIGGER field_target_deleted ON hazards_target;
DROP FUNCTION field_gone();
"""


class Migration(migrations.Migration):
    dependencies = [("hazards", "0014_records_of_tablets"), ("inventory", "0005_photos_without_a_tree")]

    operations = [
        migrations.RunSQL(APPEND_ONLY, UNDO_APPEND_ONLY),
        migrations.RunSQL(GONE, UNDO_GONE),
    ]
