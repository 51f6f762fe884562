from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("stock", "0018_delivered_entries")]

    operations = [
        migrations.CreateModel(
            name="PaperSheet",
            fields=[
                ("uid", models.UUIDField(primary_key=True, serialize=False)),
                ("site", models.UUIDField()),
                ("code", models.CharField(max_length=16)),
                ("made_at", models.DateTimeField()),
                ("made_by", models.UUIDField(null=True)),
                ("lines", models.JSONField()),
                ("photos", models.JSONField(default=list)),
            ],
            options={
                "db_table": "paper_sheet",
                "indexes": [
                    models.Index(fields=["site", "-made_at"], name="paper_sheet_newest")
                ],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("site", "code"), name="paper_sheet_code_once"
                    )
                ],
            },
        ),
    ]
