"""OWASP ASVS 5.0.0, level 1: requirement, what holds it here, result.

The numbers are those of the published table (OWASP_Application_Security_Verification_
Standard_5.0.0_en.csv); the wording here is ours and short. Each row names the test that
fails when the requirement is broken; where there is nothing to test, it says why.
"""

import ast
import re
from pathlib import Path

import pytest
from django.contrib.auth import get_user_model
from django.test import Client
from django.urls import get_resolver, reverse

from maintenance.households.models import LoginSession
from tests import builders

ROOT = Path(__file__).parents[1]
HELD, NONE_HERE, PARTLY = "held", "none of it here", "partly"
HERE = "test_asvs.py"
WALK = (
    "households/test_every_address.py::test_every_address_for_everybody_by_every_method"
)
RULES = "households/test_every_address.py::test_every_address_has_a_rule"
MEMBERS = "households/test_members.py"
UPLOADS = "vehicles/test_uploads.py"
WORKBOOK = "exchange/test_workbook.py"
NO_OAUTH = "Nobody logs in by way of another service, and Rigsite serves none."
DEPENDENCIES = "DEVELOPERS.md, Dependencies"
NO_TOKENS = "stop_links, answer_links and one_time_links use django.core.signing alone."

# Number: (what it asks, result, the test that holds it or why there is none)
TABLE = {
    "1.2.1": ("output fits its place", HELD, f"{HERE}::test_what_is_typed_is_text"),
    "1.2.2": ("URLs are built safely", HELD, f"{HERE}::test_what_is_typed_is_text"),
    "1.2.3": ("no script is built of words", HELD, f"{HERE}::test_no_markup_by_script"),
    "1.2.4": ("queries take parameters", HELD, f"{HERE}::test_no_words_become_code"),
    "1.2.5": ("no shell sees words", HELD, f"{HERE}::test_no_words_become_code"),
    "1.3.1": ("HTML of users is cleaned", NONE_HERE, "No field takes HTML."),
    "1.3.2": ("no eval", HELD, f"{HERE}::test_no_words_become_code"),
    "1.5.1": (
        "XML has no entities",
        HELD,
        f"{WORKBOOK}::test_workbook_that_cannot_be_read_then_it_says_why",
    ),
    "2.1.1": ("rules of input are written down", HELD, "core/test_meters_gate.py"),
    "2.2.1": ("input is checked", HELD, "flows/test_figures_out_of_bounds.py"),
    "2.2.2": ("the server checks it", HELD, "fuzz/test_walk.py"),
    "2.3.1": ("steps in their order, once", HELD, "households/test_sent_twice.py"),
    "3.2.1": ("files open as what they are", HELD, "service_records/test_proof.py"),
    "3.2.2": ("text is shown as text", HELD, f"{HERE}::test_no_markup_by_script"),
    "3.3.1": (
        "cookies: Secure, with prefix",
        PARTLY,
        "start/test_env.py::"
        "test_public_address_when_secure_then_hosts_origins_and_cookies_follow",
    ),
    "3.4.1": (
        "HSTS for a year",
        HELD,
        "start/test_env.py::"
        "test_public_address_when_secure_then_hosts_origins_and_cookies_follow",
    ),
    "3.4.2": ("no other origin may read", HELD, f"{HERE}::test_answers_of_a_page"),
    "3.5.1": ("forms carry a token", HELD, f"{HERE}::test_forms_need_a_token"),
    "3.5.2": ("no trust in preflight", HELD, f"{HERE}::test_forms_need_a_token"),
    "3.5.3": ("changes by POST", HELD, WALK),
    "4.1.1": ("type and letters are said", HELD, f"{HERE}::test_answers_of_a_page"),
    "4.4.1": ("WebSockets by TLS", NONE_HERE, "There are none."),
    "5.2.1": (
        "files no larger than can be worked on",
        HELD,
        f"{WORKBOOK}::test_workbook_that_cannot_be_read_then_it_says_why",
    ),
    "5.2.2": ("files are what they say", HELD, "core/test_filetypes.py"),
    "5.3.1": ("files are never run", HELD, f"{HERE}::test_files_lie_out_of_reach"),
    "5.3.2": ("paths are made here", HELD, f"{HERE}::test_files_lie_out_of_reach"),
    "6.1.1": ("tries are limited, as written", HELD, "start/test_errors.py"),
    "6.2.1": (
        "8 characters, 15 recommended",
        HELD,
        f"{MEMBERS}::test_password_when_weak_then_words_and_never_itself",
    ),
    "6.2.2": (
        "a password can be changed",
        HELD,
        f"{MEMBERS}::test_password_when_of_any_signs_then_taken_to_the_letter",
    ),
    "6.2.3": (
        "the old one is asked for",
        HELD,
        f"{MEMBERS}::test_old_password_when_guessed_then_the_tries_run_out",
    ),
    "6.2.4": (
        "no common one",
        HELD,
        f"{MEMBERS}::test_password_when_weak_then_words_and_never_itself",
    ),
    "6.2.5": (
        "of any signs",
        HELD,
        f"{MEMBERS}::test_password_when_of_any_signs_then_taken_to_the_letter",
    ),
    "6.2.6": ("it is masked", HELD, f"{HERE}::test_password_fields"),
    "6.2.7": ("paste and managers work", HELD, f"{HERE}::test_password_fields"),
    "6.2.8": (
        "taken to the letter",
        HELD,
        f"{MEMBERS}::test_password_when_of_any_signs_then_taken_to_the_letter",
    ),
    "6.3.1": (
        "guessing is limited",
        HELD,
        "start/test_errors.py::"
        "test_login_when_wrong_too_often_then_locked_for_name_and_address",
    ),
    "6.3.2": (
        "no accounts from the start",
        HELD,
        f"{HERE}::test_nobody_is_there_first",
    ),
    "6.4.1": (
        "first secrets are random and end",
        HELD,
        f"{MEMBERS}::test_invitation_when_used_once_then_it_opens_no_more",
    ),
    "6.4.2": ("no secret questions", NONE_HERE, "There are none."),
    "7.2.1": ("the server knows sessions", HELD, f"{HERE}::test_session_of_a_login"),
    "7.2.2": ("made for each login", HELD, f"{HERE}::test_session_of_a_login"),
    "7.2.3": ("128 bits", HELD, f"{HERE}::test_session_of_a_login"),
    "7.2.4": ("a new one at login", HELD, f"{HERE}::test_session_of_a_login"),
    "7.4.1": ("ends at logout", HELD, f"{HERE}::test_session_of_a_login"),
    "7.4.2": (
        "ends with membership",
        HELD,
        f"{MEMBERS}::test_member_when_removed_then_logins_and_links_end",
    ),
    "8.1.1": ("who may what is written down", HELD, RULES),
    "8.2.1": ("by role", HELD, WALK),
    "8.2.2": ("by household", HELD, WALK),
    "8.3.1": ("the server decides", HELD, WALK),
    "9.1.1": (
        "links are signed",
        HELD,
        f"{MEMBERS}::test_link_when_it_is_no_link_then_words",
    ),
    "9.1.2": ("by one algorithm", HELD, NO_TOKENS),
    "9.1.3": ("by our own key", HELD, NO_TOKENS),
    "9.2.1": (
        "links end in time",
        HELD,
        f"{MEMBERS}::test_password_link_lasts_a_day",
    ),
    "10.4.1": ("addresses to return to", NONE_HERE, NO_OAUTH),
    "10.4.2": ("codes work once", NONE_HERE, NO_OAUTH),
    "10.4.3": ("codes are short-lived", NONE_HERE, NO_OAUTH),
    "10.4.4": ("grants that are needed", NONE_HERE, NO_OAUTH),
    "10.4.5": ("refresh tokens", NONE_HERE, NO_OAUTH),
    "11.3.1": ("no weak modes of ciphers", NONE_HERE, "Nothing is encrypted by us."),
    "11.3.2": ("approved ciphers", NONE_HERE, "Nothing is encrypted by us."),
    "11.4.1": ("approved digests", HELD, f"{HERE}::test_no_words_become_code"),
    "12.1.1": (
        "TLS 1.2 and 1.3",
        HELD,  # where Rigsite speaks it itself; mail goes by Python's defaults
        "start/test_front.py::"
        "test_door_when_old_tls_is_spoken_then_refused_and_the_newest_is_taken",
    ),
    "12.2.1": (
        "TLS for pages",
        PARTLY,
        "With an HTTPS address all pages are led there; on one's own network without "
        "one they are plain.",
    ),
    "12.2.2": (
        "trusted certificates",
        PARTLY,
        "Of a proxy or a private mesh they are. On one's own network, where nobody "
        "certifies a name, an authority of this machine alone is installed by hand.",
    ),
    "13.4.1": ("no .git in reach", HELD, f"{HERE}::test_files_lie_out_of_reach"),
    "14.2.1": (
        "no secrets in addresses",
        PARTLY,
        "Links in mail, invitations and calendars carry their token: they work without "
        "a login, once or until made anew; their pages load nothing from elsewhere.",
    ),
    "14.3.1": (
        "the browser forgets at logout",
        HELD,
        f"{MEMBERS}::test_logout_has_the_browser_forget_its_cache",
    ),
    "15.1.1": ("how soon packages are renewed", HELD, DEPENDENCIES),
    "15.2.1": ("no package is overdue", PARTLY, ".ci/audit, where its data is reached"),
    "15.3.1": ("only what is asked for", HELD, "exchange/test_exports.py"),
}
LEVEL_1 = 70  # requirements of that level in the published table


def test_table_has_each_requirement_once_with_a_result():
    assert len(TABLE) == LEVEL_1
    assert {result for _asks, result, _where in TABLE.values()} == {
        HELD,
        NONE_HERE,
        PARTLY,
    }


@pytest.mark.parametrize("number", TABLE)
def test_what_holds_a_requirement_is_there(number):
    _asks, result, where = TABLE[number]
    file, _colons, name = where.partition("::")
    if not file.endswith(".py"):
        assert result != HELD or where in {NO_TOKENS, DEPENDENCIES}
        return
    text = (ROOT / "tests" / file).read_text("utf-8")
    assert f"def {name}(" in text if name else "def test_" in text


# --- what no other test holds ---------------------------------------------------------


def programs(*folders: str) -> list[tuple[Path, ast.AST]]:
    found = [file for folder in folders for file in (ROOT / folder).rglob("*.py")]
    return [(file, ast.parse(file.read_text("utf-8"))) for file in found]


CODE = {"eval", "exec", "compile", "__import__", "mark_safe"}
OTHERS = {"os.system", "os.popen", "pickle.loads", "pickle.load", "marshal.loads"}
# What the program itself wrote a moment ago, where nobody else can write.
OF_OUR_OWN = {("maintenance/exchange/previews.py", "pickle.loads")}
DIGESTS = {"hashlib.md5", "hashlib.sha1", "hashlib.new"}


def test_no_words_become_code():
    """Nor a shell's; and no digest is one of those given up. Ruff's S608 looks at
    queries, with the two exceptions that quote a table's name."""
    wrong = []
    for file, tree in programs("maintenance", "rigsite"):
        for node in ast.walk(tree):
            if not isinstance(node, ast.Call):
                continue
            called = ast.unparse(node.func)
            shell = any(
                word.arg == "shell" and ast.unparse(word.value) != "False"
                for word in node.keywords
            )
            if (file.relative_to(ROOT).as_posix(), called) in OF_OUR_OWN:
                continue
            if called in CODE | OTHERS | DIGESTS or shell:
                wrong.append(f"{file}:{node.lineno}: {called}")

    assert not wrong


def test_no_markup_by_script():
    scripts = [
        file
        for file in (ROOT / "maintenance").rglob("static/**/*.js")
        if ".min." not in file.name
    ]
    markup = re.compile(
        r"innerHTML|outerHTML|insertAdjacentHTML|document\.write|eval\("
    )

    assert scripts
    assert not [file for file in scripts if markup.search(file.read_text("utf-8"))]


@pytest.mark.django_db
def test_what_is_typed_is_text(client_as):
    keeper = builders.make_member()
    nasty = "\"><script>x('1')</script>'{{ 7*7 }}"
    rig = builders.make_rig(keeper.household, name=nasty)
    client = client_as(keeper)

    for url in (
        "/",
        reverse("rigs"),
        reverse("rig", args=[rig.pk]),
        "/search/?q=script",
    ):
        text = client.get(url).text
        assert "<script>x(" not in text
        assert "'49" not in text
    assert "&lt;script&gt;x(" in client.get(reverse("rigs")).text


@pytest.mark.django_db
def test_answers_of_a_page(client_as):
    answer = client_as(builders.make_member()).get(
        "/", headers={"origin": "https://x.y"}
    )

    assert answer["Content-Type"] == "text/html; charset=utf-8"
    assert answer["X-Content-Type-Options"] == "nosniff"
    assert "Access-Control-Allow-Origin" not in answer
    assert "object-src 'none'" in answer["Content-Security-Policy"]


# Mail programs post there, which have no page of ours; the link itself is the token.
WITHOUT_TOKEN = {"stop_mail", "answer"}


@pytest.mark.django_db
def test_forms_need_a_token(client_as):
    exempt = {
        pattern.name
        for include in get_resolver().url_patterns
        for pattern in getattr(include, "url_patterns", [include])
        if getattr(pattern.callback, "csrf_exempt", False)
    }
    member = builders.make_member()
    strict = Client(enforce_csrf_checks=True)
    strict.force_login(member.user, "django.contrib.auth.backends.ModelBackend")

    assert exempt == WITHOUT_TOKEN
    assert strict.post(reverse("end_logins")).status_code == 403
    assert strict.get(reverse("logins")).status_code == 200


@pytest.mark.django_db
def test_files_lie_out_of_reach(client_as, settings):
    """Files of people lie outside what the web server shows, under names of our own."""
    client = client_as(builders.make_member())
    kept = Path(settings.DATA)
    (kept / "files").mkdir()
    (kept / "files" / "x.html").write_text("<script>1</script>")

    for url in (
        "/.git/config",
        "/files/x.html",
        "/static/../rigsite.db",
        "/static/%2e%2e/files/x.html",
        "/static//etc/passwd",
    ):
        assert client.get(url).status_code == 404, url


@pytest.mark.django_db
def test_password_fields(client, client_as):
    keeper = builders.make_member()
    pages = [
        client.get(reverse("login")),
        client_as(keeper).get(reverse("change_password")),
    ]
    fields = re.findall(r"<input[^>]*password[^>]*>", "".join(p.text for p in pages))

    assert len(fields) == 4
    for one in fields:
        assert 'type="password"' in one
        assert re.search(r'autocomplete="(current|new)-password"', one)
        assert "onpaste" not in one
        assert "maxlength" not in one


@pytest.mark.django_db
def test_nobody_is_there_first():
    assert not get_user_model().objects.exists()


@pytest.mark.django_db
def test_session_of_a_login(client):
    member = builders.make_member()
    login = {"username": member.user.username, "password": builders.PASSWORD}
    session = client.session
    session["of"] = "before"
    session.save()
    before = client.cookies["rigsite_session"] = session.session_key

    client.post(reverse("login"), login)
    key = client.cookies["rigsite_session"].value
    client.post(reverse("logout"))
    client.cookies["rigsite_session"] = key

    assert key != before
    assert re.fullmatch(r"[a-z0-9]{32}", key)  # 36 signs to choose from: 165 bits
    assert client.get(reverse("due")).status_code == 302
    assert not LoginSession.objects.filter(session_key__in=[key, before]).exists()
