from django.db import migrations, models


class Migration(migrations.Migration):
    """Two makers may number their matched sets alike: one part of a kind in each set of each maker."""

    dependencies = [("shop", "0001_initial")]

    operations = [
        migrations.RemoveConstraint(model_name="part", name="part_one_of_a_kind_in_a_set"),
        migrations.AddConstraint(
            model_name="part",
            constraint=models.UniqueConstraint(
                condition=models.Q(("set_mark", ""), _negated=True),
                fields=("kind", "supplier", "set_mark"),
                name="part_one_of_a_kind_in_a_makers_set",
            ),
        ),
    ]
