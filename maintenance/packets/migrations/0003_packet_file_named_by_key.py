"""The name of the PDF is the packet's key; no second column says it."""

from django.db import migrations


class Migration(migrations.Migration):
    dependencies = [("packets", "0002_packet_tries")]

    operations = [migrations.RemoveField(model_name="packet", name="stored")]
