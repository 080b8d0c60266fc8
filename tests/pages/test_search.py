"""Search: by words and those that mean the same; own rows only, as they are."""

from datetime import date
from decimal import Decimal

import pytest
from django.urls import reverse
from django.utils import timezone
from hypothesis import given
from hypothesis import strategies as st
from maintenance.pages.search.words import SAME, groups_of

from maintenance.findings.services import open_finding
from maintenance.pages.models import SearchText
from maintenance.pages.search.finding import as_fts5, as_tsquery, find_texts
from maintenance.pages.search.index import refresh
from maintenance.pages.tasks import refresh_search
from maintenance.plans.models import OwnProcedure
from maintenance.service_records.chain.linking import changing
from maintenance.service_records.models import ServiceRecord
from maintenance.troubleshooting.reading import load_trees
from maintenance.vehicles.models import Manual
from maintenance.vehicles.services import record_reading
from tests import builders
from tests.troubleshooting.test_guides import SAID

TODAY = date(2026, 5, 4)
TREES = load_trees()


@pytest.fixture
def keeper(db):
    return builders.make_member()


@pytest.fixture
def rig(keeper):
    return builders.make_rig(keeper.household, name="Heron")


def record(rig, *titles, **fields):
    made = ServiceRecord.objects.create(
        rig=rig, on=TODAY, doer=fields.pop("doer", "Me"), currency="USD", **fields
    )
    for title in titles:
        made.lines.create(title=title)
    return made


@pytest.fixture
def find(keeper):
    def found(typed, household=None):
        household = household or keeper.household
        refresh(household, timezone.now())
        texts = find_texts(household, typed)
        return {kind: [row.title for row in rows] for kind, rows in texts.items()}

    return found


@pytest.mark.parametrize(
    ("typed", "kind", "title"),
    [
        ("smell", "guide", "Smell of sewer inside"),
        ("yellow flame", "guide", "Gas flame weak, yellow or lifting"),
        ("lug", "guide", "A wheel shakes, or a tire wears unevenly"),
        ("wheel nut", "procedure", "Re-check"),
        ("tyre", "procedure", "tire"),
        ("foot pounds", "calculator", "Torque in another unit"),
        ("grey", "guide", "A tank gauge is wrong"),
        ("stinks", "guide", "Smell of sewer inside"),
        ("strain", "procedure", "strainer"),  # begun
        ("leaking roof", "guide", "A stain from a leak at roof or wall"),  # by its stem
    ],
)
def test_what_an_owner_types_is_found(find, typed, kind, title):
    found = find(typed)

    assert any(title.casefold() in one.casefold() for one in found[kind])


def test_each_guide_is_found_by_what_an_owner_says(find):
    missed = [
        (typed, guide)
        for typed, guide in SAID
        if TREES[guide].title not in find(typed).get("guide", [])
    ]

    assert missed == []


def test_every_word_is_needed(find):
    assert find("flame zebra") == {}


def test_title_comes_before_text(find, rig):
    record(rig, "Washed it", notes="The awning was dry.")
    record(rig, "Awning renewed")

    assert find("awning")["record"][0] == "Awning renewed"


def test_record_is_found_by_job_shop_note_and_part(find, rig):
    made = record(rig, "Front brakes", doer="Ridge Garage", notes="squealed")
    made.parts_used.create(name="Pad set", number="HX-2207")

    for typed in ("brakes", "ridge", "squeal", "pad", "2207"):
        assert find(typed)["record"] == ["Front brakes"]


def test_record_entered_later_is_found_at_once(find, rig, keeper):
    record(rig, "Front brakes")
    find("brakes")
    record(rig, "Rear brakes")
    open_finding(rig, by=keeper, on=TODAY, what="Squeal")

    assert sorted(find("brakes")["record"]) == ["Front brakes", "Rear brakes"]


def test_void_record_says_so(find, rig, keeper):
    made = record(rig, "Front brakes")
    find("brakes")
    ServiceRecord.objects.filter(pk=made.pk).update(voided_at=timezone.now())
    open_finding(rig, by=keeper, on=TODAY, what="Squeal")
    find("brakes")

    assert SearchText.objects.get(kind="record").about.endswith("void")


def test_amended_record_is_found_by_its_new_words(find, rig, keeper):
    made = record(rig, "Front brakes")
    find("brakes")
    with changing(made, by=keeper, why="It was the other axle"):
        made.lines.update(title="Rear drums")
    open_finding(rig, by=keeper, on=TODAY, what="Squeal")

    assert find("drums")["record"] == ["Rear drums"]
    assert "record" not in find("front")


def test_finding_manual_note_and_own_procedure_are_found(find, rig, keeper):
    open_finding(rig, by=keeper, on=TODAY, what="Crack in the skylight")
    manual = Manual.objects.create(
        rig=rig,
        title="Chassis book",
        content_type="application/pdf",
        stored="x.pdf",
        size=1,
        sha256="0" * 64,
    )
    manual.notes.create(page=12, text="quorbit torque 140")

    assert find("skylight")["finding"] == ["Crack in the skylight"]
    assert find("quorbit")["manual"] == ["Chassis book"]


def test_plan_item_is_found_by_what_its_procedure_says(find, rig, keeper):
    own = OwnProcedure.objects.create(
        household=keeper.household,
        title="Check the bike rack",
        system="body-doors",
        who="owner",
        minutes=10,
        steps=["Shake the sprocket holder."],
        triggers=[],
        written_on=TODAY,
    )
    builders.make_item(rig, key=own.key, title=own.title)

    assert find("sprocket")["item"] == ["Check the bike rack"]


def test_what_was_dropped_is_found_no_more(find, rig, keeper):
    item = builders.make_item(rig, title="Polish the quorbit")
    assert find("quorbit")["item"]
    item.dropped_on = TODAY
    item.save()
    meter = rig.meters.get()
    record_reading(meter, by=keeper, today=TODAY, on=TODAY, value=Decimal(43000))

    assert "item" not in find("quorbit")


def test_other_households_rows_are_never_found(find, rig):
    stranger = builders.make_member(builders.make_household(name="Birch"))
    record(rig, "Secret brakes")
    find("secret")

    assert find("secret", stranger.household) == {}


def test_nothing_is_made_anew_where_nothing_happened(
    keeper, rig, django_assert_num_queries
):
    record(rig, "Front brakes")
    refresh(keeper.household, timezone.now())
    with django_assert_num_queries(4):  # two marks, the log, the chain
        refresh(keeper.household, timezone.now())


def test_removed_row_leaves_the_words(find, rig):
    record(rig, "Quorbit renewed")
    assert find("quorbit")
    SearchText.objects.filter(kind="record").delete()

    assert find_texts(rig.household, "quorbit") == {}


def test_page_groups_what_was_found_and_links_to_it(client_as, keeper, rig):
    made = record(rig, "Front brakes")

    page = client_as(keeper).get(reverse("search"), {"q": "brakes"}).content.decode()

    assert "Work on record" in page
    assert reverse("record", args=[made.pk]) in page


@pytest.mark.parametrize("typed", ["", "   ", "???", '"; DROP TABLE', "NOT", "a" * 300])
def test_page_takes_whatever_is_typed(client_as, keeper, typed):
    answer = client_as(keeper).get(reverse("search"), {"q": typed})

    assert answer.status_code == 200


@given(st.text(max_size=60))
def test_query_holds_words_alone_whatever_is_typed(typed):
    groups = groups_of(typed)

    assert all(word.isalnum() or "_" in word for group in groups for word in group[:1])
    assert as_fts5(groups).count('"') % 2 == 0
    assert "'" not in as_tsquery(groups)


def test_words_that_mean_the_same_stand_in_one_row_only():
    names = [name for row in SAME for name in row]

    assert len(names) == len(set(names))


def test_search_adds_the_newest_records_and_says_that_more_are_to_come(
    keeper, rig, client_as, monkeypatch
):
    monkeypatch.setattr("maintenance.pages.search.views.MOST_ADDED", 2)
    for n in range(5):
        record(rig, f"Awning {n}")
    client = client_as(keeper)

    def ask():
        return client.get(reverse("search"), {"q": "awning"})

    first = ask().content.decode()

    assert "still being added" in first
    assert [n for n in range(5) if f"Awning {n}" in first] == [3, 4]
    assert "still being added" in ask().content.decode()
    last = ask().content.decode()
    assert "still being added" not in last
    assert all(f"Awning {n}" in last for n in range(5))


def test_worker_adds_what_is_missing_in_steps_and_once(
    keeper, rig, monkeypatch, django_assert_max_num_queries
):
    monkeypatch.setattr("maintenance.pages.search.index.STEP", 2)
    for n in range(5):
        record(rig, f"Awning {n}")

    refresh_search()

    assert SearchText.objects.filter(kind="record").count() == 5
    with django_assert_max_num_queries(6):
        refresh_search()


def test_same_work_on_several_days_is_one_row_with_a_link_to_each(keeper, rig, client):
    made = [record(rig, "Awning oiled"), record(rig, "Awning oiled")]
    record(rig, "Awning sewn")
    client.force_login(keeper.user)

    page = client.get(reverse("search"), {"q": "awning"}).content.decode()

    assert page.count("Awning oiled") == 1
    assert all(f'href="{reverse("record", args=[one.pk])}"' in page for one in made)
