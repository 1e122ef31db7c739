"""The indexes of references go where another index of the table begins with the same column: every row that is written
kept both."""

from django.db import migrations, models

from shop.models.key_indexes import DropKeyIndex

DOUBLED = [
    ("calibration", "gauge"),
    ("reading", "gauge"),
    ("reading", "item"),
    ("reading", "person"),
    ("reading", "replaces"),
    ("reading", "ring"),
    ("reading", "sheet"),
    ("reading", "terminal"),
    ("readinginput", "computed"),
]


class Migration(migrations.Migration):
    dependencies = [
        ("measurements", "0005_gauge_uses"),
        ("shop", "0005_key_indexes"),
    ]

    operations = [
        migrations.AddIndex(
            model_name="reading",
            index=models.Index(condition=models.Q(("ring__isnull", False)), fields=["ring"], name="reading_ring"),
        ),
        migrations.AddIndex(
            model_name="reading",
            index=models.Index(
                condition=models.Q(("replaces__isnull", False)), fields=["replaces"], name="reading_replaces"
            ),
        ),
        *(DropKeyIndex(model, name) for model, name in DOUBLED),
    ]
