"""Options only grow, and those known so far get their row; work and closures stand in the park of their tree."""

from django.db import migrations

APPEND_ONLY = """
CREATE TRIGGER option_append_only BEFORE UPDATE OR DELETE ON hazards_mitigationoption
    FOR EACH ROW EXECUTE FUNCTION append_only();
"""
UNDO_APPEND_ONLY = "DROP TRIGGER option_append_only ON hazards_mitigationoption;"

# Before there were several options an assessment had one, kept in its own columns.
KEPT_SO_FAR = """
INSERT INTO hazards_mitigationoption
    (id, assessment_id, mitigation, residual_rating, failure, impact, consequences, note, chosen)
SELECT gen_random_uuid(), id, mitigation, residual_rating, '', '', '', '', true
FROM hazards_assessment WHERE mitigation <> '';
"""

IN_ITS_PARK = """
CREATE FUNCTION stands_in_park_of_its_tree() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF NEW.tree_id IS NOT NULL AND NEW.park_id <> (SELECT park_id FROM inventory_tree WHERE id = NEW.tree_id) THEN
        RAISE EXCEPTION 'the row stands in another park than its tree' USING ERRCODE = 'check_violation';
    END IF;
    RETURN NEW;
END $$;
CREATE TRIGGER mitigation_in_its_park BEFORE INSERT OR UPDATE OF tree_id, park_id ON hazards_mitigationorder
    FOR EACH ROW EXECUTE FUNCTION stands_in_park_of_its_tree();
CREATE TRIGGER closure_in_its_park BEFORE INSERT OR UPDATE OF tree_id, park_id ON hazards_closure
    FOR EACH ROW EXECUTE FUNCTION stands_in_park_of_its_tree();

CREATE FUNCTION mitigation_follows_the_tree() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    UPDATE hazards_mitigationorder SET park_id = NEW.park_id WHERE tree_id = NEW.id;
    UPDATE hazards_closure SET park_id = NEW.park_id WHERE tree_id = NEW.id;
    RETURN NULL;
END $$;
CREATE TRIGGER mitigation_follows_the_tree AFTER UPDATE OF park_id ON inventory_tree
    FOR EACH ROW WHEN (NEW.park_id <> OLD.park_id) EXECUTE FUNCTION mitigation_follows_the_tree();
"""
UNDO_IN_ITS_PARK = """
DROP TRIGGER mitigation_follows_the_tree ON inventory_tree;
DROP FUNCTION mitigation_follows_the_tree();
DROP TRIGGER closure_in_its_park ON hazards_closure;
DROP TRIGGER mitigation_in_its_park ON hazards_mitigationorder;
DROP FUNCTION stands_in_park_of_its_tree();
"""


class Migration(migrations.Migration):
    dependencies = [("hazards", "0008_work_other_than_removal")]

    operations = [
        migrations.RunSQL(KEPT_SO_FAR, migrations.RunSQL.noop),
        migrations.RunSQL(APPEND_ONLY, UNDO_APPEND_ONLY),
        migrations.RunSQL(IN_ITS_PARK, UNDO_IN_ITS_PARK),
    ]
