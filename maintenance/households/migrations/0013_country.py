from babel.core import get_global
from django.db import migrations, models

OFFERED = """US CA AT BE CH CY CZ DE DK EE ES FI FR HU IE IT LT LV MT NL NO PL PT RO SE
SI SK ZA GB AU NZ"""
BY_CURRENCY = {"CAD": "CA", "GBP": "GB", "AUD": "AU", "NZD": "NZ", "ZAR": "ZA"}


def country_of(currency, timezone, distance_unit):
    """What is known of a household of before: dollars and miles are of the United
    States; else where its clock is, else where its money is."""
    if (currency, distance_unit) == ("USD", "mi"):
        return "US"
    by_zone = get_global("zone_territories").get(timezone)
    return by_zone if by_zone in OFFERED.split() else BY_CURRENCY.get(currency, "US")


def take_over(apps, schema_editor):
    for home in apps.get_model("households", "Household").objects.all():
        home.country = country_of(home.currency, home.timezone, home.distance_unit)
        home.save(update_fields=["country"])


class Migration(migrations.Migration):
    dependencies = [("households", "0012_reckoned_ahead")]

    operations = [
        migrations.AddField(
            "household",
            "country",
            models.CharField(default="US", max_length=2, verbose_name="country"),
        ),
        migrations.RunPython(take_over, migrations.RunPython.noop),
    ]
