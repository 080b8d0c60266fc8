from datetime import date, timedelta
from uuid import uuid4

import pytest
from django.db import IntegrityError, transaction
from PIL import Image

from maintenance.findings import services
from maintenance.findings.models import Finding, Photo
from maintenance.findings.photos import path_of
from maintenance.findings.zones import zones_of
from maintenance.households.access import NotAllowed
from maintenance.households.models import Role
from maintenance.households.refusals import Refused
from maintenance.plans.models import Completion, Outcome
from maintenance.service_records.models import ServiceRecord
from maintenance.walkrounds import rounds
from maintenance.walkrounds.models import WalkRound, ZoneLook
from maintenance.walkrounds.queries import round_page
from tests import builders
from tests.builders import TODAY
from tests.walkrounds.conftest import GPS, phone_photo

NEXT = TODAY + timedelta(days=30)


def look(walkround, crew, zone="roof", *, same=False, today=TODAY, **fields):
    fields.setdefault("token", uuid4())
    return rounds.keep_look(
        walkround, by=crew, today=today, zone=zone, same=same, **fields
    )


def next_round(walkround, crew):
    rounds.finish_walkround(walkround, by=crew, today=NEXT)
    return rounds.start_walkround(walkround.rig, by=crew, today=NEXT)


# --- started --------------------------------------------------------------------------


def test_second_start_goes_on_with_the_unfinished_one(walkround, keeper):
    again = rounds.start_walkround(walkround.rig, by=keeper, today=NEXT)

    assert again == walkround


def test_database_holds_one_unfinished_walkround_per_rig(walkround):
    with pytest.raises(IntegrityError), transaction.atomic():
        WalkRound.objects.create(rig=walkround.rig, started_on=TODAY)


def test_sold_rig_is_not_walked_round(crew):
    rig = builders.make_rig(crew.household, sold_on=TODAY)

    with pytest.raises(Refused, match="sold"):
        rounds.start_walkround(rig, by=crew, today=TODAY)


def test_viewer_neither_starts_nor_looks_nor_finishes(walkround):
    viewer = builders.make_member(walkround.rig.household, Role.VIEWER)

    with pytest.raises(NotAllowed):
        rounds.start_walkround(walkround.rig, by=viewer, today=TODAY)
    with pytest.raises(NotAllowed):
        look(walkround, viewer, same=True)
    with pytest.raises(NotAllowed):
        rounds.finish_walkround(walkround, by=viewer, today=TODAY)


# --- one zone -------------------------------------------------------------------------


def test_same_token_twice_is_one_look_one_finding_and_one_photo(walkround, crew):
    once = {"token": uuid4(), "words": "Seam lifted", "wrong": rounds.Wrong("Seam")}

    first = look(walkround, crew, uploads=[phone_photo()], **once)
    second = look(walkround, crew, uploads=[phone_photo()], **once)

    assert first == second
    assert ZoneLook.objects.count() == 1
    assert Finding.objects.count() == 1
    assert Photo.objects.count() == 1


def test_token_of_another_zone_is_refused(walkround, crew):
    token = uuid4()
    look(walkround, crew, "roof", same=True, token=token)

    with pytest.raises(Refused, match="Reload the page"):
        look(walkround, crew, "front", same=True, token=token)


def test_two_people_at_one_zone_lose_nothing(walkround, crew, keeper):
    look(walkround, crew, words="Seam lifted at the front")
    look(walkround, keeper, same=True)

    (roof,) = [z for z in round_page(walkround).zones if z.zone.key == "roof"]
    assert [one.words for one in roof.looks] == ["Seam lifted at the front", ""]


def test_photo_of_a_phone_is_kept_upright_and_without_its_place(walkround, crew):
    look(walkround, crew, uploads=[phone_photo()])

    with Image.open(path_of(Photo.objects.get())) as kept:
        assert kept.size == (40, 60)
        assert not kept.getexif().get_ifd(GPS)


def test_changed_without_anything_said_is_refused(walkround, crew):
    with pytest.raises(Refused, match="Enter what changed") as refused:
        look(walkround, crew, words="  ")

    assert refused.value.field == "words"


def test_file_that_is_no_photo_keeps_nothing(walkround, crew):
    bad = phone_photo()
    bad.file.seek(0)
    bad.file.write(b"MZ this is a program")
    bad.file.seek(0)

    with pytest.raises(Refused) as refused:
        look(walkround, crew, words="Seam lifted", uploads=[bad])

    assert refused.value.field == "photos"
    assert not ZoneLook.objects.exists()


def test_zone_that_the_rig_does_not_have_is_refused(crew):
    car = builders.make_rig(crew.household, kind="towed_car")
    walkround = rounds.start_walkround(car, by=crew, today=TODAY)

    with pytest.raises(Refused, match="no such zone"):
        look(walkround, crew, "tanks", same=True)


def test_look_on_its_way_when_the_walkround_was_finished_is_kept(walkround, crew):
    look(walkround, crew, "front", same=True)
    rounds.finish_walkround(walkround, by=crew, today=TODAY)

    look(walkround, crew, "roof", words="Seam lifted")

    assert walkround.looks.filter(zone="roof", words="Seam lifted").exists()


# --- the last look beside -------------------------------------------------------------


def test_last_words_stay_beside_after_looks_that_found_no_change(walkround, crew):
    look(walkround, crew, words="Small scratch by the vent", uploads=[phone_photo()])
    second = next_round(walkround, crew)
    look(second, crew, same=True, today=NEXT)
    third = next_round(second, crew)

    last = round_page(third).of("roof").last

    assert last.told.words == "Small scratch by the vent"
    assert last.told.photos.count() == 1
    assert last.latest.on == NEXT


def test_first_walkround_has_nothing_beside(walkround):
    assert all(zone.last is None for zone in round_page(walkround).zones)


def test_other_rigs_looks_do_not_stand_beside(walkround, crew):
    look(walkround, crew, words="Scratch")
    other = builders.make_rig(crew.household)
    theirs = rounds.start_walkround(other, by=crew, today=NEXT)

    assert round_page(theirs).of("roof").last is None


def fill(walkround, crew, zones):
    for zone in zones:
        wrong = rounds.Wrong(f"{zone} is loose")
        look(walkround, crew, zone, words="a", wrong=wrong, uploads=[phone_photo()])


def test_page_of_a_walkround_costs_the_same_with_one_zone_and_with_nine(
    walkround, crew, django_assert_num_queries
):
    fill(walkround, crew, ["roof"])
    second = next_round(walkround, crew)
    fill(second, crew, ["roof"])
    with django_assert_num_queries(9):
        assert round_page(second).looked == 1

    zones = [zone.key for zone in zones_of(walkround.rig)]
    fill(second, crew, zones)
    third = next_round(second, crew)
    fill(third, crew, zones)
    with django_assert_num_queries(9):
        assert round_page(third).looked == len(zones)


# --- findings seen --------------------------------------------------------------------


def test_finding_seen_as_last_time_is_linked_not_doubled(walkround, crew):
    look(walkround, crew, wrong=rounds.Wrong("Crack at the vent", unfit=True))
    second = next_round(walkround, crew)

    seen = look(second, crew, same=True, today=NEXT)

    found = Finding.objects.get()
    assert found.zone == "roof"
    assert found.unfit
    assert [one.look for one in found.sightings.all()] == [seen]


def test_changed_zone_links_only_what_is_said_to_be_still_there(walkround, crew):
    look(walkround, crew, wrong=rounds.Wrong("Crack"))
    look(walkround, crew, wrong=rounds.Wrong("Loose screw"))
    crack, screw = Finding.objects.order_by("pk")

    look(walkround, crew, words="Screw was tightened", still=[crack])

    assert crack.sightings.count() == 1
    assert screw.sightings.count() == 0


def test_finding_of_another_rig_is_not_linked(walkround, crew):
    other = builders.make_rig(crew.household)
    theirs = services.open_finding(other, by=crew, on=TODAY, what="Crack")

    with pytest.raises(Refused, match="another rig"):
        look(walkround, crew, still=[theirs])


# --- finished -------------------------------------------------------------------------


def items(rig):
    keys = ("radiator_look", "hand_wash_look", "engine_oil")
    return {key: builders.make_item(rig, key) for key in keys}


def test_items_are_answered_by_their_zones_and_by_nothing_else(walkround, crew):
    made = items(walkround.rig)
    assert rounds.answerable(walkround) == []

    look(walkround, crew, "rear", same=True)
    assert rounds.answerable(walkround) == [made["hand_wash_look"]]

    look(walkround, crew, "front", same=True)
    assert set(rounds.answerable(walkround)) == {
        made["radiator_look"],
        made["hand_wash_look"],
    }


def test_zone_where_something_was_found_answers_no_look(walkround, crew):
    items(walkround.rig)

    look(walkround, crew, "front", wrong=rounds.Wrong("Fins bent"))

    assert [item.key for item in rounds.answerable(walkround)] == ["hand_wash_look"]


def test_finish_records_what_was_done_in_full_once(walkround, crew):
    made = items(walkround.rig)
    look(walkround, crew, "front", same=True)
    done = [made["radiator_look"], made["hand_wash_look"]]

    rounds.finish_walkround(walkround, by=crew, today=TODAY, done=done)
    rounds.finish_walkround(walkround, by=crew, today=TODAY, done=done)

    record = ServiceRecord.objects.get()
    assert walkround.record == record
    assert record.doer == crew.name
    outcomes = dict(Completion.objects.values_list("item__key", "outcome"))
    assert outcomes["hand_wash_look"] == Outcome.DONE
    assert Completion.objects.filter(outcome=Outcome.SERVICEABLE).count() == 1


def test_walkround_over_several_days_records_the_span(walkround, crew):
    made = items(walkround.rig)
    look(walkround, crew, "front", same=True)
    end = date(2026, 5, 6)

    done = [made["radiator_look"]]
    rounds.finish_walkround(walkround, by=crew, today=end, done=done)

    record = ServiceRecord.objects.get()
    assert (record.on, record.until) == (TODAY, end)


def test_finish_without_ticks_records_nothing(walkround, crew):
    items(walkround.rig)
    look(walkround, crew, "front", same=True)

    recorded = rounds.finish_walkround(walkround, by=crew, today=TODAY)

    assert recorded is None
    assert walkround.finished_on == TODAY
    assert not ServiceRecord.objects.exists()


def test_finish_needs_a_look(walkround, crew):
    with pytest.raises(Refused, match="Look at one zone"):
        rounds.finish_walkround(walkround, by=crew, today=TODAY)


def test_item_that_the_walkround_does_not_answer_is_refused(walkround, crew):
    made = items(walkround.rig)
    look(walkround, crew, "front", same=True)

    with pytest.raises(Refused, match="doesn't cover"):
        rounds.finish_walkround(
            walkround, by=crew, today=TODAY, done=[made["engine_oil"]]
        )
