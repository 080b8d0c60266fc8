from datetime import timedelta

import pytest

from maintenance.findings import services
from maintenance.findings.models import Finding, FindingState, Severity
from maintenance.findings.queries import shop_findings
from maintenance.households.access import NotAllowed
from maintenance.households.models import Role
from maintenance.households.refusals import Refused
from maintenance.pages.due.page import due_page
from maintenance.plans.models import Outcome, PlanItem
from maintenance.plans.services import drop_item
from maintenance.plans.standings import renew_household
from maintenance.service_records.queries import fixed_by
from maintenance.service_records.services import void_record
from maintenance.service_records.work import Line
from tests import builders
from tests.builders import TODAY

SOON = TODAY + timedelta(days=20)


@pytest.fixture
def finding(rig, crew):
    return services.open_finding(rig, by=crew, on=TODAY, what="Crack", zone="roof")


@pytest.fixture
def unfit(rig, crew):
    return services.open_finding(rig, by=crew, on=TODAY, what="Loose lid", unfit=True)


def plan(finding, keeper, due_on=SOON):
    return services.plan_finding(
        finding, by=keeper, today=TODAY, title="Seal the crack", due_on=due_on
    )


def record(rig, by, item, on=SOON, outcome=Outcome.DONE, note=""):
    lines = [Line(title=item.title, item=item, outcome=outcome, note=note)]
    return builders.log_work(rig, by=by, today=on, lines=lines)


# --- planned --------------------------------------------------------------------------


def test_planned_finding_is_an_item_due_by_its_day(finding, keeper):
    item = plan(finding, keeper)

    finding.refresh_from_db()
    assert finding.state == FindingState.PLANNED
    assert (item.system, item.once, item.safety) == ("roof-seals", True, False)
    assert item.standing.closes_on == SOON


def test_finding_planned_twice_is_one_item(finding, keeper):
    plan(finding, keeper)
    plan(finding, keeper, due_on=SOON + timedelta(days=5))

    item = PlanItem.objects.get()
    assert item.standing.closes_on == SOON + timedelta(days=5)


def test_unfit_finding_makes_a_safety_item(unfit, keeper):
    item = plan(unfit, keeper)

    assert (item.safety, item.unfit) == (True, True)


def test_day_that_does_not_lie_ahead_is_refused_at_its_field(finding, keeper):
    with pytest.raises(Refused) as refused:
        plan(finding, keeper, due_on=TODAY)

    assert refused.value.field == "due_on"


def test_crew_does_not_put_it_on_the_plan(finding, crew):
    with pytest.raises(NotAllowed):
        plan(finding, crew)


def test_recorded_work_on_its_item_fixes_it_and_settles_the_item(finding, keeper, rig):
    item = plan(finding, keeper)

    made = record(rig, keeper, item)

    finding.refresh_from_db()
    item.standing.refresh_from_db()
    assert finding.state == FindingState.FIXED
    assert fixed_by(finding) == made.lines.get()
    assert item.standing.standing == "settled"


def test_work_not_done_fixes_nothing(finding, keeper, rig):
    item = plan(finding, keeper)

    record(rig, keeper, item, outcome=Outcome.NOT_DONE, note="Rain")

    finding.refresh_from_db()
    assert finding.state == FindingState.PLANNED


def test_voided_record_leaves_it_planned_again(finding, keeper, rig):
    made = record(rig, keeper, plan(finding, keeper))

    void_record(made, by=keeper, today=SOON, why="Other rig")

    finding.refresh_from_db()
    assert (finding.state, fixed_by(finding)) == (FindingState.PLANNED, None)


def test_due_shows_the_item_in_place_of_the_finding(finding, keeper):
    household = finding.rig.household

    def shown():
        folds = due_page(household, TODAY).folds
        return [one for fold in folds for one in fold.findings]

    assert shown() == [finding]
    item = plan(finding, keeper)
    assert shown() == []
    drop_item(item, by=keeper, today=TODAY, why="Later")
    assert shown() == [finding]


def test_unfit_finding_stays_on_due_beside_its_item(unfit, keeper):
    plan(unfit, keeper)
    renew_household(unfit.rig.household, as_of=TODAY)

    tags = due_page(unfit.rig.household, TODAY).tags

    assert [one.finding for one in tags.red] == [unfit]


# --- for the shop ---------------------------------------------------------------------


def test_shop_line_is_planned_and_open_again_when_taken_off(finding, crew):
    services.set_for_shop(finding, by=crew, wanted=True)
    assert finding.state == FindingState.PLANNED
    assert list(shop_findings(finding.rig)) == [finding]

    services.set_for_shop(finding, by=crew, wanted=False)
    assert finding.state == FindingState.OPEN
    assert not shop_findings(finding.rig)


def test_fixed_finding_leaves_the_shop_list(finding, crew):
    services.set_for_shop(finding, by=crew, wanted=True)
    services.close_finding(finding, by=crew)

    assert not shop_findings(finding.rig)
    with pytest.raises(Refused, match="closed"):
        services.set_for_shop(finding, by=crew, wanted=True)


# --- accepted, judged, opened again ---------------------------------------------------


def test_crew_accepts_with_a_reason(finding, crew):
    with pytest.raises(Refused):
        services.accept_finding(finding, by=crew, why=" ")
    services.accept_finding(finding, by=crew, why="Only the paint")

    finding.refresh_from_db()
    assert finding.state == FindingState.ACCEPTED


def test_only_a_keeper_accepts_what_makes_it_unfit(unfit, crew, keeper):
    with pytest.raises(NotAllowed):
        services.accept_finding(unfit, by=crew, why="It will hold")
    services.accept_finding(unfit, by=keeper, why="The lid is gone, the hole closed")

    assert not Finding.objects.not_right_yet().filter(unfit=True)


def test_only_a_keeper_says_with_a_reason_that_it_is_fit_after_all(unfit, crew, keeper):
    judged = {"what": "Loose lid", "zone": "roof", "severity": Severity.WATCH}

    with pytest.raises(NotAllowed):
        services.judge_finding(unfit, by=crew, unfit=False, **judged)
    with pytest.raises(Refused, match="Enter why"):
        services.judge_finding(unfit, by=keeper, unfit=False, **judged)
    services.judge_finding(
        unfit, by=keeper, unfit=False, why="It is taped shut", **judged
    )

    unfit.refresh_from_db()
    assert (unfit.unfit, unfit.severity) == (False, Severity.WATCH)


def test_finding_closed_too_soon_opens_again(finding, crew):
    services.close_finding(finding, by=crew)
    services.reopen_finding(finding, by=crew)

    assert finding.state == FindingState.OPEN


def test_viewer_changes_no_finding(finding):
    viewer = builders.make_member(finding.rig.household, Role.VIEWER)

    for change, how in (
        (services.set_for_shop, {"wanted": True}),
        (services.close_finding, {}),
        (services.accept_finding, {"why": "x"}),
        (services.reopen_finding, {}),
    ):
        with pytest.raises(NotAllowed):
            change(finding, by=viewer, **how)
