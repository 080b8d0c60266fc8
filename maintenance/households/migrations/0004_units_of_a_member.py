from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("households", "0003_seasons_by_frost_and_climate"),
    ]

    operations = [
        migrations.AddField(
            model_name="member",
            name="distance_unit",
            field=models.CharField(
                blank=True,
                choices=[("mi", "miles"), ("km", "kilometers")],
                max_length=2,
                verbose_name="distances in",
            ),
        ),
    ]
