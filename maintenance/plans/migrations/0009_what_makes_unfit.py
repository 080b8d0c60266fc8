"""Standings say by what they make a rig unfit to travel. They are reckoned anew after
an upgrade, so nothing is filled in."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("plans", "0008_sheets_have_their_own_app")]

    operations = [
        migrations.AddField(
            model_name="standing",
            name="unfit_by",
            field=models.CharField(blank=True, max_length=8, default=""),
            preserve_default=False,
        ),
        migrations.AddField(
            model_name="standing",
            name="not_legal",
            field=models.BooleanField(default=False),
        ),
    ]
