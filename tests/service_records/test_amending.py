from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.utils import timezone

from maintenance.households.access import NotAllowed
from maintenance.households.models import Role
from maintenance.households.refusals import Refused
from maintenance.plans.models import Completion
from maintenance.plans.services import take_on
from maintenance.service_records.amending import Amended, amend_record
from maintenance.service_records.chain.verifying import verify
from maintenance.service_records.models import Attachment, ChainLink, ServiceRecord
from maintenance.service_records.services import undo_record, void_record
from maintenance.service_records.torque import Wheels
from maintenance.service_records.work import Line
from maintenance.vehicles.models import Event, Reading
from tests import builders
from tests.builders import TODAY

from .chain_parts import add_proof, link_all, log


@pytest.fixture
def keeper(db):
    return builders.make_member()


@pytest.fixture
def rig(keeper):
    rig = builders.make_rig(keeper.household)
    take_on(rig, by=keeper, today=date(2026, 1, 1), keys=["engine_oil", "lug_recheck"])
    return rig


@pytest.fixture
def record(keeper, rig):
    oil = rig.plan_items.get(key="engine_oil")
    return log(
        rig,
        keeper,
        lines=[Line(oil.title, oil)],
        values={"odometer": Decimal(42310)},
        wheels=Wheels(off=frozenset({"LF"})),
    )


def as_it_is(record, **changes):
    lines = [
        (row, Line(row.title, row.item, row.outcome, row.note))
        for row in record.lines.all()
    ]
    values = {meter: Decimal(value) for meter, value in record.values.items()}
    return replace(Amended(record.on, record.until, lines, values), **changes)


def amend(record, by, why="typing slip", **changes):
    to = as_it_is(record, **changes)
    return amend_record(record, by=by, today=TODAY, why=why, to=to)


def standing_of(model):
    return model.objects.filter(withdrawn=False)


def test_changed_day_and_reading_move_what_the_record_gave(keeper, record):
    amend(record, keeper, on=date(2026, 4, 1), values={"odometer": Decimal(41310)})

    assert standing_of(Completion).get().values == {"odometer": "41310"}
    assert standing_of(Reading).get().on == date(2026, 4, 1)
    event = standing_of(Event).get()
    assert (event.on, event.places) == (date(2026, 4, 1), ["LF"])


def test_changed_day_renews_the_standing_at_once(keeper, rig, record):
    oil = rig.plan_items.get(key="engine_oil")
    before = oil.standing.result["window"]

    amend(record, keeper, on=date(2025, 5, 1))

    oil.refresh_from_db()
    assert rig.plan_items.get(key="engine_oil").standing.result["window"] != before


def test_outcome_that_renews_nothing_takes_the_completion_back(keeper, record):
    row = record.lines.get()

    amend(record, keeper, lines=[(row, Line(row.title, row.item, "not_done", "cold"))])

    assert not standing_of(Completion).exists()


def test_follow_up_that_was_done_stays_done(keeper, rig, record):
    lug = rig.plan_items.get(key="lug_recheck")
    log(
        rig,
        keeper,
        lines=[Line(lug.title, lug, "held")],
        on=date(2026, 5, 3),
        values={"odometer": Decimal(42400)},
    )

    amend(record, keeper, fields={"notes": "The invoice is in the blue folder."})

    lug = rig.plan_items.get(key="lug_recheck")
    assert lug.standing.result["pending"] == []


def test_old_value_is_in_the_chain_with_who_when_and_why(keeper, record):
    amend(record, keeper, fields={"doer": "Salt Road Garage"})

    entered, amended = record.links.all()
    assert entered.content["doer"] == "Bay Street Garage"
    assert amended.content["doer"] == "Salt Road Garage"
    assert (amended.kind, amended.by, amended.why) == (
        "amended",
        keeper.name,
        "typing slip",
    )
    assert verify(record.rig).holds


def test_line_is_added_and_another_removed(keeper, record):
    amend(record, keeper, lines=[(None, Line("Wiper blades"))])

    assert record.lines.get().title == "Wiper blades"
    assert not standing_of(Completion).exists()
    assert verify(record.rig).holds


def test_file_is_removed_and_stays_to_be_shown(keeper, record):
    file = add_proof(record)

    amend(record, keeper, removed=[file])

    assert not record.attachments.exists()
    assert Attachment.objects.filter(pk=file.pk, record=None).exists()
    assert record.links.first().content["attachments"][0]["title"] == "invoice.pdf"


def test_amendment_of_a_linked_record_is_one_link_more(keeper, record):
    link_all()

    amend(record, keeper, fields={"place": "Home"})

    assert [link.kind for link in record.links.all()] == ["entered", "amended"]


@pytest.mark.parametrize(
    ("why", "changes", "words"),
    [
        (" ", {"fields": {"place": "Home"}}, "Enter why"),
        ("slip", {}, "Nothing has changed"),
        ("slip", {"on": date(2026, 6, 1)}, "still to come"),
        ("slip", {"lines": []}, "Enter what was done"),
    ],
)
def test_amendment_is_refused_and_leaves_no_trace(keeper, record, why, changes, words):
    with pytest.raises(Refused, match=words):
        amend(record, keeper, why, **changes)

    assert not ChainLink.objects.exists()
    assert standing_of(Completion).count() == 1


def test_void_record_is_not_amended(keeper, record):
    void_record(record, by=keeper, today=TODAY, why="wrong rig")
    record.refresh_from_db()

    with pytest.raises(Refused, match="void"):
        amend(record, keeper, fields={"place": "Home"})


def test_viewer_may_not_amend_or_undo(record):
    viewer = builders.make_member(record.rig.household, Role.VIEWER)

    with pytest.raises(NotAllowed):
        amend(record, viewer, fields={"place": "Home"})
    with pytest.raises(NotAllowed):
        undo_record(record, by=viewer, now=timezone.now(), today=TODAY)


def test_undo_removes_the_record_whole(keeper, record):
    undo_record(record, by=keeper, now=timezone.now(), today=TODAY)

    for model in (ServiceRecord, Completion, Reading, Event, ChainLink):
        assert not model.objects.exists()


def test_undo_after_ten_minutes_is_refused(keeper, record):
    later = record.entered_at + timedelta(minutes=10)

    with pytest.raises(Refused, match="ten minutes"):
        undo_record(record, by=keeper, now=later, today=TODAY)


def test_undo_of_an_amended_record_is_refused(keeper, record):
    amend(record, keeper, fields={"place": "Home"})

    with pytest.raises(Refused, match="ten minutes"):
        undo_record(record, by=keeper, now=timezone.now(), today=TODAY)
