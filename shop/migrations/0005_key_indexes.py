"""The indexes of references go where another index of the table begins with the same column: every row that is written
kept both."""

from django.db import migrations

from shop.models.key_indexes import DropKeyIndex

DOUBLED = [
    ("roleheld", "person"),
    ("signintry", "person"),
    ("signintry", "terminal"),
    ("skill", "person"),
    ("skilluse", "person"),
]


class Migration(migrations.Migration):
    dependencies = [
        ("shop", "0004_days_once_opened"),
    ]

    operations = [
        *(DropKeyIndex(model, name) for model, name in DOUBLED),
    ]
