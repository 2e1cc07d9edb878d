"""The one row of settings is there from the start: services lock it to let one person at a time through."""

from django.db import migrations


def make_row(apps, schema_editor):
    apps.get_model("core", "Workshop").objects.using(schema_editor.connection.alias).get_or_create(pk=1)


class Migration(migrations.Migration):
    dependencies = [("core", "0001_initial")]
    operations = [migrations.RunPython(make_row, migrations.RunPython.noop)]
