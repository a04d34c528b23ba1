from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("inventory", "0003_text_search")]

    operations = [
        migrations.AddField(
            model_name="tree",
            name="source_digest",
            field=models.CharField(blank=True, editable=False, max_length=32),
        ),
    ]
