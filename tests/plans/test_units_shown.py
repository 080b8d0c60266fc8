"""No figure is shown in a unit that is not its own.

The oracle: what is shown in the other unit of distance is either the interval of a rule
that is written in it, or stands in brackets behind the figure it is converted from.
"""

import re
from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.urls import reverse
from hypothesis import given, settings
from hypothesis import strategies as st

from maintenance.core.deferral import check_deferral
from maintenance.core.facts import (
    Baseline,
    Calendar,
    Completion,
    Event,
    Item,
    Meter,
    MeterPoint,
    Reading,
    Rig,
    Span,
    Trip,
    Unit,
)
from maintenance.core.meters import judge_value
from maintenance.core.reckon import reckon
from maintenance.core.triggers import parse_triggers
from maintenance.core.triggers.kinds.after import After
from maintenance.core.triggers.kinds.every_meter import EveryMeter
from maintenance.core.triggers.kinds.every_time import EveryTime
from maintenance.households.models import DistanceUnit, Member
from maintenance.plans.models import PlanItem, Standing
from maintenance.plans.queries import proposals_for
from maintenance.plans.rows import row_of
from maintenance.plans.services import defer, take_on
from maintenance.plans.standings import _row
from maintenance.plans.wording.facts import word
from maintenance.reminders.content import write
from maintenance.reminders.models import Notice
from maintenance.reminders.services import raise_notices
from maintenance.service_records.torque import Wheels
from maintenance.service_records.work import Line
from maintenance.vehicles import models as vehicles
from maintenance.vehicles.services import record_reading, report_event
from maintenance.vehicles.trips import plan_trip
from tests import builders
from tests.builders import TODAY
from tests.packets.reading import history_of

pytestmark = pytest.mark.either_database

MILES = Decimal("1.609344")  # km in a mile, exactly: international yard and pound
AS_OF = date(2026, 5, 4)
OTHER: dict[str, Unit] = {"mi": "km", "km": "mi"}
TO = "\N{EN DASH}"  # a rule's range is written with it
FIGURE = r"([0-9][0-9,]*(?:\.[0-9]+)?)\s*"


def strange(text: str, unit: str, rules: set[Decimal]) -> list[str]:
    """What a text about a rig that counts in `unit` shows in the other unit, without
    being a rule of it or a figure converted beside the one that it comes from."""
    other = OTHER[unit]
    beside = re.compile(rf"{FIGURE}{unit} \({FIGURE}{other}\)")
    for own, converted in beside.findall(text):
        size = MILES if unit == "mi" else 1 / MILES
        assert abs(number(converted) - number(own) * size) <= 1, (own, converted)
    plain = beside.sub("", text)
    found = re.findall(rf"(?:{FIGURE}{TO})?{FIGURE}{other}\b", plain)
    return [
        f"{one} {other}" for pair in found for one in pair if one
        and number(one) not in rules
    ]  # fmt: skip


def number(text: str) -> Decimal:
    return Decimal(text.replace(",", ""))


def rules_in(triggers, unit: str) -> set[Decimal]:
    found: set[Decimal] = set()
    for one in triggers:
        if isinstance(one, EveryMeter) and one.unit == unit:
            found |= {n for n in (one.interval, one.first, one.severe) if n}
        if isinstance(one, After) and one.unit == unit:
            found |= {n for check in one.checks for n in check}
    return found


# --- a property over the words --------------------------------------------------------

units = st.sampled_from(["mi", "km"])
days = st.integers(0, 400).map(lambda ago: AS_OF - timedelta(days=ago))


@st.composite
def rules(draw: st.DrawFn):
    unit = draw(units)
    if draw(st.booleans()):
        least = Decimal(draw(st.integers(1, 300)))
        return After("wheel_off", ((least, least + 50),), "odometer", unit)
    if draw(st.integers(0, 3)) == 0:
        return EveryTime(Span(months=draw(st.integers(1, 30))))
    n = draw(st.integers(100, 9000))
    severe = draw(st.none() | st.just(Decimal(n // 2)))
    return EveryMeter("odometer", unit, Decimal(n), severe, severe)


@st.composite
def a_rig(draw: st.DrawFn) -> Rig:
    unit = draw(units)
    rows = sorted(draw(st.lists(days, min_size=1, max_size=6, unique=True)))
    shown = {on: Decimal(70000 + 40 * (on - date(2025, 1, 1)).days) for on in rows}
    readings = [Reading(on, value) for on, value in shown.items()]
    if draw(st.booleans()):
        readings.append(Reading(AS_OF, Decimal(912345), fact="event 1"))
    at = {"odometer": Decimal(71234)}
    figures = st.sampled_from([{}, at, {"odometer": Decimal(912345)}])
    items = tuple(
        Item(
            str(key),
            tuple(draw(st.lists(rules(), min_size=1, max_size=3))),
            tuple(
                Completion(on, None, draw(figures))
                for on in draw(st.lists(days, max_size=3, unique=True))
            ),
            draw(st.none() | st.just("in_service")),
            safety=draw(st.booleans()),
        )
        for key in range(1, draw(st.integers(2, 4)))
    )
    start = AS_OF + timedelta(days=3)
    trip = Trip(start, start + timedelta(days=6), Decimal(800), draw(units))
    events = (Event("wheel_off", draw(days), draw(figures)),)
    meter = Meter(unit, tuple(readings))
    return Rig(
        {"odometer": meter, "generator": Meter("h", (Reading(rows[0], Decimal(300)),))},
        items,
        Baseline(date(2019, 6, 1), {"odometer": Decimal(12)}),
        trips=draw(st.sampled_from([(), (trip,)])),
        events=events,
    )


def put_off(row: Standing, unit: str) -> None:
    """As the query of standings gives it."""
    row.deferred_why, row.deferred_until_value = "no time", Decimal(81234)
    row.deferred_unit = unit


@settings(deadline=None)
@given(
    a_rig(),
    st.sampled_from(["odometer", "generator"]),
    st.integers(1, 99999),
    st.sampled_from(["", "mi", "km"]),
)
def test_no_words_of_a_standing_show_a_figure_in_a_strange_unit(
    rig: Rig, kind: str, until_value: int, reads_in: str
) -> None:
    until = MeterPoint("odometer", Decimal(until_value))
    unit = rig.meters["odometer"].unit
    found = reckon(rig, calendar=Calendar(), as_of=AS_OF)
    for item, standing in zip(rig.items, found.items, strict=True):
        row = _row(item, standing, found)
        row.item = PlanItem(pk=int(item.key), rig=vehicles.Rig(name="Fern"), title="x")
        put_off(row, rig.meters[kind].unit)
        said = row_of(row, AS_OF, reads_in=reads_in)
        against = check_deferral(
            item,
            standing,
            found.meters,
            as_of=AS_OF,
            until=until,
            reason="",
            by_keeper=True,
        )
        texts = [said.when, said.about, said.deferred, *said.why, *map(word, against)]
        own = rules_in(item.triggers, OTHER[unit])
        assert strange("\n".join(texts), unit, own) == []
        assert f"81,234 {rig.meters[kind].unit}: no time" in spaced(said.deferred)


@given(a_rig(), st.integers(0, 999_999))
def test_no_words_of_a_doubtful_reading_show_a_strange_unit(
    rig: Rig, value: int
) -> None:
    meter = rig.meters["odometer"]
    typed = Reading(AS_OF, Decimal(value), fact="event")
    verdict = judge_value(meter, typed)
    for fact in (*verdict.reasons, *([verdict.echo] if verdict.echo else [])):
        assert strange(word(fact), meter.unit, set()) == []


def test_measure_in_a_strange_unit_is_seen_and_a_conversion_is_not() -> None:
    assert strange("until 42,000 mi: no time", "km", set()) == ["42,000 mi"]
    assert strange(f"Every 5,000 mi. 50{TO}100 mi on", "km", {Decimal(5000)}) == [
        "50 mi",
        "100 mi",
    ]
    assert strange("by 67,592 km (42,000 mi)", "km", set()) == []


# --- the pages of a rig that counts otherwise than its household ----------------------


NOON = "2026-05-04 12:00"


@pytest.fixture(scope="module", params=["km", "mi"])
def unit(request) -> str:
    return request.param


@pytest.fixture(scope="module")
def home(shared, unit):
    with shared(lambda: make_rig(unit), at=NOON) as (pks, _files):
        yield pks


@pytest.fixture
def keeper(home, db, clock):
    clock(NOON, "America/Denver")
    return Member.objects.get(pk=home[0])


@pytest.fixture
def rig(home, keeper):
    return vehicles.Rig.objects.get(pk=home[1])


def make_rig(unit):
    """With readings, work, an event, a trip, and each kind of deferral."""
    usual = DistanceUnit.MILES if unit == "km" else DistanceUnit.KILOMETERS
    keeper = builders.make_member(builders.make_household(distance_unit=usual))
    rig = builders.make_rig(
        keeper.household, name="Fern", meter={"kind": "odometer", "unit": unit}
    )
    by = {"by": keeper, "today": TODAY}
    meter = rig.meters.get()
    for ago in range(400, 0, -25):
        on = TODAY - timedelta(days=ago)
        record_reading(meter, on=on, value=Decimal(77000 - 30 * ago), **by)
    keys = {one.procedure.key for one in proposals_for(rig)}
    keys |= {"engine_oil", "lug_recheck"}
    take_on(rig, by=keeper, today=TODAY - timedelta(days=90), keys=sorted(keys))
    oil = rig.plan_items.get(key="engine_oil")
    builders.log_work(
        rig,
        **by,
        form_token="5a0c1f5e-6f53-4a52-8a64-0b1de0a8a9a1",
        on=TODAY - timedelta(days=60),
        doer="Me",
        lines=[Line(oil.title, oil)],
        values={"odometer": Decimal(75200)},
        wheels=Wheels(off=frozenset({"LF"})),
    )
    at = {"odometer": Decimal(76990)}
    report_event(rig, kind="wheel_off", on=TODAY, values=at, **by)
    start = TODAY + timedelta(days=2)
    plan_trip(
        rig, **by, start=start, end=start + timedelta(days=9), distance=Decimal(900),
        unit=unit,
    )  # fmt: skip
    defer(oil, **by, why="no time", until_value=Decimal(88888))
    tires = builders.make_item(  # due by its date, put off by its meter
        rig,
        "tire_look",
        triggers=[
            {"every": {"months": 1}},
            {"every": {"distance": 9000, "unit": unit, "meter": "odometer"}},
        ],
        baseline="stated",
        baseline_on=date(2026, 1, 1),
        baseline_values={"odometer": "74000"},
    )
    record_reading(meter, on=TODAY, value=Decimal(77000), **by)
    defer(tires, **by, why="no time", until_value=Decimal(77777))
    return keeper.pk, rig.pk


def rules_of(rig, unit: str) -> set[Decimal]:
    rows = PlanItem.objects.filter(rig=rig)
    return {n for row in rows for n in rules_in(parse_triggers(row.triggers, ""), unit)}


def spaced(text: str) -> str:
    return text.replace("\N{NO-BREAK SPACE}", " ")


def plain(page: str) -> str:
    text = re.sub(r"<(script|style|select)\b.*?</\1>", " ", page, flags=re.S)
    return spaced(re.sub(r"<[^>]+>", " ", text))


def pages_about(rig) -> list[str]:
    own = ("rig", "rig_plan", "rig_use", "rig_events", "give_reading", "report_event",
           "replace_meter", "record_work", "shop_list", "shop_sheet", "parts", "tires",
           "baselines", "rig_chain")  # fmt: skip
    found = [reverse(name, args=[rig.pk]) for name in own]
    found += [reverse("due"), reverse("rigs"), reverse("log"), reverse("trips")]
    found += [reverse("costs"), reverse("sittings"), reverse("storage")]
    found += [f"{reverse('search')}?q=oil", reverse("trip", args=[rig.trips.get().pk])]
    found += [reverse("record", args=[one.pk]) for one in rig.records.all()]
    for item in rig.plan_items.all():
        if "distance" not in str(item.triggers):
            continue
        found += [reverse("item", args=[item.pk]), reverse("defer", args=[item.pk])]
        found.append(reverse("change_rules", args=[item.pk]))
    return found


def test_no_page_of_a_rig_shows_its_figures_in_a_strange_unit(
    client_as, keeper, rig, unit
):
    browser, rules = client_as(keeper), rules_of(rig, OTHER[unit])
    seen = ""
    for page in pages_about(rig):
        answer = browser.get(page)
        assert answer.status_code == 200, page
        text = plain(answer.content.decode())
        assert strange(text, unit, rules) == [], page
        seen += text
    for figure in ("77,000", "76,990", "75,200", "77,777", "88,888"):
        assert re.search(rf"{figure}\s{unit}\b", seen), figure


def test_history_and_mail_show_no_figure_in_a_strange_unit(keeper, rig, unit):
    rules = rules_of(rig, OTHER[unit])
    history = repr(history_of(rig)).replace("\\xa0", " ")
    assert f"77,777 {unit}" in history
    assert strange(history, unit, rules) == []

    raise_notices(keeper.household, today=TODAY)
    mail = write(keeper, Notice.objects.filter(member=keeper), today=TODAY)
    for text in (mail.text, plain(mail.html)):
        assert "Re-check between" in " ".join(text.split())
        assert strange(text, unit, rules) == []


def test_replacement_typed_with_the_meters_own_unit_is_kept_as_typed(
    client_as, keeper, rig, unit
):
    page = reverse("replace_meter", args=[rig.pk])
    sent = {"meter": rig.meters.get().pk, "on": TODAY.isoformat(), "new_start": "0"}

    client_as(keeper).post(page, sent | {"old_final": f"77,010 {unit}"})

    assert rig.meters.get().replacements.get().old_final == 77010


def test_deferral_of_a_follow_up_too_far_names_the_unit(keeper, rig, unit):
    lug = rig.plan_items.get(key="lug_recheck")
    with pytest.raises(Exception, match=rf"meter, to [0-9,.]+ {unit} at"):
        defer(lug, by=keeper, today=TODAY, why="no", until_value=Decimal(99999))
