"""Database and files are edited behind the program's back; each edit is named."""

import contextlib
import shutil
from datetime import timedelta

import pytest
from django.db import transaction
from django.utils import timezone

from maintenance.core.chain import canonical, digest_of
from maintenance.service_records.chain.verifying import head_of, verify
from maintenance.service_records.chain.versions import PARTS, RAISED, VERSIONS
from maintenance.service_records.models import (
    Attachment,
    ChainLink,
    RecordLine,
    ServiceRecord,
    TorqueCheck,
)
from maintenance.service_records.proof import path_of
from maintenance.vehicles.models import Event
from tests import builders

from .chain_parts import (
    another_value,
    as_version_1,
    full_record,
    link_all,
    log,
    make_chain,
    overwrite,
    remove,
    sql,
)

MODELS = [part.model for part in PARTS.values()]
# Other rows hold on to these; a removed record has a test of its own.
HELD = {(ServiceRecord, "id"), (TorqueCheck, "id")}
KEYS = {"row_key", "key"}


def columns_of(version):
    """The columns of which a link of this version says something."""
    for name, part in VERSIONS[version].items():
        lookups = {*part.names.values(), part.way} if name != RAISED else ()
        read = {lookup.partition("__")[0] for lookup in lookups}
        for field in part.model._meta.concrete_fields:
            if {field.name, field.attname} & read and (
                part.model,
                field.name,
            ) not in HELD:
                yield part.model, field


def make_chained(version):
    keeper = builders.make_member()
    rig, records = make_chain(keeper)
    if version == 1:
        as_version_1(rig)
    other = builders.make_rig(keeper.household)
    builders.make_member(keeper.household)
    builders.make_item(other)
    return keeper, rig, records


@pytest.fixture(scope="module", params=VERSIONS)
def made(shared, request):
    with shared(lambda: make_chained(request.param), at="2026-05-04 12:00") as made:
        yield request.param, *made


@pytest.fixture
def chained(made, db, tmp_path):
    _version, (_keeper, rig, records), files = made
    shutil.copytree(files, tmp_path / "files")
    return fresh(rig), [fresh(record) for record in records]


@pytest.fixture
def keeper(made, db):
    return fresh(made[1][0])


def fresh(row):
    """As no test has changed it."""
    return type(row)._default_manager.get(pk=row.pk)


def said(rig, **more):
    return [each.text for each in verify(rig, **more).found]


def test_untouched_records_fit(chained):
    rig, _records = chained

    result = verify(rig)

    assert result.holds
    assert (result.records, result.files, result.waiting) == (3, 1, 0)


def row_of(model, record):
    """The record's own row of a model."""
    way = next(part.way for part in PARTS.values() if part.model is model)
    return model._default_manager.get(**{way: record.pk})


@contextlib.contextmanager
def put_back():
    """What is done to the database inside is undone at the end."""
    with transaction.atomic():
        yield
        transaction.set_rollback(True)


def test_each_changed_column_is_named(made, chained, subtests):
    rig, (record, *_others) = chained
    columns = list(columns_of(made[0]))

    for model, field in columns:
        with subtests.test(column=f"{model.__name__}.{field.name}"), put_back():
            change_is_named(rig, record, model, field)

    assert len(columns) > 50


def change_is_named(rig, record, model, field):
    row = row_of(model, record)

    overwrite(row, field, another_value(row, field))

    found = verify(rig).found
    assert record.pk in {each.record for each in found}
    moved = field.primary_key or field.related_model in {ServiceRecord, TorqueCheck}
    moved = moved or field.name in KEYS
    words = "removed" if moved and model is not ServiceRecord else field.verbose_name
    assert any(str(words) in each.text for each in found)
    assert moved or len(found) == 1


def test_event_moved_to_another_wheel_is_named(chained):
    rig, (record, *_others) = chained
    event = Event.objects.get(records=record)

    overwrite(event, Event._meta.get_field("places"), ["RR"])

    [text] = said(rig)
    assert "what it added" in text
    assert "RR" in text


def test_removed_record_is_named(chained):
    rig, (_first, second, _third) = chained
    remove(second)

    [text] = said(rig)

    assert text.startswith(f"Record {second.pk}, work on May 1, 2026 (Work 2)")
    assert text.endswith("was removed.")


def test_record_removed_with_its_link_is_named_by_the_gap(chained):
    rig, (_first, second, _third) = chained
    sql("DELETE FROM service_records_chainlink WHERE record_id = %s", second.pk)
    remove(second)

    assert said(rig) == ["Link 2 is missing."]


def test_two_records_that_changed_places_are_both_named(chained):
    rig, (_first, second, third) = chained
    lines = "UPDATE service_records_recordline SET record_id = %s WHERE id = %s"
    mine, other = second.lines.get().pk, third.lines.get().pk
    sql(lines, third.pk, mine)
    sql(lines, second.pk, other)

    assert {each.record for each in verify(rig).found} == {second.pk, third.pk}


def test_two_links_that_changed_places_are_named(chained):
    rig, _records = chained
    at = "UPDATE service_records_chainlink SET position = %s WHERE id = %s"
    second, third = ChainLink.objects.filter(position__in=[2, 3])
    for link, position in ((second, 99), (third, 2), (second, 3)):
        sql(at, position, link.pk)

    found = said(rig)

    assert "Link 2 says it is link 3: links were swapped." in found
    assert "Link 3 says it is link 2: links were swapped." in found


@pytest.mark.parametrize("swept", [False, True])
def test_record_put_in_with_an_old_date_of_entry_is_named(keeper, chained, swept):
    rig, _records = chained
    forged = log(rig, keeper, "Never done")
    entered = ServiceRecord._meta.get_field("entered_at")
    overwrite(forged, entered, timezone.now() - timedelta(days=400))
    if swept:
        link_all()

    [found] = verify(rig).found

    assert found.record == forged.pk
    assert "was added later" in found.text


@pytest.mark.parametrize("gone", [False, True])
def test_changed_or_missing_file_is_named(chained, gone):
    rig, (record, *_others) = chained
    path = path_of(record.attachments.get())
    path.unlink() if gone else path.write_bytes(b"invoicE")

    [text] = said(rig)

    assert f"Record {record.pk}," in text
    assert "file “invoice.pdf”" in text
    assert ("missing" if gone else "it isn't the file that was stored") in text


def test_file_exchanged_with_its_digest_in_the_row_is_named(chained):
    rig, (record, *_others) = chained
    file = record.attachments.get()
    path_of(file).write_bytes(b"forged!")
    overwrite(file, Attachment._meta.get_field("sha256"), "0" * 64)

    found = said(rig)

    assert any("sha256" in text for text in found)
    assert any("it isn't the file that was stored" in text for text in found)


@pytest.mark.parametrize("column", ["text", "digest", "rig", "record"])
def test_changed_link_is_named(chained, column):
    rig, (_first, second, _third) = chained
    link = ChainLink.objects.get(record=second)
    field = ChainLink._meta.get_field(column)
    value = {"text": link.text.replace("Work 2", "Work Z"), "digest": "0" * 64}
    overwrite(link, field, value.get(column) or another_value(link, field))

    assert any("ink 2" in text for text in said(rig))


@pytest.mark.parametrize("text", ["", "[]", '{"link": 2}', '{"link": 2, "record": 5}'])
def test_link_with_nonsense_for_a_text_is_named(chained, text):
    rig, (_first, second, _third) = chained
    link = ChainLink.objects.get(record=second)
    overwrite(link, ChainLink._meta.get_field("text"), text)

    assert any(each.startswith(("Link 2", "The text of link 2")) for each in said(rig))


def test_value_of_another_kind_is_named_and_stops_nothing(chained):
    rig, (record, *_others) = chained
    line = RecordLine.objects.get(record=record)
    overwrite(line, RecordLine._meta.get_field("measures"), [{"value": 1.5}])

    [text] = said(rig)

    assert "measures" in text


@pytest.mark.parametrize("moment", ["2026-05-01T09:00:00Z", "2026-05-01T09:00", "May"])
def test_link_with_nonsense_for_its_moments_is_named(chained, moment):
    rig, (_first, second, _third) = chained
    link = ChainLink.objects.get(record=second)
    said = {"kind": "entered", "link": 2, "record": {"entered_at": moment}}
    overwrite(link, ChainLink._meta.get_field("text"), canonical(said))

    assert any(each.text.startswith("Link 2") for each in verify(rig).found)


def test_link_of_a_version_nobody_knows_is_named(chained):
    """Though its digest be right: an older program must not pass it by."""
    rig, (*_others, last) = chained
    link, before = ChainLink.objects.get(record=last), ChainLink.objects.get(position=2)
    text = canonical(link.says | {"version": 99})
    overwrite(link, ChainLink._meta.get_field("text"), text)
    digest = digest_of(before.digest, text)
    overwrite(link, ChainLink._meta.get_field("digest"), digest)

    [found] = said(rig)

    assert found.startswith("Link 3 holds no record that Rigsite can read")


# --- against a printed head -----------------------------------------------------------


def test_printed_head_vouches_for_all_up_to_it(keeper, chained):
    rig, _records = chained
    printed = head_of(rig)
    log(rig, keeper, "Later work")
    link_all()

    result = verify(rig, printed=printed.words.upper())

    assert (result.printed, result.head.position) == (3, 4)
    assert result.holds_up_to_print


def test_change_after_the_print_leaves_what_was_printed(keeper, chained):
    rig, _records = chained
    printed = head_of(rig).digest
    later = log(rig, keeper, "Later work")
    link_all()
    overwrite(later, ServiceRecord._meta.get_field("doer"), "Nobody")

    result = verify(rig, printed=printed)

    assert not result.holds
    assert result.holds_up_to_print


def test_end_cut_off_is_told_by_the_print(chained):
    rig, (*_others, last) = chained
    printed = head_of(rig).words
    sql("DELETE FROM service_records_chainlink WHERE record_id = %s", last.pk)
    remove(last)

    [text] = said(rig, printed=printed)

    assert "link 3, but there are only 2" in text


def test_chain_made_anew_after_a_change_is_told_by_the_print(chained):
    """Who rewrites every link has a chain that holds; not the printed head."""
    rig, (first, *_others) = chained
    printed = head_of(rig).words
    overwrite(first, ServiceRecord._meta.get_field("doer"), "Cheap & Fast")
    before = "0" * 64
    for link in ChainLink.objects.filter(rig=rig).order_by("position"):
        says = link.says
        if link.record_id == first.pk:
            says["record"]["doer"] = "Cheap & Fast"
        before = digest_of(before, canonical(says))
        overwrite(link, ChainLink._meta.get_field("text"), canonical(says))
        overwrite(link, ChainLink._meta.get_field("digest"), before)

    assert said(rig) == []
    [text] = said(rig, printed=printed)
    assert "rewritten" in text


def test_full_record_holds_something_in_every_part(db):
    keeper = builders.make_member()
    record = full_record(builders.make_rig(keeper.household), keeper)

    assert all(row_of(model, record) for model in MODELS)
