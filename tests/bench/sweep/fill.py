"""Households by the thousand: two made by the services, copied by SQL."""

from collections.abc import Sequence
from datetime import date, timedelta

from django.contrib.auth.models import User
from django.core.management.color import no_style
from django.db import connection, models

from maintenance.households.models import Household, Member
from maintenance.households.row_keys import RANDOM
from maintenance.plans.day_change import renew_behind
from maintenance.plans.models import PlanItem, Standing
from maintenance.reminders.models import Notice, NoticeMark
from maintenance.reminders.services import raise_everywhere
from maintenance.vehicles.models import Meter, Reading, Rig
from tests import builders
from tests.reminders.builders import noon

TODAY = builders.TODAY
ITEMS = 60
# Between a row and its copies; no table of the two made by hand has as many rows.
STRIDE = 1000
COPIED = (
    User,
    Household,
    Member,
    Rig,
    Meter,
    Reading,
    PlanItem,
    Standing,
    NoticeMark,
    Notice,
)


def fill(households: int, crossing: int) -> None:
    """Of every hundred, `crossing` have one item that falls due today; nothing else
    changes today. All are reckoned, and their notices raised, as of yesterday."""
    quiet, touched = _made(due_today=False), _made(due_today=True)
    yesterday = noon(TODAY - timedelta(days=1))
    renew_behind(yesterday)
    raise_everywhere(yesterday)
    for home, share in (
        (quiet, f"k % 100 >= {crossing}"),
        (touched, f"k % 100 < {crossing}"),
    ):
        for model in COPIED:
            _copy(model, home, households, share)
    Household.objects.filter(pk__lt=STRIDE).delete()
    with connection.cursor() as cursor:
        # The copies took numbers that PostgreSQL would give out again.
        for sql in connection.ops.sequence_reset_sql(no_style(), COPIED):
            cursor.execute(sql)
        cursor.execute("ANALYZE")


def _made(*, due_today: bool) -> Household:
    member = builders.make_member()
    rig = builders.make_rig(member.household)
    for months in range(6):
        builders.make_reading(
            rig, TODAY - timedelta(days=1 + 30 * months), 40000 - 500 * months
        )
    # A year on it opens 30 days before it closes; these open in four months or more.
    far = TODAY - timedelta(days=200)
    days = [far - timedelta(days=n % 20) for n in range(ITEMS)]
    if due_today:
        days[0] = date(TODAY.year - 1, TODAY.month, TODAY.day) + timedelta(days=30)
    PlanItem.objects.bulk_create(
        PlanItem(
            rig=rig,
            key=f"item{n}",
            title=f"Item {n}",
            system="chassis-engine",
            triggers=[{"every": {"months": 12}}],
            baseline="stated",
            baseline_on=day,
            taken_on=day,
        )
        for n, day in enumerate(days)
    )
    return member.household


def _copy(model: type[models.Model], home: Household, count: int, share: str) -> None:
    table, fields = model._meta.db_table, model._meta.concrete_fields
    ids = [row.pk for row in model._default_manager.filter(**_of(model, home))]
    if not ids:
        return
    columns = ", ".join(f'"{field.column}"' for field in fields)
    values = ", ".join(map(_value, fields))
    sql = f"""
        INSERT INTO {table} ({columns})
        WITH RECURSIVE n(k) AS
            (SELECT 1 UNION ALL SELECT k + 1 FROM n WHERE k < {count})
        SELECT {values} FROM {table} t, n WHERE {share} AND t.id IN ({_list(ids)})
    """  # noqa: S608  (all of it is our own)
    with connection.cursor() as cursor:
        cursor.execute(sql)


def _of(model: type[models.Model], home: Household) -> dict[str, Household]:
    paths = {
        User: "member__household",
        Household: "pk",
        Member: "household",
        Rig: "household",
        Meter: "rig__household",
        Reading: "meter__rig__household",
        PlanItem: "rig__household",
        Standing: "item__rig__household",
        NoticeMark: "household",
        Notice: "member__household",
    }
    return {paths[model]: home.pk}


def _value(field: models.Field) -> str:
    name = f't."{field.column}"'
    if isinstance(field, models.UUIDField):
        return RANDOM[connection.vendor]
    if field.primary_key or field.related_model in COPIED:
        return f"{name} + k * {STRIDE}"
    return f"{name} || k" if field.name == "username" else name


def _list(ids: Sequence[int]) -> str:
    return ", ".join(map(str, ids))
