"""The record only grows, and the roles exist as groups."""

from django.db import migrations

from inventory.access import Role

APPEND_ONLY = """
CREATE FUNCTION append_only() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    RAISE EXCEPTION '% is append-only: add a correction instead', TG_TABLE_NAME USING ERRCODE = 'check_violation';
END $$;
CREATE TRIGGER record_append_only BEFORE UPDATE OR DELETE ON inventory_recordentry
    FOR EACH ROW EXECUTE FUNCTION append_only();
"""
UNDO = """
DROP TRIGGER record_append_only ON inventory_recordentry;
DROP FUNCTION append_only();
"""


def make_groups(apps, schema_editor):
    group = apps.get_model("auth", "Group")
    for role in Role:
        group.objects.get_or_create(name=role.value)


class Migration(migrations.Migration):
    dependencies = [("inventory", "0001_initial"), ("auth", "0012_alter_user_first_name_max_length")]

    operations = [
        migrations.RunSQL(APPEND_ONLY, UNDO),
        migrations.RunPython(make_groups, migrations.RunPython.noop),
    ]
