"""A question about a rig of which nothing is known for days."""

import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("reminders", "0007_told_and_withdrawn"),
        ("vehicles", "0013_said_in_use"),
    ]

    operations = [
        migrations.AlterField(
            model_name="stayquestion",
            name="stay",
            field=models.ForeignKey(
                null=True,
                on_delete=django.db.models.deletion.CASCADE,
                related_name="questions",
                to="vehicles.stay",
            ),
        ),
        migrations.AlterField(
            model_name="stayquestion",
            name="planned_until",
            field=models.DateField(null=True),
        ),
        migrations.AddField(
            model_name="stayquestion",
            name="rig",
            field=models.ForeignKey(
                null=True,
                on_delete=django.db.models.deletion.CASCADE,
                related_name="+",
                to="vehicles.rig",
            ),
        ),
        migrations.AddField(
            model_name="stayquestion",
            name="quiet_since",
            field=models.DateField(null=True),
        ),
        migrations.AddConstraint(
            model_name="stayquestion",
            constraint=models.UniqueConstraint(
                fields=("rig", "member", "quiet_since"), name="parked_asked_once"
            ),
        ),
    ]
