"""The form of work done as a shop's invoice: lines, parts, sums, warranty, torque."""

from datetime import date
from decimal import Decimal
from uuid import uuid4

import pytest
from django.urls import reverse

from maintenance.findings.models import Finding
from maintenance.plans.services import set_maker_figure, take_on
from maintenance.plans.services.makers import MakersValue
from maintenance.service_records.models import Attachment, ServiceRecord
from maintenance.service_records.work import Line
from maintenance.supplies.models import Tool
from tests import builders
from tests.builders import TODAY
from tests.pages.test_record_work import photo

TOKEN = "11111111-2222-3333-4444-555555555555"


@pytest.fixture
def keeper(db, clock):
    clock("2026-05-04 12:00", "America/Denver")
    return builders.make_member()


@pytest.fixture
def rig(keeper):
    rig = builders.make_rig(keeper.household)
    builders.make_reading(rig, date(2026, 5, 1), 42300)
    take_on(rig, by=keeper, today=TODAY, keys=["engine_oil", "lug_recheck"])
    return rig


@pytest.fixture
def post(client_as, keeper, rig):
    client, url = client_as(keeper), reverse("record_work", args=[rig.pk])

    def send(*lines, **more):
        rows = {"lines": lines, "used": more.pop("parts", ())}
        data = {
            "form_token": TOKEN,
            "on": "2026-05-04",
            "done_by": "shop",
            "doer": "Bay Street Garage",
            "wheels-unit": "ft·lbf",
            "warranty_meter": "odometer",
        }
        for prefix, given in rows.items():
            data |= {
                f"{prefix}-TOTAL_FORMS": len(given),
                f"{prefix}-INITIAL_FORMS": 0,
            }
            for number, row in enumerate(given):
                for name, value in row.items():
                    data[f"{prefix}-{number}-{name}"] = value
        return client.post(url, data | more)

    return send


def line(title="Brake work", **more):
    return {"title": title, "outcome": "done"} | more


def item(rig, key):
    return rig.plan_items.get(key=key)


def words_of(answer):
    return " ".join(answer.content.decode().split())


def test_shop_invoice_of_six_lines_and_four_parts_is_one_record(post):
    parts = [
        {"name": f"Part {n}", "number": f"X-{n}", "quantity": "2", "price": "10,50"}
        for n in range(4)
    ]

    post(*[line(f"Job {n}") for n in range(6)], parts=parts, labor="300", tax="30")

    record = ServiceRecord.objects.get()
    assert record.lines.count() == 6
    assert [part.cost for part in record.parts_used.all()] == [Decimal("21.00")] * 4
    assert (record.parts, record.total) == (Decimal(84), Decimal(414))


def test_more_rows_keep_what_was_typed_and_complain_of_nothing(post):
    answer = post(line("Job 1"), more="lines", on="", doer="", uploads=photo())

    page = words_of(answer)
    assert 'name="lines-4-title"' in page
    assert 'value="Job 1"' in page
    assert "This is blank" not in page
    assert Attachment.objects.get().record is None
    assert not ServiceRecord.objects.exists()


def test_enter_in_a_field_records_and_asks_for_no_more_rows(client_as, keeper, rig):
    page = words_of(client_as(keeper).get(reverse("record_work", args=[rig.pk])))

    form = page[page.index('<form id="record-form"') :]
    # HTML 4.10.21.2: implicit submission presses the first submit button of the form.
    first = form[form.index("<button") : form.index("</button>")]
    assert "name=" not in first


def test_sums_that_differ_are_asked_about_and_recorded_all_the_same(
    post, client_as, keeper
):
    part = {"name": "Filter", "quantity": "1", "price": "20"}
    post(line(), parts=[part], labor="100", parts_="", tax="8", total="182")

    record = ServiceRecord.objects.get()
    page = words_of(client_as(keeper).get(reverse("record", args=[record.pk])))

    assert "add up to 128.00, but the total is 182.00" in page


def test_part_without_a_name_is_asked_for_it(post):
    assert "Enter which part it is" in words_of(post(line(), parts=[{"price": "3"}]))


def test_warranty_and_signature_stand_on_the_record(post, client_as, keeper):
    post(
        line(),
        warranty_until="2027-05-04",
        warranty_value="54,300",
        warranty_covers="Parts and labor",
        signed_off_by="R. Okoro",
        credential="State inspector 4471",
    )

    record = ServiceRecord.objects.get()
    page = words_of(client_as(keeper).get(reverse("record", args=[record.pk])))

    assert "until May 4, 2027 or Odometer 54,300 mi: Parts and labor" in page.replace(
        "\xa0", " "
    )
    assert "R. Okoro, State inspector 4471" in page


def test_warranty_that_ends_before_the_work_is_refused_at_its_field(post):
    page = words_of(post(line(), warranty_until="2026-05-01"))

    assert "would end before it begins" in page
    assert not ServiceRecord.objects.exists()


def wheels(**more):
    base = {"figure": "110", "origin": "invoice", "reached_LF": "110"} | more
    return {f"wheels-{name}": value for name, value in base.items()}


def test_wheel_below_the_figure_and_said_to_hold_is_questioned(post, rig):
    lug = item(rig, "lug_recheck")
    held = {"item": lug.pk, "outcome": "held"}

    page = words_of(post(held, **wheels(reached_LF="95")))
    assert "These stayed below the specified torque: LF 95" in page.replace("\xa0", " ")
    assert not ServiceRecord.objects.exists()

    post(held, **wheels(reached_LF="95", short="on"))
    assert ServiceRecord.objects.count() == 1


def test_wrench_of_the_household_is_judged_on_the_day_of_the_work(post, keeper):
    tool = Tool.objects.create(
        household=keeper.household,
        kind="torque_wrench",
        name="Old clicker",
        drive="1/2",
        unit="ft·lbf",
        full_scale=100,
        calibrated_on=date(2024, 1, 1),
    )

    post(line(), **wheels(tool=tool.pk))

    torque = ServiceRecord.objects.get().torque
    assert (torque.wrench, torque.wrench_fits) == ("Old clicker", False)
    assert torque.wrench_calibrated is False
    assert "outside its range" in torque.wrench_words


def test_invoice_and_makers_book_that_differ_are_both_shown_and_asked_about(
    post, rig, keeper, client_as
):
    lug = item(rig, "lug_recheck")
    value = MakersValue("torque", Decimal(150), "N·m")
    set_maker_figure(
        lug, by=keeper, today=TODAY, document="Chassis book", page="88", values=[value]
    )

    post({"item": lug.pk, "outcome": "held"}, **wheels())

    record = ServiceRecord.objects.get()
    # 150 N·m = 110.6 ft·lbf (1 ft·lbf = 1.3558179483 N·m, NIST SP 811)
    assert record.torque.makers_figure == Decimal("110.6")
    assert Finding.objects.get().unfit
    page = words_of(client_as(keeper).get(reverse("record", args=[record.pk])))
    assert "ask the shop before you drive on it" in page


def test_same_figure_in_invoice_and_book_asks_nothing(post):
    post(line(), **wheels(makers_figure="110"))

    assert not Finding.objects.exists()


def test_fastener_has_its_name_and_its_own_figure(post):
    plug = {"name_0": "Oil drain plug", "own_0": "25", "got_0": "25"}
    post(line(), **wheels(reached_LF="", **plug))

    place = ServiceRecord.objects.get().torque.places.get()
    assert (place.place, place.figure, place.reached) == ("Oil drain plug", 25, 25)


@pytest.fixture
def known(rig, keeper):
    """The same oil change, logged by somebody else two days before."""
    oil = item(rig, "engine_oil")
    return builders.log_work(
        rig,
        by=builders.make_member(keeper.household, name="Bo"),
        today=TODAY,
        form_token=uuid4(),
        on=date(2026, 5, 2),
        lines=[Line(oil.title, oil)],
        doer="Bo",
    )


def again(post, rig, **more):
    return post({"item": item(rig, "engine_oil").pk, "outcome": "done"}, **more)


def test_job_that_somebody_logged_already_is_asked_about(post, rig, known):
    page = words_of(again(post, rig, notes="two quarts left"))

    assert "Bo already recorded" in page
    assert "two quarts left" in page
    assert ServiceRecord.objects.get() == known


def test_other_work_is_recorded(post, rig, known):
    again(post, rig, same="other")

    assert ServiceRecord.objects.standing_records().count() == 2


def test_same_work_is_added_to_the_record_that_is_there(post, rig, known, client_as):
    again(post, rig, same=f"part:{known.pk}", notes="two quarts left")

    made = ServiceRecord.objects.get(merged_into=known)
    assert made.notes == "two quarts left"
    url = reverse("record", args=[known.pk])
    page = words_of(client_as(known.entered_by).get(url))
    assert reverse("record", args=[made.pk]) in page


def test_same_work_left_as_it_is_leads_to_its_record(post, rig, known):
    answer = again(post, rig, same=f"leave:{known.pk}")

    assert answer["Location"] == reverse("record", args=[known.pk])
    assert ServiceRecord.objects.count() == 1


def test_answer_that_names_no_such_record_is_asked_again(post, rig, known):
    assert "Bo already recorded" in words_of(again(post, rig, same="leave:99999"))
    assert "Bo already recorded" in words_of(again(post, rig, same="part:x"))


def test_two_records_are_made_one_and_taken_apart_on_their_page(
    post, rig, known, client_as, keeper
):
    again(post, rig, same="other")
    made = ServiceRecord.objects.exclude(pk=known.pk).get()
    client = client_as(keeper)

    client.post(reverse("same_record", args=[made.pk]), {"into": known.pk})
    merge = made.merges.get()
    client.post(reverse("take_apart", args=[merge.pk]))

    assert ServiceRecord.objects.standing_records().count() == 2


def test_records_of_another_household_are_not_taken_apart(post, rig, known, client_as):
    again(post, rig, same=f"part:{known.pk}")
    merge = known.merges_into.get()

    answer = client_as(builders.make_member()).post(
        reverse("take_apart", args=[merge.pk])
    )

    assert answer.status_code == 404
