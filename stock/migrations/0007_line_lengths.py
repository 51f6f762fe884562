
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('stock', '0006_units_of_people'),
    ]

    operations = [
        migrations.AddField(
            model_name='linecount',
            name='length_cm',
            field=models.CharField(max_length=12, null=True),
        ),
    ]
