"""A rig with chained records, and an attacker who edits the database and the files
behind the program's back."""

import hashlib
from datetime import date, datetime, timedelta
from decimal import Decimal
from uuid import uuid4

from django.db import connection
from django.utils import timezone

from maintenance.core.chain import BEFORE_FIRST, canonical, digest_of
from maintenance.plans.measures import Measured
from maintenance.service_records.chain.content import contents_of
from maintenance.service_records.chain.linking import link_ripe
from maintenance.service_records.models import (
    Attachment,
    PartUsed,
    ServiceRecord,
    SupplyUsed,
)
from maintenance.service_records.proof import proof_folder
from maintenance.service_records.torque import Wheels
from maintenance.service_records.work import Line
from tests import builders
from tests.builders import TODAY


def log(rig, by, title="Oil changed", **more):
    more.setdefault("form_token", uuid4())
    more.setdefault("lines", [Line(title, note="as booked")])
    about = {"on": date(2026, 5, 1), "doer": "Bay Street Garage"} | more
    return builders.log_work(rig, by=by, today=TODAY, **about)


def add_proof(record, data=b"invoice"):
    digest = hashlib.sha256(data).hexdigest()
    proof_folder().mkdir(parents=True, exist_ok=True)
    (proof_folder() / f"{digest}.pdf").write_bytes(data)
    return Attachment.objects.create(
        rig=record.rig,
        record=record,
        form_token=record.form_token,
        title="invoice.pdf",
        content_type="application/pdf",
        stored=f"{digest}.pdf",
        size=len(data),
        sha256=digest,
    )


def full_record(rig, by):
    """A record in which every column of every part holds something."""
    wheels = Wheels(
        off=frozenset({"LF"}),
        figure=Decimal(110),
        origin="manual",
        wrench="The red one",
        reached={"LF": Decimal(110)},
    )
    measures = [Measured("tread", Decimal("6.5"), "32nds in", "LF")]
    record = log(
        rig,
        by,
        lines=[
            Line("Tires turned", note="n", measures=measures, steps=[("Lift", True)])
        ],
        until=date(2026, 5, 2),
        values={"odometer": Decimal(42310)},
        wheels=wheels,
        total=Decimal("80.50"),
        warranty_meter="odometer",
        warranty_value=Decimal(50000),
    )
    SupplyUsed.objects.create(record=record, name="Rags", amount=2, unit="piece")
    PartUsed.objects.create(record=record, name="Valve", number="V1", price=3)
    add_proof(record)
    return record


def make_chain(keeper, count=3):
    """A rig whose records are linked: the first one full, the others plain."""
    rig = builders.make_rig(keeper.household)
    records = [full_record(rig, keeper)]
    for n in range(2, count + 1):
        checked = Wheels(figure=Decimal(90), origin="invoice") if n == 2 else None
        records.append(log(rig, keeper, f"Work {n}", wheels=checked))
    link_all()
    return rig, records


def link_all():
    return link_ripe(timezone.now() + timedelta(minutes=11))


def as_version_1(rig):
    """The links of a rig as they were made before they had a version. Each says of its
    record what that says now."""
    links = rig.chain.order_by("position")
    write_version_1(rig, [(link.record_id, link.says) for link in links])


def write_version_1(rig, links):
    """`links` are records (by id) and what is said of kind, moment, person and why."""
    rig.chain.all().delete()
    before = BEFORE_FIRST
    for position, (record, about) in enumerate(links, 1):
        said = {name: about[name] for name in ("kind", "at", "by", "why")}
        content = contents_of([record], 1)[record]
        said |= {"link": position, "record": content, "rig": rig.pk}
        before = digest_of(before, canonical(said))
        rig.chain.create(
            position=position, record_id=record, text=canonical(said), digest=before
        )


# --- the attacker ---------------------------------------------------------------------


def sql(text, *values):
    with connection.cursor() as cursor:
        cursor.execute(text, values)


def overwrite(row, field, value):
    """One column of one row, past every rule of the program."""
    ready = field.get_db_prep_save(value, connection)
    table, column, pk = row._meta.db_table, field.column, row._meta.pk.column
    quote = connection.ops.quote_name
    sql(
        f"UPDATE {quote(table)} SET {quote(column)} = %s WHERE {quote(pk)} = %s",  # noqa: S608
        ready,
        row.pk,
    )


def another_value(row, field):
    """A value that the column may hold, and that is not the one it holds."""
    if field.is_relation:
        others = field.related_model._default_manager.exclude(
            pk=getattr(row, field.attname)
        )
        return others.first().pk
    kind = field.get_internal_type()
    value = getattr(row, field.attname)
    plain = {
        "DateField": date(2020, 1, 1) if field.name == "on" else date(2027, 1, 1),
        "DateTimeField": datetime(
            2026, 5, 4, 12, tzinfo=timezone.get_default_timezone()
        ),
        "DecimalField": Decimal(7),
        "BooleanField": not value,
        "JSONField": ["x"],
        "UUIDField": uuid4(),
    }
    if kind in plain:
        return plain[kind]
    return "z" if kind in {"CharField", "TextField"} else 97


def remove(record):
    """The record and all its rows, as a skilled hand would."""
    for relation in ServiceRecord._meta.related_objects:
        if relation.related_model.__name__ in {"ChainLink", "ServiceRecord"}:
            continue
        for row in relation.related_model._default_manager.filter(
            **{relation.field.name: record.pk}
        ):
            row.delete()
    for through in (ServiceRecord.readings.through, ServiceRecord.events.through):
        through.objects.filter(servicerecord_id=record.pk).delete()
    sql("DELETE FROM service_records_servicerecord WHERE id = %s", record.pk)
