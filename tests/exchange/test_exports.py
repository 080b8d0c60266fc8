"""Taking everything out: nothing forgotten, nothing that runs, and back in again."""

import csv
import hashlib
import io
import json
import re
import uuid
import zipfile
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal

import pytest
from django.db import models
from django.urls import reverse
from django.utils import timezone

from maintenance.core.tables import propose_fields, rows_of
from maintenance.exchange.exports import making
from maintenance.exchange.exports.archive import file_field, write_archive
from maintenance.exchange.exports.making import (
    KEPT,
    ask_for_export,
    make_export,
    remove_old,
    stop_export,
)
from maintenance.exchange.exports.scope import (
    LEFT_OUT,
    SECRET_FIELDS,
    label_of,
    our_models,
    taken_out,
    way_home,
)
from maintenance.exchange.exports.tables import harmless, unit_of, writer_on
from maintenance.exchange.imports.layout import Layout
from maintenance.exchange.models import ExportJob, ExportState
from maintenance.service_records.models import Attachment
from maintenance.service_records.proof import path_of
from maintenance.service_records.work import Line
from maintenance.vehicles.queries import decimals
from tests import builders
from tests.builders import (
    TODAY,
    make_household,
    make_item,
    make_member,
    make_reading,
    make_rig,
)

from .helpers import brought

NOW = datetime(2026, 5, 4, 12, tzinfo=UTC)


def test_every_model_of_ours_then_taken_out_or_left_out_with_a_reason():
    ours = {label_of(model): model for model in our_models()}
    nowhere = [name for name, model in ours.items() if way_home(model) is None]

    assert set(LEFT_OUT) <= set(ours)
    assert all(LEFT_OUT.values())
    # A model that no household can be found for has to be named in LEFT_OUT.
    assert set(nowhere) <= set(LEFT_OUT)


def test_every_figure_then_it_has_a_unit_in_its_heading():
    without = [
        f"{label_of(model)}.{field.name}"
        for model in taken_out()
        for field in model._meta.concrete_fields
        if isinstance(field, models.DecimalField) and not unit_of(model, field)
    ]

    # Name its unit in `taking/tables.py`.
    assert without == []


def test_every_field_named_like_a_secret_then_it_stays_here():
    secrets = [
        field.name
        for model in taken_out()
        for field in model._meta.concrete_fields
        if re.search("token|secret|password|salt", field.name)
    ]

    assert secrets
    assert set(secrets) <= SECRET_FIELDS


def test_every_model_with_a_file_then_the_file_is_found():
    with_digest = [
        model
        for model in taken_out()
        if any(field.name == "sha256" for field in model._meta.concrete_fields)
    ]

    assert with_digest
    assert [label_of(m) for m in with_digest if file_field(m) is None] == []


@pytest.mark.parametrize("text", ["=1+1", "+1", "-1", "@x", "\tx", "\rx"])
def test_cell_that_a_spreadsheet_would_run_then_harmless(text):
    assert harmless(text) == f"'{text}"


@pytest.mark.parametrize("separator", [",", ";", "\t", "|"])
@pytest.mark.parametrize(
    "text",
    [
        "oil;=1+1",
        "oil;  @x",
        'he said "oil";=1+1;"',
        "oil\t-1|+1",
        "oil\n=1+1",
        "oil\r\n=1+1\n;-2",
        "\t=1+1",
        "＝1+1",  # noqa: RUF001
    ],
)
def test_cell_cut_at_another_separator_then_harmless_still(text, separator):
    out = io.StringIO()
    writer_on(out).writerow([harmless(each) for each in ("before", text, "after")])

    read = csv.reader(io.StringIO(out.getvalue(), newline=""), delimiter=separator)

    cells = [cell.strip(" ") for row in read for cell in row]
    assert not [cell for cell in cells if cell.startswith(RUN)]


RUN = tuple("=+-@\t\r\n＝＋－＠")  # noqa: RUF001


def test_number_then_left_as_it_is():
    assert harmless(Decimal("-5")) == Decimal("-5")


def log(rig, by, title="=HYPERLINK()", on=date(2026, 1, 2), **more):
    lines = [Line(title, item=more.pop("item", None)), Line('Second, "quoted"\nline')]
    return builders.log_work(
        rig, by=by, today=TODAY, form_token=uuid.uuid4(), on=on, lines=lines,
        values={"odometer": Decimal(42000)}, doer="Bergen Garage", done_by="shop",
        total=Decimal("12.50"), notes="-5 degrees", **more
    )  # fmt: skip


@pytest.fixture
def keeper(db):
    return make_member(make_household(name="Alder Lane"))


@pytest.fixture
def rig(keeper):
    return make_rig(keeper.household, name="Marlow")


def opened(household) -> zipfile.ZipFile:
    file = io.BytesIO()
    write_archive(household, file, made_by="Ann", now=NOW)
    return zipfile.ZipFile(file)


def table(packed, name) -> list[dict[str, str]]:
    text = packed.read(name).decode("utf-8-sig")
    assert "\r\n" in text
    return list(csv.DictReader(io.StringIO(text, newline="")))


def attach(record, data=b"%PDF-1.4 invoice", sha256=None):
    made = Attachment.objects.create(
        rig=record.rig, record=record, form_token=uuid.uuid4(), title="Invoice.pdf",
        content_type="application/pdf", stored="random.pdf", size=len(data),
        sha256=sha256 or hashlib.sha256(data).hexdigest(),
    )  # fmt: skip
    path_of(made).parent.mkdir(parents=True, exist_ok=True)
    path_of(made).write_bytes(data)
    return made


def test_zip_then_the_manifest_has_every_file_with_digest_and_rows(rig, keeper):
    attach(log(rig, keeper))
    packed = opened(keeper.household)
    manifest = json.loads(packed.read("manifest.json"))

    assert (manifest["household"], manifest["made_by"]) == ("Alder Lane", "Ann")
    assert manifest["version"]
    listed = {file["name"]: file for file in manifest["files"]}
    assert set(listed) == set(packed.namelist()) - {"manifest.json"}
    for name, file in listed.items():
        data = packed.read(name)
        assert (file["sha256"], file["bytes"]) == (
            hashlib.sha256(data).hexdigest(), len(data)
        )  # fmt: skip
    assert listed["tables/service-records.csv"]["rows"] == 1
    assert any("Invoice" in name for name in listed)


def test_file_that_was_changed_then_the_manifest_says_so(rig, keeper):
    attach(log(rig, keeper), sha256="0" * 64)
    manifest = json.loads(opened(keeper.household).read("manifest.json"))

    (said,) = [file["problem"] for file in manifest["files"] if "problem" in file]
    assert said == "not the file that was stored"


def test_tables_then_names_beside_numbers_units_in_headings_nothing_runs(rig, keeper):
    log(rig, keeper)
    packed = opened(keeper.household)

    (record,) = table(packed, "tables/service-records.csv")
    assert (record["Rig"], record["Rig (number)"]) == ("Marlow", str(rig.pk))
    assert record["Total (in the currency of the row)"] == "12.50"
    assert record["Notes"] == "'-5 degrees"
    assert record["Entered by"] == keeper.name
    (reading,) = table(packed, "tables/readings.csv")
    assert (reading["Value (in the unit of the row)"], reading["Unit"]) == (
        "42000.0", "mi"
    )  # fmt: skip
    lines = table(packed, "tables/record-lines.csv")
    assert [line["What"] for line in lines] == [
        "'=HYPERLINK()", 'Second, "quoted"\nline'
    ]  # fmt: skip


def test_zip_then_nothing_of_another_household_and_no_secret_name(rig, keeper):
    stranger = make_member(make_household(name="Elsewhere"), name="Stranger")
    attach(log(make_rig(stranger.household, name="Foreign"), stranger, "Theirs"))
    log(rig, keeper)
    packed = opened(keeper.household)
    everything = "".join(packed.read(name).decode() for name in packed.namelist())

    for word in ("Elsewhere", "Stranger", "Foreign", "Theirs", "random.pdf"):
        assert word not in everything
    assert keeper.user.password not in everything


def test_history_taken_out_then_another_household_brings_it_in(rig, keeper):
    item = make_item(rig)
    log(rig, keeper, "Engine oil", item=item)
    log(rig, keeper, "Repacked the bearings", on=date(2026, 2, 3))
    text = opened(keeper.household).read(f"history/marlow-{rig.pk}.csv").decode()
    other = make_member(make_household(name="Buyers"))
    bought = make_rig(other.household, name="Bought")
    make_item(bought)

    made = brought(bought, other, text, columns=proposed(text), wheels="none")

    assert made.added == 4
    assert told(bought) == told(rig)
    assert bought.plan_items.get().completions.get().on == date(2026, 1, 2)


def proposed(text):
    return propose_fields(Layout(rows_of(text)).names, {})


def told(rig):
    return [
        (
            record.on, decimals(record.values), record.doer, record.total,
            [" ".join(line.title.split()) for line in record.lines.all()],
            [reading.value for reading in record.readings.all()],
        )
        for record in rig.records.order_by("on")
    ]  # fmt: skip


def test_many_rows_then_as_many_queries_as_of_few(
    rig, keeper, django_assert_max_num_queries
):
    for n in range(30):
        make_reading(rig, date(2025, 1, 1 + n), 30000 + n)

    with django_assert_max_num_queries(2 * len(taken_out()) + 40):
        write_archive(keeper.household, io.BytesIO(), made_by="Ann", now=NOW)


def test_zip_when_asked_for_then_a_worker_makes_it_for_keepers_alone(
    rig, keeper, client_as, workers
):
    url = reverse("take_out")
    crew = make_member(keeper.household, "crew")

    assert client_as(crew).post(url).status_code == 403
    page = workers(client_as(keeper).post, url).url
    assert "Download the ZIP" in client_as(keeper).get(page).content.decode()

    job = ExportJob.objects.get()
    file = reverse("export_file", args=[job.key])
    answer = client_as(keeper).get(file)
    data = b"".join(answer.streaming_content)
    assert answer["Content-Type"] == "application/zip"
    assert zipfile.ZipFile(io.BytesIO(data)).testzip() is None
    assert making.path_of(job).stat().st_size == job.size == len(data)
    assert client_as(crew).get(file).status_code == 403
    stranger = make_member(make_household(name="Elsewhere"))
    assert client_as(stranger).get(file).status_code == 404


def test_zip_when_asked_for_twice_then_one_is_made(keeper):
    first = ask_for_export(keeper.household, by=keeper)

    assert ask_for_export(keeper.household, by=keeper) == first


def test_zip_when_stopped_while_it_is_made_then_no_file(keeper, rig, monkeypatch):
    job = ask_for_export(keeper.household, by=keeper)

    def stopped(_household, _out, *, tell, **_more):
        stop_export(job, by=keeper)
        tell(1, 2)

    monkeypatch.setattr(making, "write_archive", stopped)
    make_export(job, today=NOW.date())

    job.refresh_from_db()
    assert job.state == ExportState.STOPPED
    assert list(making.path_of(job).parent.iterdir()) == []


def test_zip_a_day_later_then_gone_with_its_file(keeper, rig):
    job = ask_for_export(keeper.household, by=keeper)
    make_export(job, today=NOW.date())
    assert making.path_of(job).exists()
    ExportJob.objects.update(asked_at=timezone.now() - KEPT - timedelta(minutes=1))

    remove_old()

    assert not making.path_of(job).exists()
    assert not ExportJob.objects.exists()
