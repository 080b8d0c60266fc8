"""Five hundred requests of a fixed seed; `python -m tests.fuzz 5000` makes more."""

import pytest

from tests.fuzz.home import make_home
from tests.fuzz.walk import walk

REQUESTS = 500
# Forms that make something, or say something new of a day, whatever was said before.
# All others are filled with what a row says, and have to be held against what somebody
# else made of it meanwhile: by `changes` and `now` of `form_page`.
MAKES = {
    "accept_finding", "add_finding", "add_manual", "add_member", "add_meter",
    "add_part", "add_rig", "add_supply", "add_ticket", "add_tool", "asked_for",
    "bring_in", "buy_supply", "change_password", "defer", "drop_item",
    "end_stay", "finish_walkround",
    "fit_hub_meter", "give_reading", "invite", "keep_look", "keep_sheet", "move_part",
    "note_page", "plan_finding", "plan_trip", "point_to_page", "propose_plan",
    "put_part_aside", "record_work", "replace_meter", "report_event", "rotate_tires",
    "same_record", "sell_rig", "severe_duty", "shop_sheet", "start_stay", "use_supply",
    "visit_stay", "void_record", "withdraw_fact", "withdraw_fitting", "write_procedure",
}  # fmt: skip


@pytest.mark.django_db
def test_every_address_with_nonsense_then_words_and_nothing_of_others_changed(clock):
    clock("2026-05-04 09:00", "America/Denver")
    members, strangers = make_home("Alder"), make_home("Birch")

    walked = walk(members, strangers, requests=REQUESTS, seed=20260504)

    faults = [f"{one.what}: {one.words}" for one in walked.faults.values()]
    assert not faults, "\n\n".join([str(walked), *faults])
    assert walked.requests == REQUESTS
    # It got through to most pages, and work was taken: else nothing was tried.
    assert len(walked.reached) > walked.addresses / 2
    assert walked.kept > REQUESTS / 25
    assert walked.unchecked <= MAKES, walked.unchecked - MAKES
