"""The page of weights. Figures: published examples of the trade's guides, as listed in
the check values of the core (scale tickets, labels, tongue shares)."""

from datetime import date
from decimal import Decimal

import pytest
from django.urls import reverse

from maintenance.components.models import AxleRating
from maintenance.households.access import NotAllowed
from maintenance.households.models import Role
from maintenance.households.refusals import Refused
from maintenance.planning.weights.page import weights_page
from maintenance.vehicles import weights
from maintenance.vehicles.models import ScaleTicket, WeightLabel
from tests import builders
from tests.builders import TODAY

NB = "\N{NO-BREAK SPACE}"


@pytest.fixture
def keeper(db):
    return builders.make_member()


@pytest.fixture
def client(client_as, keeper, clock):
    clock("2026-05-04")
    return client_as(keeper)


@pytest.fixture
def mule(keeper):
    return builders.make_rig(keeper.household, name="Mule", kind="tow_vehicle")


@pytest.fixture
def fern(keeper):
    return builders.make_rig(
        keeper.household,
        name="Fern",
        kind="travel_trailer",
        wheels="trailer_two",
        meter=None,
    )


def ticket(rig, steer, drive, behind=None, trailer=None, unit="lb", **more):
    return ScaleTicket.objects.create(
        rig=rig,
        on=TODAY,
        unit=unit,
        steer=steer,
        drive=drive,
        behind=behind,
        trailer=trailer,
        **more,
    )


def figures(page):
    return [figure for _name, figure, _formula in page.tongue]


def left(page, name):
    return next(line.left for line in page.margins if line.name == name)


# --- trailer and tongue ---------------------------------------------------------------


def test_two_tickets_give_trailer_tongue_and_share(mule, fern):
    """Computed from the published method: combined less alone."""
    ticket(mule, 3200, 2900)
    ticket(mule, 3100, 3720, 6480, fern)

    assert figures(weights_page(fern)) == ["7,200 lb", "720 lb", "10 %"]


def test_tickets_in_kilograms_are_shown_in_kilograms(mule, fern):
    ticket(mule, 1450, 1315, unit="kg")
    ticket(mule, 1406, 1687, 2939, fern, unit="kg")

    assert figures(weights_page(fern))[:2] == ["3,267 kg", "328 kg"]


@pytest.mark.parametrize(
    ("tongue", "verdict"), [(480, "low"), (600, "within"), (960, "high")]
)
def test_share_of_a_6000_lb_trailer_against_10_to_15_percent(
    mule, fern, tongue, verdict
):
    ticket(mule, 3000, 2000)
    ticket(mule, 3000, 2000 + tongue, 6000 - tongue, fern)

    line = weights_page(fern).shares[0]

    assert (line.span, line.verdict) == ("10 to 15 %", verdict)


def test_fifth_wheel_goes_by_its_own_rules(mule, fern):
    fern.kind = "fifth_wheel"
    fern.save()
    ticket(mule, 3000, 2000)
    ticket(mule, 3000, 3800, 8200, fern)

    page = weights_page(fern)

    assert page.tongue[1][:2] == ("Pin weight", "1,800 lb")
    assert [line.verdict for line in page.shares] == ["within", "low"]


@pytest.mark.parametrize(
    ("kind", "equipment", "name", "rules"),
    [
        ("toy_hauler", ["ball_hitch"], "Tongue weight", 3),
        ("toy_hauler", ["fifth_wheel_hitch"], "Pin weight", 2),
        ("folding_trailer", ["ball_hitch"], "Tongue weight", 3),
        ("tow_dolly", ["ball_hitch"], "Tongue weight", 0),
    ],
)
def test_toy_hauler_bears_on_its_hitch_as_its_hitch_does(
    mule, fern, kind, equipment, name, rules
):
    fern.kind, fern.equipment = kind, equipment
    fern.save()
    ticket(mule, 3000, 2000)
    ticket(mule, 3000, 2800, 5200, fern)

    page = weights_page(fern)

    assert page.tongue[1][0] == name
    assert len(page.shares) == rules


def test_camper_on_the_truck_is_no_trailer_on_a_ticket(client, mule, fern):
    fern.kind, fern.wheels = "truck_camper", "none"
    fern.save()

    page = client.get(reverse("add_ticket", args=[mule.pk]))

    assert list(page.context["form"].fields["trailer"].queryset) == []


def test_tongue_of_600_lb_from_5600_coupled_and_5000_alone(mule, fern):
    """Published in a newspaper's towing guide."""
    ticket(mule, 2500, 2500)
    ticket(mule, 2400, 3200, 5400, fern)

    assert figures(weights_page(fern))[1] == "600 lb"


def test_ticket_alone_that_is_missing_is_asked_for(mule, fern):
    ticket(mule, 3100, 3720, 6480, fern)

    page = weights_page(fern)

    assert page.tongue == []
    assert "a ticket of Mule alone, for the weight on the hitch" in page.missing


def test_tickets_that_cannot_go_together_are_told(client, mule, fern):
    ticket(mule, 5000, 5000)
    ticket(mule, 3100, 3720, 6480, fern)

    text = client.get(reverse("weights", args=[fern.pk])).text

    assert "The tickets don't match" in text


# --- margins --------------------------------------------------------------------------


def test_axle_of_15000_lb_on_four_tires_of_3200_lb_bears_12800(keeper):
    """Published: the GAWR is that of its weakest part (49 CFR 571.3)."""
    coach = builders.make_rig(keeper.household, wheels="six")
    WeightLabel.objects.create(
        rig=coach, unit="lb", tires={"2": {"load": "3200", "pressure": "80 psi"}}
    )
    AxleRating.objects.create(rig=coach, axle=2, rating=15000, unit="lb")
    ticket(coach, 5000, 12000)

    page = weights_page(coach)

    axle = next(line for line in page.margins if line.name == "Drive axle")
    assert (axle.limit, axle.left) == ("12,800 lb", "800 lb")
    tires = next(line for line in page.margins if line.name == "Drive axle: tires")
    assert tires.source == "4 tires of 3,200 lb at 80 psi"
    assert tires.left == "800 lb"


def test_weight_over_a_rating_is_said_in_words(client, keeper):
    coach = builders.make_rig(keeper.household)
    AxleRating.objects.create(rig=coach, axle=1, rating=5000, unit="lb")
    ticket(coach, 5200, 9000)

    text = client.get(reverse("weights", args=[coach.pk])).text

    assert "Overloaded" in text
    assert "Steer axle: 5,200 lb of 5,000 lb" in text
    assert "<strong>over</strong>" in text


def test_whole_and_combination_against_gvwr_and_gcwr(keeper, fern):
    coach = builders.make_rig(keeper.household)
    WeightLabel.objects.create(rig=coach, unit="lb", gvwr=22000, gcwr=26000)
    ticket(coach, 7000, 14000, 4000, fern)

    page = weights_page(coach)

    assert (left(page, "Whole rig"), left(page, "With the trailer")) == (
        "1,000 lb",
        "1,000 lb",
    )


def test_passenger_tires_on_a_trailer_bear_a_tenth_less(mule, fern):
    """FMVSS 120 S5.1.2, as NHTSA quotes it (nht76-1.47): the rating divided by 1.10."""
    tires = {str(n): {"load": "2200", "pressure": ""} for n in (1, 2)}
    WeightLabel.objects.create(rig=fern, unit="lb", tires=tires, passenger_tires=True)
    ticket(mule, 3100, 3720, 6480, fern)

    line = next(o for o in weights_page(fern).margins if "tires" in o.name)

    assert line.limit == "8,000 lb"


# --- labels ---------------------------------------------------------------------------


def test_occc_by_gvwr_and_uvw_with_six_seats(client, keeper):
    """Computed as the label rule has it; six seats need 900 lb."""
    coach = builders.make_rig(keeper.household)
    WeightLabel.objects.create(
        rig=coach,
        unit="lb",
        kind="occc",
        capacity=3500,
        gvwr=22000,
        uvw=18500,
        seats=6,
        on=date(2015, 4, 1),
    )

    text = client.get(reverse("weights", args=[coach.pk])).text

    assert "22,000 - 18,500 = 3,500 lb" in text
    assert "= 2,600 lb" in text
    assert f"3,500{NB}lb, label of Apr 1, 2015" in text


def test_label_is_typed_with_its_tires_and_kept(client, keeper, mule):
    client.post(
        reverse("weight_label", args=[mule.pk]),
        {
            "unit": "lb",
            "gvwr": "7,200",
            "kind": "placard",
            "capacity": "1400",
            "tire_1": "2500",
            "pressure_1": "36 psi",
        },
    )

    label = WeightLabel.objects.get(rig=mule)
    assert (label.gvwr, label.capacity) == (7200, 1400)
    assert label.tires == {"1": {"load": "2500.0", "pressure": "36 psi"}}
    form = client.get(reverse("weight_label", args=[mule.pk])).context["form"]
    assert form["tire_1"].value() == "2500"


@pytest.mark.parametrize(
    ("fields", "field"),
    [
        ({"gvwr": Decimal(50)}, "gvwr"),
        ({"gvwr": Decimal(7000), "uvw": Decimal(7100)}, "uvw"),
        ({"capacity": Decimal(900)}, "kind"),
    ],
)
def test_label_that_cannot_be_is_refused_at_its_field(keeper, mule, fields, field):
    with pytest.raises(Refused) as refusal:
        weights.keep_label(mule, by=keeper, unit="lb", **fields)
    assert refusal.value.field == field


def test_crew_keeps_tickets_and_no_labels(keeper, mule):
    crew = builders.make_member(keeper.household, Role.CREW)
    with pytest.raises(NotAllowed):
        weights.keep_label(mule, by=crew, unit="lb")


# --- tickets --------------------------------------------------------------------------


def fields(rig, **more):
    return {
        "rig": rig.pk,
        "on": "2026-05-02",
        "unit": "lb",
        "steer": "3,100",
        "drive": "3720",
        **more,
    }


def test_ticket_coupled_is_kept_from_the_trailers_page(client, mule, fern):
    client.post(
        reverse("add_ticket", args=[fern.pk]),
        fields(mule, trailer=fern.pk, behind="6480", place="Truck stop"),
    )

    row = ScaleTicket.objects.get()
    assert (row.rig, row.trailer, row.behind) == (mule, fern, 6480)


@pytest.mark.parametrize("behind", ["6480", ""])
def test_trailer_and_its_axles_go_together(client, mule, fern, behind):
    more = {"behind": behind, "trailer": "" if behind else fern.pk}
    answer = client.post(reverse("add_ticket", args=[mule.pk]), fields(mule, **more))

    assert "behind" in answer.context["form"].errors
    assert not ScaleTicket.objects.exists()


def test_axle_of_an_absurd_weight_is_refused_with_the_plausible_range(client, mule):
    answer = client.post(
        reverse("add_ticket", args=[mule.pk]), fields(mule, steer="310000")
    )

    assert "Enter 0 lb to 40,000 lb" in answer.context["form"].errors["steer"][0]


def test_ticket_of_a_day_to_come_is_refused(client, mule):
    answer = client.post(
        reverse("add_ticket", args=[mule.pk]), fields(mule, on="2026-06-01")
    )

    assert "on" in answer.context["form"].errors


def test_ticket_is_removed(client, mule):
    row = ticket(mule, 3200, 2900)

    client.post(reverse("remove_ticket", args=[row.pk]))

    assert not ScaleTicket.objects.exists()


def test_page_asks_the_same_of_the_database_for_many_tickets(
    client, mule, fern, django_assert_num_queries, django_assert_max_num_queries
):
    def make(n):
        for _ in range(n):
            ticket(mule, 3200, 2900)
            ticket(mule, 3100, 3720, 6480, fern)

    make(2)
    with django_assert_max_num_queries(15) as few:
        client.get(reverse("weights", args=[fern.pk]))
    make(20)
    with django_assert_num_queries(len(few)):
        client.get(reverse("weights", args=[fern.pk]))
