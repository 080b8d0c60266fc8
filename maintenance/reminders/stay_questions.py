"""Asking once whether a rig is still in storage when the day on which it was to leave
has passed. Until then nobody knows, and the plan counts no more."""

from collections.abc import Iterable, Sequence
from datetime import date

from django.db.models import F, QuerySet

from maintenance.core.notices import Person
from maintenance.households.models import Household, Member
from maintenance.ui.words import day_words
from maintenance.vehicles.models import Stay

from .models import StayQuestion


def raise_questions(
    household: Household, people: Iterable[Person], *, today: date
) -> None:
    """One row for each stay in doubt and each person who is told of its rig."""
    stays = _in_doubt(today).filter(rig__household=household)
    rows = [
        StayQuestion(stay=stay, member_id=one.person, planned_until=until)
        for stay in stays
        if (until := stay.planned_until) is not None
        for one in people
        if one.rigs is None or stay.rig_id in one.rigs
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
    return list(open_now.select_related("stay__rig").order_by("pk"))


def waiting_for(member: Member) -> QuerySet[StayQuestion]:
    return StayQuestion.objects.filter(member=member, digest__isnull=True)


def in_words(question: StayQuestion) -> str:
    stay = question.stay
    return (
        f"{stay.rig} has been in storage since {day_words(stay.start)} and was to "
        f"leave on {day_words(question.planned_until)}. Is it still there? Enter on "
        "its page when it left, or until when it stays."
    )


def as_subject(questions: Sequence[StayQuestion]) -> str:
    rig = questions[0].stay.rig
    return f"Is {rig} still in storage?"
