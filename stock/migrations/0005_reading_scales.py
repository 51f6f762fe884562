"""On which scale a pH is, and as what ammonia is reported: as the facts say it."""

from typing import Any

from django.db import migrations, models


def fill(apps: Any, schema_editor: Any) -> None:
    reading, fact = apps.get_model("stock", "WaterReading"), apps.get_model("stock", "Fact")
    rows = reading.objects.filter(quantity__in=["ph", "total_ammonia", "free_ammonia", "nitrite", "nitrate"])
    for uid, told in list(rows.values_list("uid", "fact")):
        body = fact.objects.values_list("body", flat=True).get(uid=told)
        said = {name: body.get(name) for name in ("ph_scale", "reported_as")}
        if any(said.values()):
            reading.objects.filter(uid=uid).update(**said)


class Migration(migrations.Migration):
    dependencies = [("stock", "0004_made_protocol")]

    operations = [
        migrations.AddField(
            model_name="waterreading",
            name="ph_scale",
            field=models.CharField(max_length=12, null=True),
        ),
        migrations.AddField(
            model_name="waterreading",
            name="reported_as",
            field=models.CharField(max_length=12, null=True),
        ),
        migrations.RunPython(fill, migrations.RunPython.noop),
    ]
