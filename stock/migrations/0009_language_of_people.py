from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('stock', '0008_carry_over'),
    ]

    operations = [
        migrations.AddField(
            model_name='person',
            name='language',
            field=models.CharField(blank=True, default='', max_length=12),
        ),
    ]
