from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("households", "0006_sent_forms")]

    operations = [
        migrations.AddField(
            model_name="member",
            name="founder",
            field=models.BooleanField(
                default=False, editable=False, verbose_name="founder"
            ),
        ),
        migrations.AddConstraint(
            model_name="member",
            constraint=models.UniqueConstraint(
                condition=models.Q(("founder", True)),
                fields=("founder",),
                name="one_founder",
            ),
        ),
        migrations.AddConstraint(
            model_name="member",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("founder", False),
                    models.Q(("left_on__isnull", True), ("role", "keeper")),
                    _connector="OR",
                ),
                name="founder_is_keeper",
            ),
        ),
    ]
