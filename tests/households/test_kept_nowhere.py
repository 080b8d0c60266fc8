"""What a browser may keep: no proof, mail or secret; a form that is typed into, yes."""

import io
from uuid import uuid4

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from PIL import Image

from maintenance.households.models import Role
from maintenance.service_records.proof import hold
from tests import builders

pytestmark = pytest.mark.django_db
SECRETS = [
    "mail",
    "calendar",
    "set_up_mail",
    "change_password",
    "logins",
    "status",
]
# A browser shows a page without `no-store` again as it was left, with what was typed.
FORMS = ["record_work", "report_event", "myself", "invite"]


@pytest.mark.parametrize("name", SECRETS)
def test_page_with_a_secret_is_not_kept(name, client_as):
    founder = builders.make_member(founder=True)

    assert "no-store" in client_as(founder).get(reverse(name))["Cache-Control"]


@pytest.mark.parametrize("name", FORMS)
def test_form_is_still_there_after_going_back(name, client_as):
    keeper = builders.make_member()
    rig = builders.make_rig(keeper.household)
    args = [rig.pk] if name in {"record_work", "report_event"} else []

    answer = client_as(keeper).get(reverse(name, args=args))

    assert answer.status_code == 200
    assert "no-store" not in answer.get("Cache-Control", "")


def test_proof_is_not_kept(client_as):
    crew = builders.make_member(role=Role.CREW)
    rig = builders.make_rig(crew.household)
    picture = io.BytesIO()
    Image.new("RGB", (9, 9)).save(picture, "JPEG")
    upload = SimpleUploadedFile("invoice.jpg", picture.getvalue())
    kept = hold(rig, by=crew, form_token=uuid4(), upload=upload)

    answer = client_as(crew).get(reverse("proof", args=[kept.key]))

    assert b"".join(answer)
    assert answer["Cache-Control"] == "no-store"
