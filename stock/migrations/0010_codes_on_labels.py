"""Short codes for pieces, instruments and bags, as `apply` gives them to new ones."""

from typing import Any

from django.db import migrations, models

from protocols import codes


def give_codes(apps: Any, schema_editor: Any) -> None:
    for name in ("Piece", "Instrument"):
        taken: set[Any] = set()
        for row in apps.get_model("stock", name).objects.order_by("version", "uid"):
            tried = (codes.short_code(row.uid, attempt) for attempt in range(20))
            row.code = next(code for code in tried if (row.site_id, code) not in taken)
            taken.add((row.site_id, row.code))
            row.save(update_fields=["code"])
    lines = apps.get_model("stock", "Line").objects
    changed = []
    for row in lines.only("uid"):
        row.code = codes.short_code(row.uid)
        changed.append(row)
    lines.bulk_update(changed, ["code"], batch_size=200)


class Migration(migrations.Migration):
    dependencies = [("stock", "0009_language_of_people")]

    operations = [
        migrations.AddField("piece", "code", models.CharField(default="", max_length=16)),
        migrations.AddField("instrument", "code", models.CharField(default="", max_length=16)),
        migrations.AddField(
            "line", "code", models.CharField(db_index=True, default="", max_length=16)
        ),
        migrations.RunPython(give_codes, migrations.RunPython.noop),
        migrations.AddConstraint(
            "piece",
            models.UniqueConstraint(
                condition=models.Q(("code", ""), _negated=True),
                fields=("site", "code"),
                name="piece_code_once",
            ),
        ),
        migrations.AddConstraint(
            "instrument",
            models.UniqueConstraint(
                condition=models.Q(("code", ""), _negated=True),
                fields=("site", "code"),
                name="instrument_code_once",
            ),
        ),
    ]
