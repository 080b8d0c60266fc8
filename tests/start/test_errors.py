"""Error pages and refused requests: words, the right status, no traceback."""

import errno
from html import unescape

import pytest
from django.core.exceptions import PermissionDenied
from django.db import DatabaseError, OperationalError
from django.test import Client
from django.urls import path

from rigsite import errors, urls
from tests.builders import PASSWORD, make_member

handler400, handler403 = urls.handler400, urls.handler403
handler404, handler500 = urls.handler404, urls.handler500


def refuse(request):
    raise PermissionDenied("This needs the role keeper.")


def fail(request):
    raise ZeroDivisionError


FAILS = {
    "full": OSError(errno.ENOSPC, "No space left on device"),
    "only-read": OSError(errno.EROFS, "Read-only file system"),
    "no-room": OperationalError("database or disk is full"),
    "malformed": DatabaseError("database disk image is malformed"),
    "gone": OperationalError("no such table: vehicles_rig"),
    "away": OperationalError("server closed the connection unexpectedly"),
}


def break_off(request, how):
    raise FAILS[how]


urlpatterns = [*urls.urlpatterns, path("refuse/", refuse), path("fail/", fail)]
urlpatterns += [path("fail/<str:how>/", break_off)]

pytestmark = [pytest.mark.django_db, pytest.mark.urls(__name__)]


@pytest.fixture
def visitor() -> Client:
    return Client(raise_request_exception=False, enforce_csrf_checks=True)


@pytest.mark.parametrize(
    ("where", "status", "words"),
    [
        ("/no/such/page/", 404, errors.WORDS[404]),
        ("/refuse/", 403, "This needs the role keeper."),
        ("/fail/", 500, errors.WORDS[500]),
    ],
)
def test_page_when_it_fails_then_words_on_a_page(where, status, words, visitor):
    answer = visitor.get(where)

    assert answer.status_code == status
    assert words in unescape(answer.text)
    assert "</html>" in answer.text
    assert "Traceback" not in answer.text


@pytest.mark.parametrize(
    ("how", "status", "words"),
    [
        ("full", 507, errors.DISK_FULL),
        ("only-read", 503, errors.READ_ONLY),
        ("no-room", 507, errors.DISK_FULL),
        ("malformed", 503, errors.DAMAGED),
        ("gone", 503, errors.DAMAGED),
        ("away", 503, errors.WORDS[503]),
    ],
)
def test_page_when_what_it_needs_fails_then_what_to_do(how, status, words, visitor):
    answer = visitor.get(f"/fail/{how}/")

    assert answer.status_code == status
    assert words in unescape(answer.text)
    assert "</html>" in answer.text


def test_page_when_the_database_fails_on_a_full_disk_then_make_room(
    visitor, monkeypatch
):
    monkeypatch.setattr(errors, "LEAST_TO_WRITE", 10**18)

    assert visitor.get("/fail/away/").status_code == 507


def test_login_and_failed_page_are_called_by_the_programs_name(visitor):
    make_member()

    assert "<title>Log in · Rigsite</title>" in visitor.get("/login/").text
    for where in ("/login/", "/fail/"):
        assert '<a class="house" href="/">Rigsite</a>' in visitor.get(where).text


def test_host_when_it_is_not_ours_then_refused_with_words(visitor):
    answer = visitor.get("/", headers={"host": "elsewhere.example"})

    assert answer.status_code == 400
    assert errors.WORDS[400] in unescape(answer.text)


def test_form_when_it_is_no_longer_valid_then_it_says_what_to_do(visitor):
    answer = visitor.post("/login/", {"username": "a", "password": "b"})

    assert answer.status_code == 403
    assert "Go back, reload the page" in answer.text


def test_error_page_when_its_template_fails_then_plain_words(rf, settings):
    settings.TEMPLATES = []

    answer = errors.failed(rf.get("/"))

    assert answer.status_code == 500
    assert answer.text == errors.WORDS[500]


def test_answer_when_sent_then_only_our_own_content_is_allowed(visitor):
    policy = visitor.get("/no/such/page/")["content-security-policy"]

    assert "default-src 'self'" in policy
    assert "unsafe" not in policy
    assert "http" not in policy


def test_login_when_wrong_too_often_then_locked_for_name_and_address(client):
    member, other = make_member(), make_member()

    def log_in(who, password):
        words = {"username": who.user.username, "password": password}
        return client.post("/login/", words)

    for _ in range(8):
        last = log_in(member, "wrong")

    assert last.status_code == 429
    assert "Wait 15 minutes" in last.text
    assert log_in(member, PASSWORD).status_code == 429
    assert log_in(other, PASSWORD).status_code == 302


@pytest.mark.parametrize(
    "sent",
    [{"text": "2024-01-01,Oil\n" * 200_000}, {f"field-{n}": "x" for n in range(2000)}],
)
def test_form_that_sends_too_much_then_words_and_what_to_do(sent, client_as):
    client = client_as(make_member())

    answer = client.post("/log/bring-in/", sent)

    assert answer.status_code == 413
    assert "This is too big" in answer.text
    assert "send a long list as a file" in answer.text
