from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("vehicles", "0008_row_keys"),
    ]

    operations = [
        migrations.AlterField(
            model_name="rig",
            name="kind",
            field=models.CharField(
                choices=[
                    ("motorhome", "Motorhome"),
                    ("campervan", "Campervan"),
                    ("travel_trailer", "Travel trailer"),
                    ("fifth_wheel", "Fifth wheel"),
                    ("tow_vehicle", "Tow vehicle"),
                    ("towed_car", "Towed car"),
                    ("toy_hauler", "Toy hauler"),
                    ("folding_trailer", "Folding trailer"),
                    ("truck_camper", "Truck camper"),
                    ("tow_dolly", "Tow dolly"),
                ],
                max_length=15,
                verbose_name="kind",
            ),
        ),
        migrations.AlterField(
            model_name="rig",
            name="wheels",
            field=models.CharField(
                choices=[
                    ("four", "Four wheels"),
                    ("six", "Six wheels, dual at the rear"),
                    ("tag", "Eight wheels, dual at the rear and a tag axle"),
                    ("trailer_one", "Trailer, one axle"),
                    ("trailer_two", "Trailer, two axles"),
                    ("trailer_three", "Trailer, three axles"),
                    ("none", "No wheels of its own"),
                ],
                max_length=13,
                verbose_name="wheels",
            ),
        ),
    ]
