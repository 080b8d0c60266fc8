from uuid import uuid4

import pytest
from django.urls import reverse

from maintenance.findings import services
from maintenance.findings.models import Finding, FindingState, Photo
from maintenance.walkrounds import rounds
from maintenance.walkrounds.models import ZoneLook
from tests import builders
from tests.builders import TODAY
from tests.walkrounds.conftest import phone_photo


@pytest.fixture(autouse=True)
def _may(clock):
    clock("2026-05-04 09:00", "America/Denver")


@pytest.fixture
def browser(client_as, crew):
    return client_as(crew)


def post_look(browser, walkround, zone="roof", *, script=False, **data):
    url = reverse("keep_look", args=[walkround.pk, zone])
    data = {"token": str(uuid4()), "answer": "changed", "severity": "soon", **data}
    headers = {"X-Walk": "1"} if script else {}
    return browser.post(url, data, headers=headers)


def text_of(answer):
    return answer.content.decode()


# --- the walk-around ------------------------------------------------------------------


def test_start_leads_to_every_zone_of_the_rig(browser, rig):
    answer = browser.post(reverse("start_walkround", args=[rig.pk]), follow=True)

    page = text_of(answer)
    assert "Roof" in page
    assert "Falls kill" in page
    assert "0 of 9 zones looked at" in page


def test_unfinished_walkround_stands_on_the_list(browser, walkround):
    page = text_of(browser.get(reverse("walkrounds")))

    assert f"{walkround.rig.name}: not finished" in page
    assert "Continue" in page
    assert f"Walk round {walkround.rig.name}" not in page


def test_one_tap_keeps_the_zone_and_leads_to_the_next(browser, walkround):
    answer = post_look(browser, walkround, "front", answer="same")

    assert answer["Location"].endswith("#zone-left")
    assert ZoneLook.objects.get().same


def test_form_that_is_refused_comes_back_as_it_was_typed(browser, walkround):
    answer = post_look(browser, walkround, words="Seam lifted", unfit="on")

    page = text_of(answer)
    assert answer.status_code == 200
    assert "Seam lifted" in page
    assert "Enter what makes it unfit to travel." in page
    assert "Choose the photos again." in page
    assert not ZoneLook.objects.exists()


def test_refused_file_is_said_at_its_field(browser, walkround):
    bad = phone_photo("notes.txt")
    bad.file.seek(0)
    bad.file.write(b"just some words!")
    bad.file.seek(0)

    page = text_of(post_look(browser, walkround, words="Seam lifted", photos=bad))

    assert "notes.txt" in page
    assert "Seam lifted" in page


def test_script_gets_the_zone_alone_and_the_token_that_is_kept(browser, walkround):
    token = str(uuid4())

    answer = post_look(browser, walkround, script=True, token=token, words="Seam")

    assert answer["X-Kept"] == token
    page = text_of(answer)
    assert page.lstrip().startswith("<section")
    assert token in page
    assert 'data-progress="1 of 9 zones looked at"' in page


def test_script_is_told_of_a_refusal_by_its_status(browser, walkround):
    answer = post_look(browser, walkround, script=True)

    assert answer.status_code == 422
    assert "X-Kept" not in answer
    assert "Enter what changed" in text_of(answer)


def test_same_post_twice_over_the_page_is_one_look(browser, walkround):
    once = {"token": str(uuid4()), "words": "Seam", "what": "Seam open"}

    post_look(browser, walkround, **once)
    again = post_look(browser, walkround, script=True, **once)

    assert again["X-Kept"] == once["token"]
    assert ZoneLook.objects.count() == 1
    assert Finding.objects.count() == 1


def test_zone_that_does_not_exist_is_not_found(browser, walkround):
    assert post_look(browser, walkround, "cellar").status_code == 404


def test_stranger_keeps_no_look(client_as, walkround):
    stranger = client_as(builders.make_member())

    assert post_look(stranger, walkround, words="x").status_code == 404
    started = stranger.post(reverse("start_walkround", args=[walkround.rig.pk]))
    assert started.status_code == 404


def test_viewer_sees_the_zones_without_forms(client_as, walkround):
    viewer = client_as(builders.make_member(walkround.rig.household, "viewer"))

    page = text_of(viewer.get(reverse("walkround", args=[walkround.pk])))

    assert "data-walk=" not in page
    assert post_look(viewer, walkround, words="x").status_code == 403


def test_photo_is_served_to_the_household_alone(browser, client_as, walkround):
    post_look(browser, walkround, photos=phone_photo())
    url = reverse("walk_photo", args=[Photo.objects.get().key])

    answer = browser.get(url)
    assert answer["Content-Type"] == "image/jpeg"
    assert b"".join(answer.streaming_content).startswith(b"\xff\xd8")
    assert client_as(builders.make_member()).get(url).status_code == 404


def test_finish_names_what_was_not_looked_at_and_records_the_ticks(browser, walkround):
    item = builders.make_item(walkround.rig, "radiator_look", title="Look at fins")
    post_look(browser, walkround, "front", answer="same")
    url = reverse("finish_walkround", args=[walkround.pk])

    page = text_of(browser.get(url))
    assert "Not looked at: left side" in page
    assert "Look at fins" in page

    browser.post(url, {"done": [item.pk]})
    walkround.refresh_from_db()
    assert walkround.record.lines.get().item == item
    assert item.completions.count() == 1


def test_finish_without_a_look_is_refused_on_the_page(browser, walkround):
    answer = browser.post(reverse("finish_walkround", args=[walkround.pk]), {})

    assert "Look at one zone at least before you finish." in text_of(answer)


# --- findings -------------------------------------------------------------------------


@pytest.fixture
def finding(rig, crew):
    return services.open_finding(rig, by=crew, on=TODAY, what="Crack", zone="roof")


def test_finding_is_added_with_a_photo_and_shown(browser, rig):
    data = {
        "form_token": str(uuid4()),
        "what": "Step is loose",
        "zone": "right",
        "severity": "trip",
        "uploads": phone_photo(),
    }
    url = reverse("add_finding", args=[rig.pk])

    page = text_of(browser.post(url, data, follow=True))
    browser.post(url, data | {"uploads": phone_photo()})

    assert "Step is loose" in page
    assert "Fix it before the next trip" in page
    assert Finding.objects.count() == Photo.objects.count() == 1


@pytest.mark.parametrize(
    ("query", "shown"),
    [
        ("", {"Open one", "Unfit one", "Shop one"}),
        ("?show=unfit", {"Unfit one"}),
        ("?show=shop", {"Shop one"}),
        ("?show=fixed", {"Fixed one"}),
        ("?show=all", {"Open one", "Unfit one", "Shop one", "Fixed one"}),
        ("?rig=999999", set()),
        ("?rig=x&show=y", {"Open one", "Unfit one", "Shop one"}),
    ],
)
def test_list_is_narrowed_by_its_filters(browser, rig, query, shown):
    def make(what, **fields):
        return Finding.objects.create(rig=rig, what=what, found_on=TODAY, **fields)

    make("Open one")
    make("Unfit one", unfit=True)
    make("Shop one", for_shop=True, state=FindingState.PLANNED)
    make("Fixed one", state=FindingState.FIXED)

    page = text_of(browser.get(reverse("findings") + query))

    every = {"Open one", "Unfit one", "Shop one", "Fixed one"}
    assert {what for what in every if what in page} == shown


@pytest.mark.parametrize("name", ["findings", "walkrounds"])
def test_list_costs_the_same_with_three_and_with_thirty(
    browser, crew, name, django_assert_max_num_queries
):
    def fill(count):
        for n in range(count):
            rig = builders.make_rig(crew.household)
            made = rounds.start_walkround(rig, by=crew, today=TODAY)
            rounds.keep_look(
                made,
                by=crew,
                today=TODAY,
                token=uuid4(),
                zone="roof",
                same=False,
                wrong=rounds.Wrong(f"Crack {n}"),
            )
            rounds.finish_walkround(made, by=crew, today=TODAY)

    fill(3)
    with django_assert_max_num_queries(10) as few:
        browser.get(reverse(name))
    fill(27)
    with django_assert_max_num_queries(len(few)):
        browser.get(reverse(name))


def test_finding_tells_its_story(browser, client_as, keeper, walkround, crew):
    first = {"words": "Seam", "wrong": rounds.Wrong("Seam open")}
    kept = {"by": crew, "today": TODAY, "zone": "roof"}
    rounds.keep_look(walkround, token=uuid4(), same=False, **kept, **first)
    rounds.keep_look(walkround, token=uuid4(), same=True, **kept)
    found = Finding.objects.get()
    url = reverse("plan_finding", args=[found.pk])
    client_as(keeper).post(url, {"title": "Seal it", "due_on": "2026-06-01"})

    page = text_of(browser.get(reverse("finding", args=[found.pk])))

    assert "walk-around</a>" in page
    assert "Seen again" in page
    assert "due by Jun 1, 2026" in page
    item = found.rig.plan_items.get()
    assert browser.get(reverse("item", args=[item.pk])).status_code == 200


def test_shop_list_holds_what_the_shop_needs(browser, finding):
    finding.rig.vin = "1M8GDM9AXKP042788"  # the check-digit example of 49 CFR 565.15
    finding.rig.save()
    url = reverse("set_for_shop", args=[finding.pk])

    browser.post(url, {"wanted": "1"})
    page = text_of(browser.get(reverse("shop_list", args=[finding.rig_id])))
    assert "Crack" in page
    assert "1M8GDM9AXKP042788" in page

    browser.post(url)
    page = text_of(browser.get(reverse("shop_list", args=[finding.rig_id])))
    assert "Nothing for the shop" in page


def test_change_by_a_button_leads_back_to_where_it_was(browser, finding):
    url = reverse("fix_finding", args=[finding.pk])

    answer = browser.post(f"{url}?next=/")

    assert answer["Location"] == "/"
    finding.refresh_from_db()
    assert finding.state == FindingState.FIXED


def test_crew_is_not_offered_to_live_with_what_makes_it_unfit(browser, finding):
    Finding.objects.update(unfit=True)

    page = text_of(browser.get(reverse("finding", args=[finding.pk])))
    answer = browser.post(reverse("accept_finding", args=[finding.pk]), {"why": "x"})

    assert "Leave it as is</a>" not in page
    assert answer.status_code == 403


def test_buttons_of_a_finding_are_not_a_strangers(client_as, finding):
    stranger = client_as(builders.make_member())

    for name in ("fix_finding", "reopen_finding", "set_for_shop"):
        assert stranger.post(reverse(name, args=[finding.pk])).status_code == 404


def test_zone_whose_words_tell_of_wheel_work_then_finishing_asks_which(
    browser, walkround
):
    post_look(browser, walkround, "wheels", words="New tires since last month")
    url = reverse("finish_walkround", args=[walkround.pk])

    assert "which wheels were off?" in text_of(browser.post(url, {}))
    recheck = {"event": "wheel_off", "distance": [50, 100], "unit": "mi"}
    builders.make_item(
        walkround.rig,
        "lug_recheck",
        title="Re-check lug torque",
        triggers=[{"after": recheck | {"meter": "odometer"}}],
    )
    builders.make_reading(walkround.rig, TODAY, 42_310)
    page = browser.post(url, {"wheels_off": ["LF", "RF"]}, follow=True)

    assert "Next: Re-check lug torque between 42,360 mi and 42,410 mi" in text_of(page)
    walkround.refresh_from_db()
    assert walkround.record.wheels_off == ["LF", "RF"]
    assert walkround.rig.events.get().kind == "wheel_off"
