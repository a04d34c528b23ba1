"""A tree corrected into another park takes its removal orders and its replacement task along."""

from django.db import migrations

FOLLOW = """
CREATE FUNCTION work_follows_the_tree() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    UPDATE removals_removalorder SET park_id = NEW.park_id WHERE tree_id = NEW.id;
    UPDATE replanting_replacementtask SET park_id = NEW.park_id WHERE removed_tree_id = NEW.id;
    RETURN NULL;
END $$;
CREATE TRIGGER work_follows_the_tree AFTER UPDATE OF park_id ON inventory_tree
    FOR EACH ROW WHEN (NEW.park_id <> OLD.park_id) EXECUTE FUNCTION work_follows_the_tree();
"""
UNDO = """
DROP TRIGGER work_follows_the_tree ON inventory_tree;
DROP FUNCTION work_follows_the_tree();
"""


class Migration(migrations.Migration):
    dependencies = [
        ("removals", "0003_work_around_a_felling"),
        ("replanting", "0002_guards"),
        ("inventory", "0002_guards"),
    ]

    operations = [migrations.RunSQL(FOLLOW, UNDO)]
