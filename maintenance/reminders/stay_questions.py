"""Asking once whether a rig is still in storage when the day on which it was to leave
has passed, and whether one of which nothing is known for days is parked."""

from collections.abc import Collection, Iterable, Sequence
from datetime import date

from django.db.models import F, QuerySet

from maintenance.core.notices import Person
from maintenance.households.models import Household, Member
from maintenance.ui.words import day_words
from maintenance.vehicles.models import Rig, Stay
from maintenance.vehicles.parked import parked_among, parked_rigs

from .models import StayQuestion


def raise_questions(
    household: Household,
    people: Collection[Person],
    rigs: Iterable[Rig],
    *,
    today: date,
) -> None:
    """One row for each stay in doubt and each rig that is quiet, and each person who is
    told of it. `rigs` are those that `with_last_use` gave."""
    stays = _in_doubt(today).filter(rig__household=household)
    rows = [
        StayQuestion(stay=stay, member_id=one.person, planned_until=until)
        for stay in stays
        if (until := stay.planned_until) is not None
        for one in people
        if one.rigs is None or stay.rig_id in one.rigs
    ]
    rows += [
        StayQuestion(rig=one.rig, member_id=person.person, quiet_since=one.asked_for)
        for one in parked_among(rigs, today)
        for person in people
        if person.rigs is None or one.rig.pk in person.rigs
    ]
    StayQuestion.objects.bulk_create(rows, ignore_conflicts=True)


def _in_doubt(today: date) -> QuerySet[Stay]:
    return Stay.objects.filter(
        withdrawn=False,
        start__lte=today,
        ended_on__isnull=True,
        planned_until__lt=today,
        rig__sold_on__isnull=True,
    )


def still_asked(rows: QuerySet[StayQuestion], *, today: date) -> list[StayQuestion]:
    """Those that nobody has answered by ending the stay or planning anew."""
    open_now = rows.filter(
        stay__in=_in_doubt(today), planned_until=F("stay__planned_until")
    )
    asked = list(open_now.select_related("stay__rig").order_by("pk"))
    of_rigs = list(rows.filter(stay=None).select_related("rig__household"))
    if not of_rigs or of_rigs[0].rig is None:
        return asked
    quiet = {
        (one.rig.pk, one.asked_for): one.since
        for one in parked_rigs(of_rigs[0].rig.household, today)
    }
    return asked + [row for row in of_rigs if (row.rig_id, row.quiet_since) in quiet]


def waiting_for(member: Member) -> QuerySet[StayQuestion]:
    return StayQuestion.objects.filter(member=member, digest__isnull=True)


def in_words(question: StayQuestion, *, by_link: bool = False) -> str:
    stay = question.stay
    if stay is None or question.planned_until is None:
        where = "below" if by_link else "on Due"
        return (
            f"{question.rig}: no reading, fuel stop or trip for 10 days. Is it parked? "
            f"Answer {where}: one tap puts it in storage, dated back."
        )
    return (
        f"{stay.rig} has been in storage since {day_words(stay.start)} and was due "
        f"out {day_words(question.planned_until)}. Is it still parked? Enter the "
        "date it left, or a new one, on its page."
    )


def as_subject(questions: Sequence[StayQuestion]) -> str:
    stay = questions[0].stay
    if stay is None:
        return f"Is {questions[0].rig} parked?"
    return f"Is {stay.rig} still in storage?"
