import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):
    initial = True

    dependencies = [
        ("households", "0001_household_and_members"),
        ("plans", "0002_own_procedures_and_makers_figures"),
    ]

    operations = [
        migrations.CreateModel(
            name="SweepMark",
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
                ("name", models.CharField(max_length=40, unique=True)),
                ("at", models.DateTimeField()),
            ],
        ),
        migrations.CreateModel(
            name="Digest",
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
                ("key", models.CharField(max_length=120, unique=True)),
                ("day", models.DateField()),
                (
                    "state",
                    models.CharField(
                        choices=[
                            ("queued", "Waiting to be sent"),
                            ("sending", "Being sent"),
                            ("sent", "Sent"),
                            ("in_tray", "Kept here: there is no mail server"),
                            (
                                "unknown",
                                "Perhaps sent; will be repeated as the same mail",
                            ),
                            ("refused", "Refused by the mail server"),
                            ("empty", "Not sent: nothing was left to say"),
                            ("folded", "Not sent: taken into a later mail"),
                            ("given_up", "Given up after several days"),
                        ],
                        default="queued",
                        max_length=8,
                    ),
                ),
                ("to", models.EmailField(max_length=254)),
                ("subject", models.CharField(blank=True, max_length=200)),
                ("text", models.TextField(blank=True)),
                ("html", models.TextField(blank=True)),
                ("message_id", models.CharField(max_length=300)),
                ("made_at", models.DateTimeField()),
                ("written_at", models.DateTimeField(blank=True, null=True)),
                ("claimed_until", models.DateTimeField(blank=True, null=True)),
                ("attempts", models.PositiveSmallIntegerField(default=0)),
                ("next_attempt_at", models.DateTimeField(blank=True, null=True)),
                ("sent_at", models.DateTimeField(blank=True, null=True)),
                ("problem", models.TextField(blank=True)),
                (
                    "member",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="digests",
                        to="households.member",
                    ),
                ),
            ],
            options={
                "ordering": ["-day", "-pk"],
            },
        ),
        migrations.CreateModel(
            name="Notice",
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
                    "stage",
                    models.CharField(
                        choices=[
                            ("safety", "Safety, at once"),
                            ("overdue", "Overdue"),
                            ("due", "Due"),
                            ("book", "Book a shop"),
                            ("heads_up", "Coming"),
                        ],
                        max_length=8,
                    ),
                ),
                ("cycle", models.CharField(max_length=80)),
                ("raised_on", models.DateField()),
                (
                    "digest",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.SET_NULL,
                        related_name="notices",
                        to="reminders.digest",
                    ),
                ),
                (
                    "item",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="notices",
                        to="plans.planitem",
                    ),
                ),
                (
                    "member",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="notices",
                        to="households.member",
                    ),
                ),
            ],
        ),
        migrations.CreateModel(
            name="NoticeMark",
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
                ("day", models.DateField()),
                ("seen_until", models.DateTimeField()),
                (
                    "household",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="notice_mark",
                        to="households.household",
                    ),
                ),
            ],
        ),
        migrations.AddIndex(
            model_name="digest",
            index=models.Index(
                fields=["state", "next_attempt_at"], name="reminders_d_state_fe05d7_idx"
            ),
        ),
        migrations.AddIndex(
            model_name="notice",
            index=models.Index(
                condition=models.Q(("digest__isnull", True)),
                fields=["member"],
                name="notice_waits",
            ),
        ),
        migrations.AddConstraint(
            model_name="notice",
            constraint=models.UniqueConstraint(
                fields=("item", "member", "stage", "cycle"), name="notice_once"
            ),
        ),
    ]
