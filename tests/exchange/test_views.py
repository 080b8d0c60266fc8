"""The pages of bringing in, step by step through the browser's requests."""

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from maintenance.exchange.models import ImportJob
from maintenance.exchange.running import bring_in
from maintenance.service_records.models import ServiceRecord
from tests.builders import TODAY, make_household, make_item, make_member, make_rig

from .helpers import LOG, brought, fresh, looked_at

pytestmark = pytest.mark.django_db


@pytest.fixture
def crew():
    return make_member(make_household(), "crew")


@pytest.fixture
def rig(crew):
    return make_rig(crew.household)


def send(client, rig, data, name="log.csv"):
    upload = SimpleUploadedFile(name, data)
    return client.post(reverse("bring_in"), {"rig": rig.pk, "file": upload})


def test_story_from_file_to_records(rig, crew, client_as):
    make_item(rig)
    client = client_as(crew)
    answer = send(client, rig, LOG.replace("2024-05-20", "20.5.2024").encode())
    made = ImportJob.objects.get()
    assert answer.url == reverse("bringing_columns", args=[made.key])

    page = client.get(answer.url).content.decode()
    assert "Bergen Garage" in page
    columns = {"column_0": "on", "column_1": "what", "column_2": "odometer"}
    answer = client.post(answer.url, columns)
    page = client.get(answer.url).content.decode()
    assert "What does the odometer column count in?" in page
    assert "How are the days written?" not in page  # 20.5. is a day in one order only
    jobs = {"job_0": rig.plan_items.get().pk, "job_1": "", "job_2": ""}
    answer = client.post(answer.url, {"distance_unit": "mi", **jobs})
    page = client.get(answer.url).content.decode()
    assert "counts for Engine oil" in page

    client.post(answer.url)
    assert fresh(made).state == "queued"
    assert "<progress" in client.get(answer.url).content.decode()
    bring_in(fresh(made), today=TODAY)
    assert "Done: 3 rows added." in client.get(answer.url).content.decode()
    assert ServiceRecord.objects.count() == 3


def test_days_left_open_then_asked_with_examples_of_the_file(rig, crew, client_as):
    client = client_as(crew)
    answer = send(client, rig, b"Date,Work\n04/05/2024,Oil\n06/07/2024,Wash\n")
    answer = client.post(answer.url, {"column_0": "on", "column_1": "what"})
    page = client.get(answer.url).content.decode()

    assert "Month first: 04/05/2024 = Apr 5, 2024; 06/07/2024 = Jun 7, 2024" in page
    assert "Day first: 04/05/2024 = May 4, 2024; 06/07/2024 = Jul 6, 2024" in page
    again = client.post(answer.url, {"job_0": "", "job_1": ""})
    assert "Choose one." in again.content.decode()


def test_figures_left_open_then_asked_with_examples(rig, crew, client_as):
    client = client_as(crew)
    answer = send(client, rig, b"Date;Work;Total\n2024-05-04;Oil;1,234\n")
    columns = {"column_0": "on", "column_1": "what", "column_2": "total"}
    answer = client.post(answer.url, columns)
    page = client.get(answer.url).content.decode()

    assert "Decimal point: 1,234 = 1234" in page
    assert "Decimal comma: 1,234 = 1.234" in page


@pytest.mark.parametrize(
    ("data", "word"),
    [
        (b"%PDF-1.7", "This is a PDF"),
        (b"a,b\n\x00\x01", "a text file"),
        (b"", "empty"),
        (b"Date\n2024\n", "one column"),
    ],
)
def test_file_that_is_no_table_then_the_page_says_why(rig, crew, client_as, data, word):
    answer = send(client_as(crew), rig, data)

    assert answer.status_code == 200
    assert word in answer.content.decode()
    assert not ImportJob.objects.exists()


def test_pasted_rows_then_taken_and_what_is_wrong_is_kept_in_the_form(
    rig, crew, client_as
):
    client = client_as(crew)
    wrong = client.post(reverse("bring_in"), {"rig": rig.pk, "text": "only words"})
    assert "only words" in wrong.content.decode()

    answer = client.post(reverse("bring_in"), {"rig": rig.pk, "text": LOG})
    assert answer.status_code == 302


def test_doubtful_rows_then_it_is_asked_whether_they_come_in(rig, crew, client_as):
    client = client_as(crew)
    made = looked_at(
        rig, crew, "Date,Work\n2001-01-01,Oil\n", columns={0: "on", 1: "what"}
    )
    page = reverse("bringing", args=[made.key])

    assert "Questionable rows" in client.get(page).content.decode()
    assert client.post(page).status_code == 200
    assert client.post(page, {"doubtful": "without"}).status_code == 200  # none is left
    assert client.post(page, {"doubtful": "with"}).status_code == 302


def test_stop_then_stopped_and_a_second_stop_says_so(rig, crew, client_as):
    client = client_as(crew)
    made = looked_at(rig, crew)
    client.post(reverse("bringing", args=[made.key]))

    client.post(reverse("stop_bringing", args=[made.key]))
    assert fresh(made).state == "stopped"
    answer = client.post(reverse("stop_bringing", args=[made.key]), follow=True)
    assert "This import is already done" in answer.content.decode()


def test_forget_then_gone(rig, crew, client_as):
    made = looked_at(rig, crew)

    client_as(crew).post(reverse("forget_bringing", args=[made.key]))

    assert not ImportJob.objects.exists()


def test_void_page_then_for_keepers_with_a_reason(rig, crew, client_as):
    made = brought(rig, crew)
    url = reverse("void_bringing", args=[made.key])
    keeper = make_member(rig.household)

    assert client_as(crew).post(url, {"why": "Wrong rig"}).status_code == 403
    assert client_as(keeper).post(url, {"why": ""}).status_code == 200
    assert client_as(keeper).post(url, {"why": "Wrong rig"}).status_code == 302
    assert fresh(made).state == "voided"


@pytest.mark.parametrize(
    "name",
    ["bringing", "bringing_columns", "bringing_answers", "stop_bringing",
     "forget_bringing", "void_bringing"],
)  # fmt: skip
def test_file_of_another_household_then_not_found(rig, crew, client_as, name):
    made = looked_at(rig, crew)
    stranger = client_as(make_member())

    assert stranger.post(reverse(name, args=[made.key])).status_code == 404


def test_record_then_it_says_where_it_came_from(rig, crew, client_as):
    brought(rig, crew)
    record = ServiceRecord.objects.order_by("on").first()

    page = client_as(crew).get(reverse("record", args=[record.pk])).content.decode()

    assert "log.csv" in page
    assert "rows 2, 3" in page


@pytest.mark.parametrize(
    ("name", "role", "status"),
    [
        ("bring_in", "viewer", 403),
        ("bring_in", "crew", 200),
        ("take_out", "crew", 403),
        ("take_out", "keeper", 200),
    ],
)
def test_page_then_for_the_roles_that_reach(rig, client, client_as, name, role, status):
    member = make_member(rig.household, role)

    assert client_as(member).get(reverse(name)).status_code == status
    assert client.get(reverse(name)).status_code == 302


def test_page_of_many_rows_then_as_many_queries_as_of_few(
    rig, crew, client_as, django_assert_max_num_queries
):
    rows = "".join(f"2024-01-{1 + n % 28:02},Job {n}\n" for n in range(200))
    made = looked_at(rig, crew, f"Date,Work\n{rows}", columns={0: "on", 1: "what"})
    client = client_as(crew)

    with django_assert_max_num_queries(25):
        client.get(reverse("bringing", args=[made.key]))
