"""A find of a storm and a concern stand in the park of their tree, also after the tree's park was corrected."""

from django.db import migrations

IN_ITS_PARK = """
CREATE TRIGGER find_in_its_park BEFORE INSERT OR UPDATE OF tree_id, park_id ON hazards_stormfind
    FOR EACH ROW EXECUTE FUNCTION stands_in_park_of_its_tree();

CREATE FUNCTION concern_takes_park_of_its_tree() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF NEW.tree_id IS NOT NULL THEN
        NEW.park_id := (SELECT park_id FROM inventory_tree WHERE id = NEW.tree_id);
    END IF;
    RETURN NEW;
END $$;
CREATE TRIGGER concern_takes_park_of_its_tree BEFORE INSERT OR UPDATE OF tree_id, park_id ON hazards_concern
    FOR EACH ROW EXECUTE FUNCTION concern_takes_park_of_its_tree();

CREATE FUNCTION reports_follow_the_tree() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    UPDATE hazards_stormfind SET park_id = NEW.park_id WHERE tree_id = NEW.id;
    UPDATE hazards_concern SET park_id = NEW.park_id WHERE tree_id = NEW.id;
    RETURN NULL;
END $$;
CREATE TRIGGER reports_follow_the_tree AFTER UPDATE OF park_id ON inventory_tree
    FOR EACH ROW WHEN (NEW.park_id <> OLD.park_id) EXECUTE FUNCTION reports_follow_the_tree();
"""
UNDO = """
DROP TRIGGER reports_follow_the_tree ON inventory_tree;
DROP FUNCTION reports_follow_the_tree();
DROP TRIGGER concern_takes_park_of_its_tree ON hazards_concern;
DROP FUNCTION concern_takes_park_of_its_tree();
DROP TRIGGER find_in_its_park ON hazards_stormfind;
"""


class Migration(migrations.Migration):
    dependencies = [("hazards", "0010_storms_and_concerns")]

    operations = [migrations.RunSQL(IN_ITS_PARK, UNDO)]
