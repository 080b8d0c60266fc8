"""What of the database belongs to a household, and what of it is left out and why.

The way from a model to its household is found from its foreign keys, so that a new
model is taken out without a word here. One that has no way must be named here.
"""

from collections import deque
from functools import cache

from django.apps import apps
from django.db import models

from maintenance.households.models import Household

OURS = ("maintenance.", "rigsite")

REACHES_NOBODY = "How Rigsite itself is running. It belongs to no household."
MAILS = "Emails and reminders already written: they have personal links."
RECKONED = "What's due for each job: we work it out again from the rest."
LEARNED = "Estimates of use: we work them out again from the readings."
DRAFTS = "Drafts: what you typed but haven't recorded yet."
MADE_ANEW = "Printed packets: you can print them again anytime."
ADDRESSES = "Calendar addresses: they open without a login."
HALF_WAY = "Files being imported: their rows are exported as records."
LOGINS = "Who is logged in, and in which browser."
LINKS = "Invitations and links for a new password: they open without a login."
SENT = "Forms sent in the last week, kept so none is saved twice."

LEFT_OUT = {
    "exchange.exportjob": MADE_ANEW,
    "exchange.importjob": HALF_WAY,
    "households.loginsession": LOGINS,
    "households.onetimelink": LINKS,
    "households.sentform": SENT,
    "packets.packet": MADE_ANEW,
    "pages.searchmark": MADE_ANEW,
    "pages.searchtext": MADE_ANEW,
    "plans.meterhabit": LEARNED,
    "work_sheets.sheetentry": DRAFTS,
    "plans.standing": RECKONED,
    "reminders.answeredlink": MAILS,
    "reminders.calendarfeed": ADDRESSES,
    "reminders.digest": MAILS,
    "reminders.findingnotice": MAILS,
    "reminders.machineclock": REACHES_NOBODY,
    "reminders.notice": MAILS,
    "reminders.noticemark": MAILS,
    "reminders.sweepmark": REACHES_NOBODY,
    "reminders.tripnotice": MAILS,
}

# Names of rows and files that open them, and what a worker notes to itself.
SECRET_FIELDS = {"form_token", "token", "secret", "key", "stored", "claimed_until"}


def our_models() -> list[type[models.Model]]:
    """Every model of our apps, those made by themselves for relations aside."""
    return [
        model
        for config in apps.get_app_configs()
        if config.name.startswith(OURS)
        for model in config.get_models()
    ]


def label_of(model: type[models.Model]) -> str:
    return model._meta.label_lower


def taken_out() -> list[type[models.Model]]:
    """The models that are taken out, in the order in which apps build on each other."""
    return [model for model in our_models() if label_of(model) not in LEFT_OUT]


@cache
def way_home(model: type[models.Model]) -> str | None:
    """The lookup from a model to its household (`rig__household`), or None.

    The shortest way by relations that are never empty; else one through those that may
    be. Without that rule a record would belong to whoever entered it.
    """
    if model is Household:
        return "pk"
    return _search(model, through_empty=False) or _search(model, through_empty=True)


def _search(model: type[models.Model], *, through_empty: bool) -> str | None:
    waiting = deque([(model, "")])
    seen = {model}
    while waiting:
        here, path = waiting.popleft()
        for field in here._meta.concrete_fields:
            target = field.related_model
            if target is None or isinstance(target, str):
                continue
            if field.null and not through_empty:
                continue
            way = f"{path}{field.name}"
            if target is Household:
                return way
            if target not in seen and target._meta.app_config.name.startswith(OURS):
                seen.add(target)
                waiting.append((target, f"{way}__"))
    return None
