"""No tree is removed without its replacement task: checked by the database when the transaction ends."""

from django.db import migrations

COMMITMENT = """
CREATE FUNCTION removed_tree_has_task() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
    removed bigint;
BEGIN
    IF TG_TABLE_NAME = 'inventory_tree' THEN
        removed := NEW.id;
    ELSE
        removed := OLD.removed_tree_id;
    END IF;
    IF EXISTS (SELECT FROM inventory_tree WHERE id = removed AND status = 'removed')
       AND NOT EXISTS (SELECT FROM replanting_replacementtask WHERE removed_tree_id = removed)
       -- a young tree that failed is owed by the task it was planted for, which has reopened
       AND NOT EXISTS (SELECT FROM replanting_planting WHERE tree_id = removed AND failed_on IS NOT NULL)
    THEN
        RAISE EXCEPTION 'tree % was removed without a replacement task', removed USING ERRCODE = 'check_violation';
    END IF;
    RETURN NULL;
END $$;
CREATE CONSTRAINT TRIGGER removed_tree_has_task AFTER INSERT OR UPDATE OF status ON inventory_tree
    DEFERRABLE INITIALLY DEFERRED FOR EACH ROW WHEN (NEW.status = 'removed') EXECUTE FUNCTION removed_tree_has_task();
CREATE CONSTRAINT TRIGGER task_stays AFTER DELETE OR UPDATE OF removed_tree_id ON replanting_replacementtask
    DEFERRABLE INITIALLY DEFERRED FOR EACH ROW EXECUTE FUNCTION removed_tree_has_task();
"""
UNDO = """
DROP TRIGGER removed_tree_has_task ON inventory_tree;
DROP TRIGGER task_stays ON replanting_replacementtask;
DROP FUNCTION removed_tree_has_task();
"""


class Migration(migrations.Migration):
    dependencies = [("replanting", "0001_initial"), ("inventory", "0002_guards")]

    operations = [migrations.RunSQL(COMMITMENT, UNDO)]
