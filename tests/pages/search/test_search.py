"""Search: by words and those that mean the same; own rows only, as they are."""

import uuid
from datetime import date
from decimal import Decimal

import pytest
from django.urls import reverse
from django.utils import timezone
from hypothesis import given
from hypothesis import strategies as st

from maintenance.components.models import Component
from maintenance.findings.services import open_finding
from maintenance.library.reading import load_library
from maintenance.pages.models import SearchText
from maintenance.pages.search.common import shelf
from maintenance.pages.search.finding import find as find_all
from maintenance.pages.search.index import refresh
from maintenance.pages.search.rows import as_fts5, as_tsquery
from maintenance.pages.search.showing import groups_of
from maintenance.pages.tasks import refresh_search
from maintenance.plans.models import OwnProcedure
from maintenance.service_records.chain.linking import changing
from maintenance.service_records.models import ServiceRecord, TorqueCheck
from maintenance.troubleshooting.reading import load_trees
from maintenance.vehicles.models import Manual, Spot
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


def search_for(client, typed):
    return client.get(reverse("search"), {"q": typed}).content.decode()


def attach(made, title, content_type):
    made.attachments.create(
        rig=made.rig,
        form_token=uuid.uuid4(),
        title=title,
        content_type=content_type,
        stored=f"{uuid.uuid4()}.x",
        size=1,
        sha256="0" * 64,
    )


def record(rig, *titles, **fields):
    made = ServiceRecord.objects.create(
        rig=rig, on=TODAY, doer=fields.pop("doer", "Me"), currency="USD", **fields
    )
    for title in titles:
        made.lines.create(title=title)
    return made


@pytest.fixture
def find(keeper):
    """By kind, the titles of what was found, best first."""

    def found(typed, household=None):
        household = household or keeper.household
        refresh(household, timezone.now())
        titles = {}
        for one in find_all(household, typed).ranked:
            titles.setdefault(one.thing.kind, []).append(one.thing.title)
        return titles

    return found


@pytest.mark.parametrize(
    ("typed", "kind", "key"),
    [
        ("furnace will not light", "guide", "furnace_cycles"),
        ("Furnace won\u2019t light!", "guide", "furnace_cycles"),
        ("the furnace isn't lighting", "guide", "furnace_cycles"),
        ("furnace never lit", "guide", "furnace_cycles"),
        ("pipe leaks", "procedure", "water_leak_hold"),
        ("leaking pipes", "procedure", "water_leak_hold"),
        ("P trap", "procedure", "drain_traps"),
        ("ptrap", "procedure", "drain_traps"),
        ("p-traps", "procedure", "drain_traps"),
        ("waterheater", "guide", "water_heater"),
        ("break away switch", "procedure", "breakaway_test"),
        ("tyre pressure", "procedure", "tire_pressure"),
        ("wheel nut", "procedure", "lug_recheck"),
        ("foot pounds", "calculator", "torque_units"),
        ("strain", "procedure", "pump_strainer"),  # begun
        ("15amp", "calculator", "hookup"),
        ("30 A", "calculator", "hookup"),
        ("12.2 V", "calculator", "battery_volts"),
        ("batery terminal corosion", "procedure", "battery_terminals"),  # mistyped
        ("passenger side", "zone", "right"),
        ("where is the fuse box", "place", "fuses_12v"),
    ],
)
def test_what_an_owner_types_comes_first(typed, kind, key):
    ranked = shelf().rank(shelf().ask(typed), kinds=(kind,))

    assert ranked[0].thing.key == key


@pytest.mark.parametrize(("typed", "guide"), SAID)
def test_each_guide_is_found_by_what_an_owner_says(typed, guide):
    ranked = shelf().rank(shelf().ask(typed), kinds=("guide",))

    assert guide in [one.thing.key for one in ranked[:3]]


def test_word_that_nothing_has_is_told_and_left_out(client_as, keeper):
    page = client_as(keeper).get(reverse("search"), {"q": "yellow flame zebra "})

    assert "Nothing has \u201czebra\u201d" in page.content.decode()
    assert TREES["gas_flame"].title in page.content.decode()


def test_mistyped_word_is_told_with_the_one_taken(client_as, keeper):
    page = client_as(keeper).get(reverse("search"), {"q": "refridgerator vents"})

    assert "This is for \u201crefrigerator\u201d" in page.content.decode()


def test_word_of_a_record_is_no_slip_of_the_pen(find, rig):
    record(rig, "Batten of the awning oiled", doer="Battery Point Garage")

    assert find("batten")["record"] == ["Batten of the awning oiled"]


def test_title_comes_before_text(find, rig):
    record(rig, "Washed it", notes="The awning was dry.")
    record(rig, "Awning renewed")

    assert find("awning")["record"][0] == "Awning renewed"


def test_record_is_found_by_job_shop_note_part_month_and_figures(find, rig):
    made = record(
        rig,
        "Front brakes",
        doer="Ridge Garage",
        notes="squealed",
        values={"odometer": "42310.0"},
        total=Decimal("568.37"),
    )
    made.parts_used.create(name="Pad set", number="HX-2207")
    made.lines.update(
        measures=[{"name": "lining", "place": "LF", "value": "0.25", "unit": "in"}]
    )

    for typed in (
        *("brakes", "ridge", "squeal", "pad", "2207", "hx2207", "HX-2207", "may 2026"),
        *("42,310", "42310", "568.37", "$568", "0.25 in", "left front lining"),
    ):
        assert find(typed)["record"] == ["Front brakes"], typed


def test_torque_of_a_record_is_found_with_and_without_its_unit(find, rig):
    made = record(rig, "Wheels back on")
    TorqueCheck.objects.create(
        record=made, figure=115, unit="ft\u00b7lbf", origin="invoice"
    )

    for typed in ("115 ft-lb", "115", "115 foot pounds", "115 ft\u00b7lbf", "115ftlbs"):
        assert find(typed)["record"] == ["Wheels back on"], typed


def test_file_is_found_by_what_it_is_its_year_and_the_work(find, rig):
    made = record(rig, "Front brakes")
    attach(made, "scan-0042.pdf", "application/pdf")
    attach(record(rig, "Roof washed"), "roof.jpg", "image/jpeg")

    for typed in ("invoice 2026", "receipt brakes", "scan 0042", "bill front brakes"):
        assert find(typed)["file"][0] == "scan-0042.pdf", typed
    assert find("picture roof")["file"] == ["roof.jpg"]


def test_record_that_was_undone_is_shown_no_more(client_as, keeper, rig):
    made = record(rig, "Quorbit oiled")
    attach(made, "quorbit.pdf", "application/pdf")
    client = client_as(keeper)
    assert "Quorbit oiled" in search_for(client, "quorbit")
    made.attachments.all().delete()
    made.delete()

    assert "Quorbit oiled" not in search_for(client, "quorbit")


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
    record(rig, "Quorbit brakes")
    find("quorbit")

    assert find("quorbit", stranger.household) == {}


def test_nothing_is_made_anew_where_nothing_happened(
    keeper, rig, django_assert_num_queries
):
    record(rig, "Front brakes")
    refresh(keeper.household, timezone.now())
    with django_assert_num_queries(3):  # the mark, the log, the chain
        refresh(keeper.household, timezone.now())


def test_removed_row_leaves_the_words(find, rig):
    record(rig, "Quorbit renewed")
    assert find("quorbit")
    SearchText.objects.filter(kind="record").delete()

    assert find_all(rig.household, "quorbit").ranked == []


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
    asked = shelf().ask(typed, lambda _term, _begun: True)

    for group in asked.groups:
        assert all(term.isalnum() for term in group.terms)
        assert group.begun == "" or group.begun.isalnum()
    assert as_fts5(asked.groups).count('"') % 2 == 0
    assert "'" not in as_tsquery(asked.groups)


def test_row_that_has_all_but_one_of_three_words_is_found_where_none_has_all(find, rig):
    record(rig, "Water pump renewed", notes="It hummed.")

    assert find("water pump hummed")["record"] == ["Water pump renewed"]
    record(rig, "Quorbit")
    assert find("water hummed quorbit")["record"] == ["Water pump renewed"]


def test_rig_is_found_by_its_name_make_and_kind(find, rig):
    rig.make = "Marshwick"
    rig.save()

    assert find("heron")["rig"] == ["Heron"]
    assert find("marshwick")["rig"] == ["Heron"]


def test_job_of_the_rig_that_is_named_is_shown(client_as, keeper, rig):
    other = builders.make_rig(keeper.household, name="Plover")
    items = [builders.make_item(one, key="water_filter") for one in (rig, other)]

    page = search_for(client_as(keeper), "plover water filter")

    assert reverse("item", args=[items[1].pk]) in page
    assert reverse("item", args=[items[0].pk]) not in page


def test_job_on_several_plans_is_one_row_with_a_link_to_each(client_as, keeper, rig):
    other = builders.make_rig(keeper.household, name="Plover")
    items = [builders.make_item(one, key="water_filter") for one in (rig, other)]

    page = search_for(client_as(keeper), "water filter")

    assert all(reverse("item", args=[item.pk]) in page for item in items)
    title = load_library().procedures["water_filter"].title
    assert page.count(f'row-title">{title}') == 1


def test_job_on_no_plan_leads_to_how_it_is_done(client_as, keeper):
    page = search_for(client_as(keeper), "water filter")

    assert reverse("library", args=["water_filter"]) in page


def test_spot_is_found_by_what_was_told_of_it(find, rig, keeper):
    Spot.objects.create(
        rig=rig, name="water_pump", words="Under the quorbit bench", told_on=TODAY
    )

    assert find("quorbit")["spot"] == [load_library().spots["water_pump"].title]


def test_part_is_found_by_place_serial_and_load_range(find, rig):
    Component.objects.create(
        household=rig.household,
        rig=rig,
        kind="tire",
        place="LF",
        serial="XQ7T-2219",
        load_range="E",
    )

    for typed in ("left front tire", "XQ7T-2219", "load range e"):
        assert find(typed)["part"] == ["Tire, left front"], typed


def test_kinds_stand_in_the_order_of_their_best_and_the_rest_is_folded(find, rig):
    for n in range(9):
        record(rig, f"Quorbit {n}")
    refresh(rig.household, timezone.now())

    (group,) = groups_of(find_all(rig.household, "quorbit"))

    assert (group.title, len(group.rows), len(group.folded)) == ("Work on record", 4, 5)


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

    assert "still adding older records" in first
    assert [n for n in range(5) if f"Awning {n}" in first] == [3, 4]
    assert "still adding older records" in ask().content.decode()
    last = ask().content.decode()
    assert "still adding older records" not in last
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


@pytest.mark.parametrize("typed", ["smell gas", "the CO alarm went off", "gas leak?"])
def test_words_of_gas_and_alarms_say_first_what_to_do(client_as, keeper, typed):
    page = search_for(client_as(keeper), typed)

    assert "Call 911 from outside" in page


def test_other_words_do_not_cry_wolf(client_as, keeper):
    assert "Call 911" not in search_for(client_as(keeper), "propane refill")


def test_page_has_a_field_of_its_own_as_a_phone_has_none_above(client_as, keeper):
    page = search_for(client_as(keeper), "awning")

    assert (
        'id="page-search" name="q" type="search" maxlength="100" value="awning"' in page
    )


def test_three_links_and_more_are_folded_in_their_row(client_as, keeper, rig):
    made = [record(rig, "Quorbit oiled") for _ in range(3)]

    page = search_for(client_as(keeper), "quorbit")

    assert "3 times" in page
    assert all(reverse("record", args=[one.pk]) in page for one in made)


def test_record_of_many_jobs_is_named_by_the_one_that_was_asked_for(
    client_as, keeper, rig
):
    record(rig, "Roof washed", "Quorbit oiled", "Awning dried")

    page = search_for(client_as(keeper), "quorbit")

    assert ">Quorbit oiled</a>" in page
    assert "Roof washed" not in page
