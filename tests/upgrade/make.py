"""How the old data beside this file was made, by the commit that it is of:

    cd <a clone at 6ecae83, with its .venv>
    RIGSITE_DATA=<out>/data .venv/bin/python <this file> <out>

It tells two households to the services of that commit: two rigs of its demo with small
photos, and rigs told here act by act, at moments with microseconds as real ones have.
PostgreSQL is filled by that commit's own `dumpdata` and `loaddata`. Names of files,
keys and passwords are random, so a second run makes other bytes. It imports the old
program; against a newer one it does not run.
"""

import contextlib
import datetime as dt
import gzip
import io
import os
import shutil
import subprocess
import sys
import tarfile
import tempfile
import uuid
from dataclasses import replace
from decimal import Decimal
from pathlib import Path

sys.path.insert(0, str(Path.cwd()))
OUT = Path(sys.argv[1])
os.environ |= {
    "DJANGO_SETTINGS_MODULE": "rigsite.settings",
    "PUBLIC_URL": "https://rigs.example.org",
    "LOG_LEVEL": "ERROR",
}

import django
import time_machine

django.setup()

from django.conf import settings
from django.core.files.uploadedfile import SimpleUploadedFile
from django.core.management import call_command
from django.core.serializers.json import DjangoJSONEncoder
from django.db import connections
from PIL import Image, ImageDraw

from maintenance.exchange import services as exchange
from maintenance.exchange.running import bring_in
from maintenance.households.models import Household, Member
from maintenance.households.services import add_member, found_household
from maintenance.packets.rendering import make_packet
from maintenance.packets.services import ask_for_history
from maintenance.pages.demo.story import RigStory, read_story
from maintenance.pages.demo.telling import tell
from maintenance.plans.queries import proposals_for
from maintenance.plans.services import defer, settle_plan
from maintenance.reminders import services as mail
from maintenance.service_records import same_work
from maintenance.service_records import services as work
from maintenance.service_records.amending import Amended, amend_record, undo_record
from maintenance.service_records.chain.linking import link_ripe
from maintenance.service_records.proof import hold
from maintenance.service_records.torque import Wheels
from maintenance.service_records.unfiled_photos import keep_snaps
from maintenance.supplies.models import Supply
from maintenance.supplies.services import add_supply, add_tool
from maintenance.vehicles import services as vehicles
from maintenance.vehicles import trips
from maintenance.vehicles.models import Rig
from maintenance.walkrounds import rounds
from maintenance.walkrounds import services as findings
from rigsite.celery import app
from rigsite.env import database
from tests import servers
from tests.exchange.helpers import fresh, looked_at
from tests.mail_server import mail_server

DEMO_RIGS = {"pickup", "fifth_wheel"}
PASSWORD = "four-small-dry-twigs"  # of everybody here; it opens nothing elsewhere
clock = time_machine.travel(dt.datetime(2026, 11, 20, tzinfo=dt.UTC), tick=False)
traveler = clock.start()


def at(text: str) -> dt.date:
    """Set the clock, in UTC; the day in the households, which lie 7 and 8 h west."""
    moment = dt.datetime.fromisoformat(text).replace(tzinfo=dt.UTC)
    traveler.move_to(moment, tick=False)
    return (moment - dt.timedelta(hours=8)).date()


def now() -> dt.datetime:
    return dt.datetime.now(dt.UTC)


def photo(name: str, words: str) -> SimpleUploadedFile:
    image, out = Image.new("RGB", (150, 100), "#8a9a80"), io.BytesIO()
    ImageDraw.Draw(image).text((8, 42), words, "#202020")
    image.save(out, "JPEG", quality=50)
    return SimpleUploadedFile(name, out.getvalue(), "image/jpeg")


# --- two rigs of the demo -------------------------------------------------------------


def tell_demo() -> None:
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place, "story")
        shutil.copytree(Path(settings.BASE_DIR, "demo_fixtures"), folder)
        for path in folder.glob("photos/*.jpg"):
            image = Image.open(path)
            image.thumbnail((120, 120))
            image.save(path, "JPEG", quality=40)
        today = at("2026-11-22 03:11:09.418277")
        story = read_story(folder)
        rigs = [two_alone(rig) for rig in story.rigs if rig.key in DEMO_RIGS]
        made = tell(replace(story, rigs=rigs), as_of=today, password=PASSWORD)
    Household.objects.filter(pk=made.pk).update(is_demo=False)


def two_alone(rig: RigStory) -> RigStory:
    """Without what came over from a rig that is not told of, and without older work
    that nothing refers to: the file is to be small."""
    own = {part.key for part in rig.components}
    return replace(
        rig,
        moves=[move for move in rig.moves if move.part in own],
        works=[one for one in rig.works if one.name or max(one.days, default=0) > -600],
    )


# --- a household told act by act ------------------------------------------------------


def tell_own() -> None:
    today = at("2026-11-20 18:04:55.120394")
    about = {"name": "Alder Lane", "timezone": "America/Denver"}
    ann = found_household(today=today, keeper=person("Ann"), **about)
    ben = add_member(ann, today=today, role="crew", **person("Ben"))
    truck = add_rig(ann, today, "Juniper", "tow_vehicle", ["odometer"], 41200)
    trailer = add_rig(ann, today, "Wren", "travel_trailer", ["towed"], None)
    # What a hub meter showed, on the meter that trips credit.
    for on, value in ((dt.date(2026, 11, 1), 9120), (dt.date(2026, 11, 19), 9480)):
        meter = trailer.meters.get(kind="towed")
        vehicles.record_reading(meter, by=ann, today=today, on=on, value=Decimal(value))
    add_tool(ann.household, by=ann, today=today, kind="socket", name="13/16 in socket")
    oil = add_supply(
        ann.household, by=ann, name="Engine oil", unit="qt", stock=Decimal(9)
    )
    tell_work(ann, ben, truck, trailer, oil)
    tell_travel(ann, truck, trailer)
    tell_findings(ann, trailer)
    import_rows(ann, truck)


def person(name: str) -> dict[str, str]:
    login = name.lower()
    email = f"{login}@example.org"
    return {"name": name, "username": login, "email": email, "password": PASSWORD}


def add_rig(by: Member, today, name, kind, meters, value) -> Rig:
    truck = ["engine_gasoline", "hydraulic_brakes"]
    equipment = truck if value else ["ball_hitch", "propane", "smoke_alarm"]
    rig = vehicles.add_rig(
        by,
        today=today,
        name=name,
        kind=kind,
        wheels="four" if value else "trailer_two",
        equipment=equipment,
        in_service_on=dt.date(2023, 4, 1),
        meters=[
            {"kind": meter, "unit": "mi", "today_value": value and Decimal(value)}
            for meter in meters
        ],
    )
    keys = [proposal.procedure.key for proposal in proposals_for(rig)]
    settle_plan(rig, by=by, today=today, take=keys, leave=[], drop={}, why="")
    return rig


def item(rig: Rig, key: str):
    return rig.plan_items.get(key=key)


def log(rig: Rig, by: Member, today: dt.date, *lines: work.Line, **fields):
    token = fields.pop("form_token", uuid.uuid4())
    return work.log_service(
        rig, by=by, today=today, form_token=token, on=today, lines=lines, **fields
    )


def tell_work(ann: Member, ben: Member, truck: Rig, trailer: Rig, oil: Supply) -> None:
    today, token = at("2026-11-20 19:22:41.903155"), uuid.uuid4()
    invoice = photo("invoice.jpg", "Oil and filter")
    hold(truck, by=ann, form_token=token, upload=invoice)
    line = work.Line("Engine oil", item(truck, "engine_oil"))
    paid = {"parts": Decimal("41.20"), "total": Decimal("41.20")}
    first = log(
        truck,
        ann,
        today,
        line,
        form_token=token,
        values={"odometer": Decimal(41230)},
        supplies=[work.Take(oil, Decimal(5))],
        parts_used=[work.Part("Oil filter", "OF-7", price=Decimal("12.40"))],
        doer="Ann",
        warranty_until=dt.date(2027, 11, 20),
        warranty_covers="The filter",
        **paid,
    )
    again = log(truck, ben, at("2026-11-20 20:01:12.000731"), line, doer="Ben")
    wheels = Wheels(
        off=frozenset(trailer.places), figure=Decimal(95), origin="manual",
        reached={place: Decimal(95) for place in trailer.places},
    )  # fmt: skip
    wheel_work = work.Line("Tires looked at, wheels off")
    values = {"towed": Decimal(9495)}
    log(trailer, ann, today, wheel_work, wheels=wheels, values=values, doer="Ann")
    wrong = log(trailer, ben, today, work.Line("Wiper blades"), doer="Ben")
    undone = log(trailer, ben, today, work.Line("Typed on the wrong rig"), doer="Ben")
    undo_record(undone, by=ben, today=today, now=now())
    today = at("2026-11-21 17:40:00.777001")
    link_ripe(now())
    to = Amended(
        on=first.on,
        until=None,
        lines=[(row, line) for row in first.lines.all()],
        values={"odometer": Decimal(41232)},
        fields={"notes": "The drain plug got a new gasket."},
    )
    amend_record(first, by=ann, today=today, why="Read the odometer again.", to=to)
    findings.void_with_findings(wrong, by=ann, today=today, why="A trailer has none.")
    same_work.merge_records(again, into=first, by=ann, today=today)
    why = "The filter is on its way."
    later = dt.date(2026, 12, 20)
    defer(item(truck, "engine_air_filter"), by=ann, today=today, why=why, until=later)
    mail.keep_calendar(ann, now=now(), shows="coming", alarm_days=3)
    keep_snaps(ann.household, by=ben, uploads=[photo("snap.jpg", "A receipt")])


def tell_travel(ann: Member, truck: Rig, trailer: Rig) -> None:
    today = at("2026-11-22 18:05:33.250119")
    about = {"by": ann, "today": today, "title": "To the lake"}
    coming = dt.date(2026, 12, 4)
    trip = trips.plan_trip(
        truck, start=today, end=coming, distance=Decimal(260), **about
    )
    trips.tell_trip(
        trip, by=ann, today=today, end=today,
        hitched_at=Decimal(41250), unhitched_at=Decimal(41330),
    )  # fmt: skip
    trips.plan_trip(
        trailer, tow_vehicle=truck, start=coming, end=dt.date(2026, 12, 8),
        distance=Decimal(140), **about,
    )  # fmt: skip
    begun = dt.date(2026, 11, 21)
    vehicles.start_stay(
        trailer, by=ann, today=today, start=begun, place="The barn",
        winterized=True, planned_until=dt.date(2026, 12, 3),
    )  # fmt: skip


def tell_findings(ann: Member, trailer: Rig) -> None:
    today = at("2026-11-23 21:16:08.600042")
    going = rounds.start_walkround(trailer, by=ann, today=today)
    wrong = rounds.Wrong("The left rear marker light is out")
    look = {"by": ann, "today": today, "same": False}
    rounds.keep_look(
        going, token=uuid.uuid4(), zone="rear", wrong=wrong,
        uploads=[photo("light.jpg", "Marker light")], **look,
    )  # fmt: skip
    rounds.finish_walkround(going, by=ann, today=today)
    light = trailer.findings.get()
    light_item = findings.plan_finding(
        light, by=ann, today=today, title="Marker light", due_on=dt.date(2026, 12, 1)
    )
    today = at("2026-11-24 20:30:59.999999")
    done = log(trailer, ann, today, work.Line("Marker light", light_item), doer="Ann")
    findings.fix_findings_of(done)
    fault = work.Line("Propane hose", None, "fault_found", "Cracked at the crimp")
    findings.open_findings_of(log(trailer, ann, today, fault, doer="Ann"), by=ann)


def import_rows(ann: Member, truck: Rig) -> None:
    today = at("2026-11-24 22:10:10.101010")
    text = (
        "Date,Work done,Mileage (mi),Shop,Invoice no,Total,Notes\n"
        "2024-05-20,Engine oil,20100,Bergen Garage,A-17,120.50,Filter too\n"
        "2025-05-28,Engine oil,31050,Bergen Garage,A-44,128.00,\n"
    )
    made = looked_at(truck, ann, text)
    exchange.start(made, by=ann, today=today, with_doubtful=True)
    bring_in(fresh(made), today=today)


# --- what the worker does, the documents, the copies ----------------------------------


def write_mail() -> None:
    """A day of mail into the tray, one that a server takes, one that waits for it."""
    at("2026-11-23 16:00:00.000001")
    mail_of_the_day()
    with mail_server() as server:
        settings.MAIL_SERVER_SET = True
        settings.EMAIL_USE_TLS = settings.EMAIL_USE_SSL = False
        settings.EMAIL_HOST, settings.EMAIL_PORT = "127.0.0.1", server.port
        at("2026-11-24 16:00:00.500000")
        mail_of_the_day()
    at("2026-11-25 16:00:00.250000")
    mail_of_the_day()


def mail_of_the_day() -> None:
    link_ripe(now())
    mail.raise_everywhere(now())
    mail.make_digests(now())
    mail.send_waiting(now())


def print_history() -> None:
    truck = Rig.objects.get(name="Juniper")
    by, today = truck.household.members.first(), truck.household.today(now())
    clock.stop()  # printing waits by the clock
    make_packet(ask_for_history(truck, by=by, today=today), today=today)
    traveler = clock.start()
    traveler.move_to(dt.datetime(2026, 11, 25, 16, 30, tzinfo=dt.UTC), tick=False)


def main() -> None:
    app.conf.broker_url = "memory://"
    call_command("migrate", verbosity=0)
    tell_demo()
    tell_own()
    write_mail()
    print_history()
    for name, portable in (("plain", False), ("portable", True)):
        call_command("backup", OUT / name, portable=portable)
        (made,) = (OUT / name).glob("*.zip")
        made.rename(OUT / f"{name}.zip")
        (OUT / name).rmdir()
    dump_postgresql()
    for alias in connections:
        connections[alias].close()
    pack_data()


def dump_postgresql() -> None:
    """The same rows in PostgreSQL. Moments keep their microseconds on the way."""
    shorten = DjangoJSONEncoder.default

    def whole(self, value):
        if isinstance(value, dt.datetime):
            return value.isoformat()
        return shorten(self, value)

    DjangoJSONEncoder.default = whole
    rows = OUT / "rows.jsonl"
    skip = ["contenttypes", "auth.permission", "sessions", "axes"]
    call_command("dumpdata", format="jsonl", exclude=skip, output=rows, verbosity=0)
    with contextlib.ExitStack() as stack:
        folder = Path(stack.enter_context(tempfile.TemporaryDirectory()))
        url = stack.enter_context(servers.postgresql(folder))
        connections["default"].close()
        connections.settings["default"] = connections.configure_settings(
            {"default": database(url)}
        )["default"]
        del connections["default"]
        call_command("migrate", verbosity=0)
        call_command("loaddata", rows, verbosity=0)
        pg_dump = servers.program("pg_dump")
        command = [pg_dump, "--no-owner", "--no-privileges", url]
        text = subprocess.run(command, check=True, capture_output=True).stdout
        connections["default"].close()
    # Only the newest `psql` knows these.
    lines = [
        x for x in text.splitlines(True) if not x.startswith((b"\\res", b"\\unres"))
    ]
    (OUT / "postgresql.sql.gz").write_bytes(gzip.compress(b"".join(lines), mtime=0))
    rows.unlink()


def pack_data() -> None:
    data = Path(settings.DATA)
    (data / "last-backup.json").unlink()  # it names a folder of the day
    with tarfile.open(OUT / "data.tar.xz", "w:xz") as packed:
        packed.add(data, "data")


main()
