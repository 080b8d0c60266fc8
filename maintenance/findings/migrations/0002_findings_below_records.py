"""Findings and photos no longer point up: what found them points down to them."""

from django.db import migrations


class Migration(migrations.Migration):
    dependencies = [
        ("findings", "0001_findings_from_walkrounds"),
        ("service_records", "0005_lines_and_findings"),
        ("walkrounds", "0004_looks_and_findings"),
    ]

    operations = [
        migrations.RemoveField(model_name="finding", name="found_by_line"),
        migrations.RemoveField(model_name="finding", name="fixed_by_line"),
        migrations.RemoveField(model_name="finding", name="found_by_look"),
        migrations.RemoveConstraint(model_name="photo", name="photo_shows_something"),
        migrations.RemoveField(model_name="photo", name="look"),
    ]
