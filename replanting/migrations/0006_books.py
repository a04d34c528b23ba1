"""The books of the promises: what a removed tree's tasks must add up to, and the ledger as views."""

from django.db import migrations

FIRST_TASK = """
CREATE OR REPLACE FUNCTION removed_tree_has_task() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
    removed bigint;
BEGIN
    IF TG_TABLE_NAME = 'inventory_tree' THEN
        removed := NEW.id;
    ELSE
        removed := OLD.removed_tree_id;
    END IF;
    IF EXISTS (SELECT FROM inventory_tree WHERE id = removed AND status = 'removed')
       AND NOT EXISTS (SELECT FROM replanting_replacementtask WHERE removed_tree_id = removed {first})
       -- a young tree that failed is owed by the task it was planted for, which has reopened
       AND NOT EXISTS (SELECT FROM replanting_planting WHERE tree_id = removed AND failed_on IS NOT NULL)
    THEN
        RAISE EXCEPTION 'tree % was removed without a replacement task', removed USING ERRCODE = 'check_violation';
    END IF;
    RETURN NULL;
END $$;
DROP TRIGGER task_stays ON replanting_replacementtask;
CREATE CONSTRAINT TRIGGER task_stays AFTER DELETE OR UPDATE OF removed_tree_id{of_first} ON replanting_replacementtask
    DEFERRABLE INITIALLY DEFERRED FOR EACH ROW EXECUTE FUNCTION removed_tree_has_task();
"""

# A removed tree owes one until its number is fixed, then that number, whatever becomes of its tasks.
BALANCE = """
CREATE FUNCTION units_are_what_is_owed() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
    of_tree bigint;
    held bigint;
    due bigint;
BEGIN
    FOREACH of_tree IN ARRAY ARRAY[
        CASE WHEN TG_OP <> 'DELETE' THEN NEW.removed_tree_id END, CASE WHEN TG_OP <> 'INSERT' THEN OLD.removed_tree_id END
    ] LOOP
        SELECT sum(units) INTO held FROM replanting_replacementtask WHERE removed_tree_id = of_tree;
        due := COALESCE((SELECT trees FROM replanting_owed WHERE removed_tree_id = of_tree), 1);
        IF held <> due THEN
            RAISE EXCEPTION '% are owed for tree %, its tasks hold %', due, of_tree, held
                USING ERRCODE = 'check_violation';
        END IF;
    END LOOP;
    RETURN NULL;
END $$;
CREATE CONSTRAINT TRIGGER units_balance AFTER INSERT OR DELETE OR UPDATE OF units, removed_tree_id
    ON replanting_replacementtask DEFERRABLE INITIALLY DEFERRED FOR EACH ROW EXECUTE FUNCTION units_are_what_is_owed();
CREATE CONSTRAINT TRIGGER owed_balance AFTER INSERT OR DELETE OR UPDATE ON replanting_owed
    DEFERRABLE INITIALLY DEFERRED FOR EACH ROW EXECUTE FUNCTION units_are_what_is_owed();
"""
UNBALANCE = """
DROP TRIGGER units_balance ON replanting_replacementtask;
DROP TRIGGER owed_balance ON replanting_owed;
DROP FUNCTION units_are_what_is_owed();
"""

VIEWS = """
CREATE VIEW replanting_account AS
SELECT t.id AS task_id, t.park_id, EXTRACT(YEAR FROM t.opened_on)::int AS year, t.due_on,
    t.units::int AS owed,
    CASE WHEN t.state IN ('open', 'species chosen', 'ordered') THEN t.units ELSE 0 END::int AS open,
    CASE WHEN t.state = 'planted' THEN t.units ELSE 0 END::int AS planted,
    CASE WHEN t.state = 'established' THEN t.units ELSE 0 END::int AS established,
    CASE WHEN t.state = 'waived' THEN t.units ELSE 0 END::int AS waived,
    CASE WHEN t.waived_kind = 'fund in lieu' THEN t.units ELSE 0 END::int AS fund,
    CASE WHEN t.state IN ('planted', 'established') AND t.stands_in <> t.park_id THEN t.units ELSE 0 END::int AS elsewhere,
    t.failures::int AS failures,
    (p.living_on IS NOT NULL AND p.living_on <= t.due_on)::int AS kept,
    (p.living_on IS NOT NULL AND p.living_on > t.due_on)::int AS late,
    p.first_on - t.opened_on AS wait_days
FROM replanting_replacementtask t
LEFT JOIN LATERAL (
    SELECT min(planted_on) AS first_on, min(planted_on) FILTER (WHERE failed_on IS NULL) AS living_on
    FROM replanting_planting WHERE task_id = t.id
) p ON true;

CREATE VIEW replanting_ledger AS
SELECT park_id, year,
    sum(owed)::int AS owed, sum(open)::int AS open, sum(planted)::int AS planted, sum(established)::int AS established,
    sum(waived)::int AS waived, COALESCE(sum(open) FILTER (WHERE due_on < CURRENT_DATE), 0)::int AS overdue,
    sum(failures)::int AS failures, sum(elsewhere)::int AS elsewhere,
    percentile_cont(0.5) WITHIN GROUP (ORDER BY wait_days) AS median_wait_days
FROM replanting_account
GROUP BY park_id, year;
"""
NO_VIEWS = "DROP VIEW replanting_ledger; DROP VIEW replanting_account;"


class Migration(migrations.Migration):
    dependencies = [("replanting", "0005_owed_units_obstacles")]

    operations = [
        migrations.RunSQL(
            FIRST_TASK.format(first="AND first", of_first=", first"), FIRST_TASK.format(first="", of_first="")
        ),
        migrations.RunSQL(BALANCE, UNBALANCE),
        migrations.RunSQL(VIEWS, NO_VIEWS),
    ]
