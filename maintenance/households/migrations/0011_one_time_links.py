import uuid

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("households", "0010_logins_go_on"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name="OneTimeLink",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True,
                        primary_key=True,
                        serialize=False,
                        verbose_name="ID",
                    ),
                ),
                (
                    "key",
                    models.UUIDField(default=uuid.uuid4, editable=False, unique=True),
                ),
                ("name", models.CharField(max_length=80)),
                (
                    "role",
                    models.CharField(
                        blank=True,
                        choices=[
                            ("keeper", "Keeper: may change everything"),
                            ("crew", "Crew: logs work and readings"),
                            ("viewer", "Viewer: looks only"),
                        ],
                        max_length=6,
                    ),
                ),
                ("expires_at", models.DateTimeField(db_index=True)),
            ],
        ),
        migrations.AddField(
            model_name="onetimelink",
            name="about",
            field=models.ForeignKey(
                null=True,
                on_delete=django.db.models.deletion.CASCADE,
                related_name="+",
                to="households.member",
            ),
        ),
        migrations.AddField(
            model_name="onetimelink",
            name="household",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.CASCADE,
                related_name="one_time_links",
                to="households.household",
            ),
        ),
        migrations.AddField(
            model_name="onetimelink",
            name="made_by",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.CASCADE,
                related_name="+",
                to="households.member",
            ),
        ),
    ]
