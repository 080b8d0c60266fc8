from datetime import date

import pytest

from maintenance.core.dates import add_months
from maintenance.households.access import NotAllowed
from maintenance.households.models import Role
from maintenance.households.refusals import Refused
from maintenance.plans.papers import Paper, is_dated_paper, paper_of, set_expiry
from maintenance.plans.services import take_on
from tests import builders
from tests.builders import TODAY

PAPERS = ["registration_renewal", "driver_license", "recall_check"]


@pytest.fixture
def keeper(db):
    return builders.make_member()


@pytest.fixture
def rig(keeper):
    rig = builders.make_rig(keeper.household)
    take_on(rig, by=keeper, today=date(2026, 1, 1), keys=[*PAPERS, "engine_oil"])
    return rig


def paper(rig, key="registration_renewal"):
    return rig.plan_items.get(key=key)


def tell(item, by, expires):
    set_expiry(item, by=by, today=TODAY, expires=expires)
    item.refresh_from_db()
    return paper_of(item, item.standing, TODAY)


@pytest.mark.parametrize(
    ("key", "dated"),
    [
        ("registration_renewal", True),
        ("driver_license", True),
        ("recall_check", False),  # comes round; no date is printed anywhere
        ("engine_oil", False),
    ],
)
def test_which_items_are_papers_with_a_date(rig, key, dated):
    assert is_dated_paper(paper(rig, key)) is dated


@pytest.mark.parametrize(
    "expires",
    [
        date(2026, 6, 30),
        date(2026, 8, 31),
        date(2028, 2, 29),
        date(2029, 1, 15),  # more than a year ahead
        date(2026, 5, 1),  # has run out
    ],
)
def test_item_ends_on_the_very_day_that_is_printed(rig, keeper, expires):
    found = tell(paper(rig), keeper, expires)

    assert (found.ends, found.told) == (expires, True)
    assert found.over is (expires < TODAY)


@pytest.mark.parametrize(
    ("expires", "standing"),
    [
        (date(2026, 5, 3), "overdue"),
        (date(2026, 5, 4), "due"),
        (date(2026, 8, 2), "due"),  # 90 days before its end
        (date(2026, 8, 3), "soon"),
        (date(2027, 4, 30), "later"),
    ],
)
def test_standing_follows_the_printed_date(rig, keeper, expires, standing):
    item = paper(rig)
    tell(item, keeper, expires)

    assert item.standing.standing == standing


def test_newer_date_takes_the_place_of_the_older(rig, keeper):
    item = paper(rig)
    tell(item, keeper, date(2026, 6, 30))

    assert tell(item, keeper, date(2027, 6, 30)).ends == date(2027, 6, 30)


def test_license_is_told_like_any_paper(rig, keeper):
    assert tell(paper(rig, "driver_license"), keeper, date(2030, 2, 3)).told


def test_without_a_date_told_it_is_reckoned(rig, keeper):
    item = paper(rig)

    found = paper_of(item, item.standing, TODAY)

    assert found == Paper(ends=None, told=False, over=False, asks=False)


def test_renewed_paper_without_its_new_date_asks_for_it(rig, keeper):
    item = paper(rig)
    tell(item, keeper, date(2026, 6, 30))
    item.completions.create(on=date(2026, 5, 2), outcome="done")

    before = paper_of(item, item.standing, TODAY)

    assert before
    assert before.asks
    assert not tell(item, keeper, date(2027, 6, 30)).asks


@pytest.mark.parametrize("expires", [date(1926, 6, 30), add_months(TODAY, 241)])
def test_day_that_cannot_be_is_refused_at_its_field(rig, keeper, expires):
    with pytest.raises(Refused, match="can't be right") as caught:
        tell(paper(rig), keeper, expires)

    assert caught.value.field == "expires"


def test_viewer_tells_no_date(rig):
    viewer = builders.make_member(rig.household, Role.VIEWER)

    with pytest.raises(NotAllowed):
        tell(paper(rig), viewer, date(2026, 6, 30))
