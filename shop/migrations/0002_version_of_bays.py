"""Two people may edit a bay: the second is told."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("shop", "0001_initial"),
    ]

    operations = [
        migrations.AddField(
            model_name="bay",
            name="version",
            field=models.PositiveIntegerField(default=1, editable=False),
        ),
    ]
