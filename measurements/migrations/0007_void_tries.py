# Written after `makemigrations`: a try that was declared void before this column stood is counted, the safe side.

from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('measurements', '0006_key_indexes'),
    ]

    operations = [
        migrations.AddField(
            model_name='voiding',
            name='counts',
            field=models.BooleanField(db_default=True, default=True),
        ),
    ]
