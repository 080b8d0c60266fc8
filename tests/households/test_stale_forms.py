"""A form that somebody else's change overtook: both are shown, nothing is lost."""

from datetime import timedelta

import pytest
from django.urls import reverse

from maintenance.components.models import Component
from maintenance.findings.models import Finding
from maintenance.households.models import Member, Role
from maintenance.plans.models import OwnProcedure, PlanItem
from maintenance.supplies.models import Supply, Tool
from maintenance.vehicles.models import Manual, Rig, ScaleTicket, Stay, Trip
from tests.builders import TODAY, make_member
from tests.fuzz.home import make_home
from tests.fuzz.pages import Page, sent_by

DAY = timedelta(days=1)
MEANWHILE = "Someone changed this meanwhile. It now says:"
# Page -> the row that it changes, a field, what somebody else makes of it, and what
# the first one types.
CHANGES = {
    "change_household": (None, "shop_wait_days", "14", "30"),
    "myself": (None, "digest_hour", "9", "18"),
    "change_rig": (Rig, "plate", "HER 1", "MIN 2"),
    "change_stay": (Stay, "lowest", "10", "15"),
    "change_trip": (Trip, "title", "To the coast", "To the hills"),
    "change_ticket": (ScaleTicket, "steer", "3100", "3200"),
    "change_tool": (Tool, "note", "Lent out", "In the shed"),
    "change_supply": (Supply, "stock", "4", "9"),
    "change_part": (Component, "maker", "One", "Two"),
    "judge_finding": (Finding, "what", "A long crack", "A hair crack"),
    "change_rules": (PlanItem, "odometer_every", "4000", "5000"),
    "maker_figure": (PlanItem, "note", "Page 8", "Page 9"),
    "change_procedure": (OwnProcedure, "minutes", "20", "40"),
    "seasons": (None, "begins", "11-02", "11-20"),
    "climate": (None, "lowest_1", "-9", "-20"),
    "weight_label": (Rig, "gvwr", "9000", "9900"),
    "axle_ratings": (Rig, "axle_1", "4000", "4400"),
    "runways": (Rig, "house_capacity", "100", "200"),
    "tell_spot": ((Rig, "water_pump"), "words", "Under the bed", "Behind the bin"),
    "state_baseline": (PlanItem, "when_done{pk}", "2024-01-02", "2025-03-04"),
    "calendar": (None, "alarm_days", "0", "1"),
    "tell_trip": (Trip, "distance", "410", "420"),
}
# What else these pages need before they can be saved.
NEEDED = {
    "change_trip": {"distance": "500"},
    "change_part": {"type": "smoke"},
    "maker_figure": {"document": "The engine's book"},
    "change_procedure": {"why": "It rattles loose."},
    "weight_label": {"unit": "lb"},
    "seasons": {"ends": "04-01"},
    "tell_trip": {"end": "2026-05-03"},
}


NOW = "2026-05-04 09:00"


@pytest.fixture(scope="module")
def home(shared):
    def make():
        keeper = make_home("Alder")[0]
        return keeper.pk, make_member(keeper.household, Role.KEEPER).pk

    with shared(make, at=NOW) as (pks, _files):
        yield pks


@pytest.fixture
def keepers(home, db, clock):
    clock(NOW, "America/Denver")
    return [Member.objects.get(pk=pk) for pk in home]


def filled(client, url) -> dict[str, str]:
    """The page's form as it is shown, to be sent back."""
    page = Page(client.get(url).text)
    form = next(one for one in page.forms if "form_token" in one.fields)
    return sent_by(form)


@pytest.mark.either_database
@pytest.mark.parametrize("name", CHANGES)
def test_form_overtaken_by_another_then_both_are_shown_and_nothing_lost(
    name, keepers, client_as
):
    model, field, theirs, mine = CHANGES[name]
    model, *more = model if isinstance(model, tuple) else (model,)
    if name == "tell_trip":
        Trip.objects.update(start=TODAY - DAY, end=TODAY)
    own = name in {"myself", "calendar"}  # one person with two pages open
    first, second = client_as(keepers[0]), client_as(keepers[0] if own else keepers[1])
    rows = (
        model.objects.order_by("-pk" if model is Component else "pk") if model else ()
    )
    ids = [row.pk for row in rows[:1]]
    field = field.format(pk=ids[0] if ids else "")
    url = reverse(name, args=[*ids, *more])
    needed = NEEDED.get(name, {})
    slow, quick = filled(first, url) | needed, filled(second, url) | needed
    assert field in slow, sorted(slow)
    taken = second.post(url, quick | {field: theirs})
    assert taken.status_code == 302, taken.text

    answer = first.post(url, slow | {field: mine})

    assert answer.status_code == 200
    assert MEANWHILE in answer.text
    assert theirs in answer.text
    assert f"You typed: “{mine}”" in answer.text or mine in answer.text
    assert filled(second, url)[field] == theirs
    # Sent once more, it is kept: now it was seen.
    form = next(f for f in Page(answer.text).forms if "form_token" in f.fields)
    assert first.post(url, sent_by(form)).status_code == 302
    assert filled(second, url)[field] == mine


def test_field_of_another_that_was_not_touched_then_not_put_back_unseen(
    keepers, client_as
):
    """Who changes the plate does not undo the name that somebody gave meanwhile."""
    first, second = client_as(keepers[0]), client_as(keepers[1])
    rig = Rig.objects.first()
    url = reverse("change_rig", args=[rig.pk])
    slow = filled(first, url)
    second.post(url, filled(second, url) | {"name": "Heron"})

    answer = first.post(url, slow | {"plate": "MIN 2"})

    assert f"{MEANWHILE} “Heron”" in answer.text
    assert Rig.objects.get(pk=rig.pk).name == "Heron"


def test_same_change_by_two_then_no_question(keepers, client_as):
    first, second = client_as(keepers[0]), client_as(keepers[1])
    url = reverse("change_rig", args=[Rig.objects.first().pk])
    slow, quick = filled(first, url), filled(second, url)
    second.post(url, quick | {"plate": "ONE"})

    assert first.post(url, slow | {"plate": "ONE"}).status_code == 302


@pytest.mark.parametrize("seen", ["", "=", "x", "name=", "\0", "plate=٣ " * 900])
def test_mark_that_is_none_then_words(seen, keepers, client_as):
    client, url = client_as(keepers[0]), reverse("change_household")

    answer = client.post(url, filled(client, url) | {"form_seen": seen, "name": "New"})

    assert answer.status_code == 200
    assert MEANWHILE in answer.text


def test_equipment_of_another_then_it_is_not_taken_away_unseen(keepers, client_as):
    first, second = client_as(keepers[0]), client_as(keepers[1])
    rig = Rig.objects.first()
    url = reverse("rig_equipment", args=[rig.pk])
    slow, quick = filled(first, url), filled(second, url)
    page = Page(first.get(url).text)
    boxes = next(f.fields["group0"] for f in page.forms if "group0" in f.fields)
    second.post(url, quick | {"group0": boxes.choices[:1]})

    answer = first.post(url, slow | {"group0": boxes.choices[1:]})

    assert answer.status_code == 200
    assert MEANWHILE in answer.text


def test_past_that_another_told_meanwhile_then_said_and_the_rest_kept(
    keepers, client_as
):
    first, second = client_as(keepers[0]), client_as(keepers[1])
    rig = Rig.objects.first()
    url = reverse("baselines", args=[rig.pk])
    slow, quick = filled(first, url), filled(second, url)
    names = [name for name in slow if name.startswith("when_done")][:2]
    second.post(url, quick | {names[0]: "2024-01-02"})

    answer = first.post(url, slow | dict.fromkeys(names, "2025-03-04"))

    assert "was answered or removed from the plan meanwhile. You typed: 2025-03-04" in (
        answer.text
    )
    again = next(f for f in Page(answer.text).forms if "form_token" in f.fields)
    assert first.post(url, sent_by(again)).status_code == 302
    told = [row.baseline_on and row.baseline_on.year for row in items_of(names)]
    assert told == [2024, 2025]


def items_of(names: list[str]) -> list[PlanItem]:
    return [PlanItem.objects.get(pk=name.removeprefix("when_done")) for name in names]


# What each form about a job takes, beside what it is filled with.
OF_A_JOB = {
    "change_rules": {"odometer_every": "4000"},
    "maker_figure": {"document": "The engine book", "note": "Page 8"},
    "defer": {"until": "2026-05-20", "why": "Away until then"},
    "state_baseline": {"when_done{pk}": "2024-01-02"},
    "use_supply": {"name": "Filter 12", "amount": "1", "stock": "1"},
    "point_to_page": {"page": "88", "manual": "{manual}"},
}


@pytest.mark.parametrize("name", OF_A_JOB)
def test_job_dropped_meanwhile_then_words_and_what_was_typed_stays(
    name, keepers, client_as
):
    client = client_as(keepers[0])
    item = PlanItem.objects.get(key="engine_oil")
    url = reverse(name, args=[item.pk])
    typed = {
        field.format(pk=item.pk): value.format(manual=Manual.objects.get().pk)
        for field, value in OF_A_JOB[name].items()
    }
    sent = filled(client, url) | typed
    PlanItem.objects.filter(pk=item.pk).update(dropped_on=TODAY, why_dropped="sold it")

    answer = client.post(url, sent)

    assert answer.status_code == 200
    assert "was removed from the plan on" in answer.text
    assert "sold it" in answer.text
    for value in typed.values():
        assert value in answer.text


def test_work_on_a_job_dropped_meanwhile_then_words_and_nothing_lost(
    keepers, client_as
):
    client = client_as(keepers[0])
    item = PlanItem.objects.get(key="engine_oil")
    url = reverse("record_work", args=[item.rig_id])
    page = Page(client.get(url).text)
    form = next(one for one in page.forms if "lines-0-item" in one.fields)
    sent = sent_by(form) | {"lines-0-item": str(item.pk), "lines-0-note": "Gray drips"}
    PlanItem.objects.filter(pk=item.pk).update(dropped_on=TODAY)

    answer = client.post(url, sent)

    assert "This job was taken off the plan while you typed." in answer.text
    assert "Gray drips" in answer.text
