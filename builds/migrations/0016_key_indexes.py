"""The indexes of references go where another index of the table begins with the same column: every row that is written
kept both."""

from django.db import migrations, models

from shop.models.key_indexes import DropKeyIndex

DOUBLED = [
    ("after", "operation"),
    ("certificate", "axle"),
    ("document", "operation"),
    ("done", "visit"),
    ("fitted", "axle"),
    ("fitted", "host"),
    ("fitted", "part"),
    ("fitted", "person"),
    ("invalidates", "operation"),
    ("judgedagain", "look_back"),
    ("labelprint", "item"),
    ("lapsedaxle", "look_back"),
    ("lapsedvisit", "look_back"),
    ("line", "order"),
    ("lookbackaxle", "look_back"),
    ("noticeline", "notice"),
    ("noticerevision", "notice"),
    ("operation", "revision"),
    ("operationcharacteristic", "operation"),
    ("paper", "maker"),
    ("paperfor", "paper"),
    ("redtag", "axle"),
    ("requirement", "operation"),
    ("revision", "model"),
    ("scan", "paper"),
    ("span", "person"),
    ("unit", "axle"),
    ("visit", "axle"),
    ("visit", "item"),
    ("visit", "terminal"),
    ("visitsheet", "visit"),
    ("weld", "item"),
    ("weld", "welder"),
]


class Migration(migrations.Migration):
    dependencies = [
        ("builds", "0015_units_for_stock"),
        ("shop", "0005_key_indexes"),
    ]

    operations = [
        migrations.RemoveIndex(model_name="fitted", name="fitted_part"),
        migrations.RemoveIndex(model_name="fitted", name="fitted_part_host"),
        migrations.AddIndex(
            model_name="fitted",
            index=models.Index(fields=["part", "host"], include=("axle",), name="fitted_part"),
        ),
        *(DropKeyIndex(model, name) for model, name in DOUBLED),
    ]
