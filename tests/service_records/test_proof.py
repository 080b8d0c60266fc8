"""Uploads: what is taken, what is refused, and what is taken out of a photo."""

import io
from uuid import uuid4

import pypdf
import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from PIL import Image
from pypdf.actions import JavaScript

from maintenance.households.refusals import Refused
from maintenance.service_records.models import Attachment
from maintenance.service_records.proof import hold, path_of
from tests import builders


@pytest.fixture
def keeper(db):
    return builders.make_member()


@pytest.fixture
def keep(keeper):
    rig = builders.make_rig(keeper.household)

    def held(name, data):
        upload = SimpleUploadedFile(name, data)
        return hold(rig, by=keeper, form_token=uuid4(), upload=upload)

    return held


def stored(kept):
    with Image.open(path_of(kept)) as image:
        image.load()
        return image


def photo(kind="JPEG", size=(40, 20), **more):
    out = io.BytesIO()
    Image.new("RGB", size, "gray").save(out, kind, **more)
    return out.getvalue()


def pdf(script=""):
    writer = pypdf.PdfWriter()
    writer.add_blank_page(100, 100)
    if script:
        writer.add_open_action(JavaScript(script))
    out = io.BytesIO()
    writer.write(out)
    return out.getvalue()


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
def test_photo_is_kept_as_jpeg_under_a_name_nobody_can_guess(keep, kind):
    kept = keep("wheel.jpg", photo(kind))

    assert kept.content_type == "image/jpeg"
    assert "wheel" not in kept.stored
    assert stored(kept).size == (40, 20)


def test_photo_is_turned_upright_and_loses_its_metadata(keep):
    exif = Image.Exif()
    exif[0x0112] = 6  # orientation: the camera was held sideways
    exif[0x010F] = "a camera"

    kept = keep("phone.jpg", photo(exif=exif.tobytes()))

    image = stored(kept)
    assert image.size == (20, 40)
    assert not image.getexif()


def test_large_photo_is_shrunk(keep):
    kept = keep("large.jpg", photo(size=(4000, 1000)))

    assert max(stored(kept).size) == 2000


def test_pdf_is_kept_byte_for_byte(keep):
    data = pdf()

    kept = keep("invoice.pdf", data)

    assert path_of(kept).read_bytes() == data


@pytest.mark.parametrize(
    ("name", "data", "words"),
    [
        ("invoice.pdf", pdf("app.alert('x')"), "contains a script"),
        ("photo.jpg", b"<html><script></script>", "photo.jpg"),
        ("photo.heic", b"\0\0\0\x18ftypheic" + b"\0" * 20, "damaged"),
        ("photo.jpg", photo()[:200], "damaged"),
        ("invoice.pdf", b"%PDF-1.7 nothing", "damaged"),
        ("empty.jpg", b"", "empty"),
    ],
)
def test_upload_is_refused_with_a_clear_word(keep, name, data, words):
    with pytest.raises(Refused, match=words):
        keep(name, data)

    assert not Attachment.objects.exists()


def test_decompression_bomb_is_refused(keep):
    out = io.BytesIO()
    Image.new("1", (20_000, 20_000)).save(out, "PNG")

    with pytest.raises(Refused, match="too many pixels"):
        keep("bomb.png", out.getvalue())


def test_proof_is_served_to_a_member_only_and_not_sniffed(keep, keeper, client_as):
    kept = keep("wheel.jpg", photo())
    url = reverse("proof", args=[kept.key])

    answer = client_as(keeper).get(url)

    assert answer["Content-Type"] == "image/jpeg"
    assert answer["X-Content-Type-Options"] == "nosniff"
    assert b"".join(answer.streaming_content) == path_of(kept).read_bytes()
