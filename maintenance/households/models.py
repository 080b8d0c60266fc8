"""The people who share rigs: household, members and what they did."""

import uuid
import zoneinfo
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date, datetime

from django.conf import settings
from django.contrib.sessions.backends.db import SessionStore
from django.contrib.sessions.base_session import AbstractBaseSession
from django.core.exceptions import ValidationError
from django.db import models
from django.utils import timezone

from maintenance.core.facts import Calendar
from maintenance.ui import local

from .row_keys import row_key_field


class DistanceUnit(models.TextChoices):
    MILES = "mi", "miles"
    KILOMETERS = "km", "kilometers"


class Role(models.TextChoices):
    KEEPER = "keeper", "Keeper: may change everything"
    CREW = "crew", "Crew: logs work and readings"
    VIEWER = "viewer", "Viewer: looks only"


def check_timezone(name: str) -> None:
    """Refuse a zone that the time zone database does not know."""
    if name not in zoneinfo.available_timezones():
        raise ValidationError(
            "“%(name)s” isn't a time zone. Enter it like America/Denver.",
            params={"name": name},
        )


def month_day(text: str) -> tuple[int, int]:
    """'03-15' -> (3, 15). Raises ValueError for what is no day of a leap year."""
    day = date.fromisoformat(f"2024-{text}")
    return day.month, day.day


def month_day_text(day: tuple[int, int]) -> str:
    return f"{day[0]:02d}-{day[1]:02d}"


def check_month_day(text: str) -> None:
    try:
        month_day(text)
    except ValueError:
        raise ValidationError(
            "“%(text)s” isn't a month and day. Enter it like 03-15.",
            params={"text": text},
        ) from None


class SeasonDayField(models.CharField):
    """A day of the year as MM-DD."""

    def __init__(self, *args, **kwargs):
        kwargs["max_length"] = 5
        kwargs["validators"] = [check_month_day]
        super().__init__(*args, **kwargs)


class SeasonsBy(models.TextChoices):
    """What a household's seasons go by."""

    OWN = "own", "days of our own"
    FROST = "frost", "frost"
    RAIN = "rain", "no frost: the wet season"


class Household(models.Model):
    """`seasons_by` says what `cold_from` and `cold_to` are the usual first and last day
    of. `climate` has [lowest, usual] for each month, January first, as far as known,
    in `climate_unit`."""

    name = models.CharField("name", max_length=80)
    timezone = models.CharField("time zone", max_length=60, validators=[check_timezone])
    distance_unit = models.CharField(
        "distances in",
        max_length=2,
        choices=DistanceUnit.choices,
        default=DistanceUnit.MILES,
    )
    currency = models.CharField("currency", max_length=3, default="USD")
    country = models.CharField("country", max_length=2, default=local.HOME)
    spring_from = SeasonDayField("spring from", default="03-15")
    spring_to = SeasonDayField("spring to", default="05-31")
    autumn_from = SeasonDayField("autumn from", default="09-15")
    autumn_to = SeasonDayField("autumn to", default="11-30")
    seasons_by = models.CharField(
        max_length=5, choices=SeasonsBy.choices, default=SeasonsBy.OWN
    )
    cold_from = SeasonDayField(blank=True)
    cold_to = SeasonDayField(blank=True)
    climate = models.JSONField(default=list, blank=True)
    climate_unit = models.CharField(max_length=2, default="°F")
    horizon_days = models.PositiveSmallIntegerField(
        "show what comes within (days)", default=30
    )
    shop_wait_days = models.PositiveSmallIntegerField(
        "usual wait for a shop (days)", default=21
    )
    reckoned_on = models.DateField(null=True, blank=True, editable=False)
    # The first day on which a standing, or what there is to tell, may be another though
    # nobody enters anything. So the jobs of a day load the households that it touches.
    next_change_on = models.DateField(default=date.min, editable=False)
    next_notice_on = models.DateField(default=date.min, editable=False)
    is_demo = models.BooleanField(default=False, editable=False)

    class Meta:
        indexes = [
            models.Index(fields=["next_change_on"]),
            models.Index(fields=["next_notice_on"]),
            models.Index(fields=["reckoned_on"]),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def temperature_unit(self) -> str:
        """Who counts miles in the United States counts degrees Fahrenheit."""
        miles = self.distance_unit == DistanceUnit.MILES
        return "°F" if miles and self.country in local.FAHRENHEIT else "°C"

    @property
    def country_name(self) -> str:
        return dict(local.country_choices())[self.country]

    @property
    def zone(self) -> zoneinfo.ZoneInfo:
        return zoneinfo.ZoneInfo(self.timezone)

    @contextmanager
    def at_home(self) -> Iterator[None]:
        """What is said meanwhile is in the household's time zone and local form."""
        with timezone.override(self.zone), local.override(self.country):
            yield

    def today(self, now: datetime | None = None) -> date:
        """The household's local day; edges call this without `now`."""
        return timezone.localdate(now, self.zone)

    @property
    def calendar(self) -> Calendar:
        return Calendar(
            timezone=self.timezone,
            horizon_days=self.horizon_days,
            spring=(month_day(self.spring_from), month_day(self.spring_to)),
            autumn=(month_day(self.autumn_from), month_day(self.autumn_to)),
        )


class MemberQuerySet(models.QuerySet["Member"]):
    def for_household(self, household: Household) -> "MemberQuerySet":
        return self.filter(household=household)

    def present(self) -> "MemberQuerySet":
        """Members who have not left."""
        return self.filter(left_on__isnull=True)

    def with_mail(self) -> "MemberQuerySet":
        return self.present().filter(wants_mail=True).exclude(user__email="")


def every_stage() -> list[str]:
    return ["safety", "overdue", "due", "book", "heads_up"]


class Member(models.Model):
    """A person in a household, and how that person wants to be written to.

    `founder`: a keeper who also looks after the program itself, which may serve more
    households than theirs. There is one at most."""

    row_key = row_key_field()
    household = models.ForeignKey(
        Household, on_delete=models.CASCADE, related_name="members"
    )
    user = models.OneToOneField(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="member"
    )
    name = models.CharField("name", max_length=80)
    role = models.CharField("role", max_length=6, choices=Role.choices)
    founder = models.BooleanField("founder", default=False, editable=False)
    joined_on = models.DateField()
    left_on = models.DateField(null=True, blank=True)
    wants_mail = models.BooleanField("write to me", default=True)
    digest_hour = models.PositiveSmallIntegerField("hour of the mail", default=7)
    told_stages = models.JSONField("tell me", default=every_stage)
    told_rigs = models.JSONField("of these rigs", null=True, blank=True)  # None: all
    quiet_days = models.JSONField(  # 0 is Monday
        "no daily mail on", default=list, blank=True
    )
    distance_unit = models.CharField(  # blank: as the household
        "distances in", max_length=2, choices=DistanceUnit.choices, blank=True
    )

    objects = MemberQuerySet.as_manager()

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=models.Q(digest_hour__lte=23), name="member_digest_hour"
            ),
            models.UniqueConstraint(
                fields=["founder"],
                condition=models.Q(founder=True),
                name="one_founder",
            ),
            models.CheckConstraint(
                condition=models.Q(founder=False)
                | models.Q(role=Role.KEEPER, left_on__isnull=True),
                name="founder_is_keeper",
            ),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def reads_in(self) -> str:
        """The unit of distances in what is written to this person."""
        return self.distance_unit or self.household.distance_unit

    @property
    def is_keeper(self) -> bool:
        return self.role == Role.KEEPER

    @property
    def may_log(self) -> bool:
        return self.role in {Role.KEEPER, Role.CREW}


class ActivityEntry(models.Model):
    """Who changed what, in one line; written by services beside the change."""

    household = models.ForeignKey(
        Household, on_delete=models.CASCADE, related_name="activity"
    )
    member = models.ForeignKey(
        Member, on_delete=models.SET_NULL, null=True, related_name="activity"
    )
    at = models.DateTimeField(auto_now_add=True)
    what = models.CharField(max_length=60)
    about = models.CharField(max_length=200)

    class Meta:
        ordering = ["-at", "-pk"]
        indexes = [models.Index(fields=["at"])]
        verbose_name_plural = "activity entries"

    def __str__(self) -> str:
        return f"{self.what}: {self.about}"


class SentForm(models.Model):
    """A form that did its work, so that it is not done again when it is sent again."""

    token = models.UUIDField(unique=True, editable=False)
    member = models.ForeignKey(Member, on_delete=models.CASCADE, related_name="+")
    at = models.DateTimeField(auto_now_add=True, db_index=True)
    content = models.CharField(max_length=64)  # a digest of what it said
    led_to = models.TextField(blank=True)

    def __str__(self) -> str:
        return f"sent {self.at}"


class LoginSession(AbstractBaseSession):
    """A browser that somebody is logged in with. The framework's own rows cannot be
    asked whose they are (`login_sessions.py`)."""

    user = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.CASCADE, null=True, related_name="+"
    )
    device = models.CharField(max_length=60, blank=True)
    seen_at = models.DateTimeField(null=True)

    @classmethod
    def get_session_store_class(cls) -> type[SessionStore]:
        """It reads a row's words; `login_sessions.py` has the engine, and writes them
        alike."""
        return SessionStore


class OneTimeLink(models.Model):
    """Works once: it invites somebody with a role, or lets a member (`about`) choose a
    new password. Its row goes when it is used, withdrawn or too old."""

    key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    household = models.ForeignKey(
        Household, on_delete=models.CASCADE, related_name="one_time_links"
    )
    about = models.ForeignKey(
        Member, on_delete=models.CASCADE, null=True, related_name="+"
    )
    name = models.CharField(max_length=80)
    role = models.CharField(max_length=6, choices=Role.choices, blank=True)
    made_by = models.ForeignKey(Member, on_delete=models.CASCADE, related_name="+")
    expires_at = models.DateTimeField(db_index=True)

    def __str__(self) -> str:
        return f"new password for {self.name}" if self.about_id else self.name
