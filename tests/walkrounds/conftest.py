"""What a walk-around needs: a crew member, a rig, photos as a phone takes them."""

import io

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from PIL import Image

from maintenance.households.models import Role
from maintenance.walkrounds import rounds
from tests import builders
from tests.builders import TODAY

ORIENTATION, GPS = 0x0112, 0x8825


def phone_photo(name="IMG_0042.jpg"):
    """Lying on its side as the sensor saw it, with the place written into it."""
    out = io.BytesIO()
    exif = Image.Exif()
    exif[ORIENTATION] = 6  # turn a quarter clockwise to see it upright
    exif.get_ifd(GPS)[1] = "N"
    Image.new("RGB", (60, 40), "gray").save(out, "JPEG", exif=exif)
    return SimpleUploadedFile(name, out.getvalue(), "image/jpeg")


@pytest.fixture
def crew(db):
    return builders.make_member(role=Role.CREW)


@pytest.fixture
def keeper(crew):
    return builders.make_member(crew.household)


@pytest.fixture
def rig(crew):
    return builders.make_rig(crew.household)


@pytest.fixture
def walkround(rig, crew):
    return rounds.start_walkround(rig, by=crew, today=TODAY)
