"""Links survive what later versions of the program do to the tables, a change of the
form of links, and a household that moves to another database."""

import hashlib
from dataclasses import replace
from datetime import UTC, datetime

import pytest
from django.apps import apps
from django.db import connection, models
from django.db.migrations import AddField, RemoveField, RenameField
from django.db.migrations.state import ProjectState

from maintenance.core.chain import canonical
from maintenance.households.models import Member
from maintenance.plans.models import PlanItem
from maintenance.service_records.chain.linking import changing
from maintenance.service_records.chain.story import amendments
from maintenance.service_records.chain.verifying import verify
from maintenance.service_records.chain.versions import (
    EXEMPT,
    EXEMPT_TABLES,
    PARTS,
    RECORD,
    VERSIONS,
    newest,
    plus,
    same,
)
from maintenance.service_records.chain.words import PART_NAMES
from maintenance.service_records.models import (
    Attachment,
    ChainLink,
    PartUsed,
    RecordLine,
    ServiceRecord,
    SupplyUsed,
    TorqueCheck,
    TorquePlace,
)
from maintenance.vehicles.models import Rig
from tests import builders

from .chain_parts import (
    as_version_1,
    link_all,
    log,
    make_chain,
    overwrite,
    sql,
    write_version_1,
)

# SHA-256 of the names of each version as `frozen` writes them. They never change: what
# a later version says differently gets a number of its own.
FROZEN = {
    1: "2f3e2058a347dd4e05f3f57dc1dcf8066c582fa0c4c7febc9f14d43dddff3b6c",
    2: "27bbe19df3696e246aadb2b2ac3be0f66797c30ba6153847c6e45c29bb1f8f66",
    3: "54f9d476e07c2a6ca480daf0a79be9c5f6b1c2e2a0062b8dca71deccaa3cc1bb",
}

# A column of each table of records.
ONE_OF_EACH = {
    ServiceRecord: "place",
    RecordLine: "note",
    TorqueCheck: "wrench",
    TorquePlace: "moved",
    SupplyUsed: "unit",
    PartUsed: "number",
    Attachment: "content_type",
}


@pytest.fixture
def keeper(db):
    return builders.make_member()


@pytest.fixture(params=sorted(FROZEN))
def chained(keeper, request, monkeypatch):
    """A chain as it was made when that version was the newest."""
    with monkeypatch.context() as then:
        for later in range(max(2, request.param) + 1, newest() + 1):
            then.delitem(VERSIONS, later)
        rig, records = make_chain(keeper)
    if request.param == 1:
        as_version_1(rig)
    assert {link.version for link in rig.chain.all()} == {request.param}
    return rig, records


def said(rig):
    return [each.text for each in verify(rig).found]


# --- every column is in the chain, or is said not to be -------------------------------


def columns(model):
    return [*model._meta.concrete_fields, *model._meta.many_to_many]


def test_every_column_of_a_record_is_in_the_newest_version_or_exempt():
    """A new column makes a new version of links (`plus`), or is named in EXEMPT."""
    for part in PARTS.values():
        lookups = [*filter(None, part.names.values()), part.way]
        read = {lookup.partition("__")[0] for lookup in lookups}
        if part.model is ServiceRecord:
            read.add("events")  # as what it added
        for field in columns(part.model):
            known = {field.name, field.attname} & read
            assert known or (part.model, field.name) in EXEMPT, field


def test_every_table_that_points_to_a_record_is_in_the_newest_version_or_exempt():
    """A new table goes into the newest version's parts, or into EXEMPT_TABLES."""
    known = {part.model for part in PARTS.values()}
    for model in known:
        for relation in model._meta.related_objects:
            table = relation.related_model
            assert table in known or table._meta.label in EXEMPT_TABLES, table


def test_what_is_exempt_exists_and_has_a_reason():
    for (model, name), why in EXEMPT.items():
        assert model._meta.get_field(name)
        assert why
    for label, why in EXEMPT_TABLES.items():
        assert apps.get_model(label)
        assert why


def frozen(version):
    names = {name: sorted(part.names) for name, part in VERSIONS[version].items()}
    return hashlib.sha256(canonical(names).encode()).hexdigest()


def test_names_of_a_version_are_frozen():
    assert {version: frozen(version) for version in VERSIONS} == FROZEN


def test_every_name_is_read_where_its_version_says():
    for version in VERSIONS.values():
        for part in version.values():
            part.model._default_manager.values_list(
                *filter(None, part.names.values()), part.way
            )


def test_every_part_has_a_name_in_words():
    assert PARTS.keys() - {RECORD} == PART_NAMES.keys()


# --- columns that come, go and get another name ---------------------------------------


def alter(monkeypatch, operation, ddl, lookup):
    """One column of each table changed in the database and in its model, and what the
    versions say of where it is read. `lookup` is where it is read after."""
    state = ProjectState.from_apps(apps)
    connection.check_constraints()  # PostgreSQL alters no table with checks to come
    for model, column in ONE_OF_EACH.items():
        operation(model.__name__.lower(), column).state_forwards(
            "service_records", state
        )
        sql(f"ALTER TABLE {model._meta.db_table} {ddl(column)}")
    after = state.apps
    for number, version in list(VERSIONS.items()):
        changed = {
            name: _moved(part, after, lookup)
            for name, part in version.items()
            if part.model in ONE_OF_EACH
        }
        monkeypatch.setitem(VERSIONS, number, {**version, **changed})


def _moved(part, after, lookup):
    column = ONE_OF_EACH[part.model]
    model = after.get_model("service_records", part.model.__name__)
    names = {
        name: lookup(column) if read == column else read
        for name, read in part.names.items()
    }
    return replace(part, model=model, names=names)


def test_renamed_columns_break_no_link(chained, monkeypatch):
    rig, (record, *_others) = chained
    alter(
        monkeypatch,
        lambda model, column: RenameField(model, column, f"new_{column}"),
        lambda column: f"RENAME COLUMN {column} TO new_{column}",
        lambda column: f"new_{column}",
    )

    assert said(rig) == []

    sql("UPDATE service_records_recordline SET new_note = 'z'")
    assert any(
        f"Record {record.pk}," in text and "was “n”" in text for text in said(rig)
    )


def test_dropped_columns_break_no_link(chained, monkeypatch):
    rig, (record, *_others) = chained
    alter(
        monkeypatch,
        RemoveField,
        lambda column: f"DROP COLUMN {column}",
        lambda column: None,
    )

    assert said(rig) == []

    sql("UPDATE service_records_recordline SET title = 'z'")
    assert any(f"Record {record.pk}," in text for text in said(rig))


def test_added_columns_break_no_link(chained, monkeypatch):
    rig, _records = chained
    add_smell(monkeypatch)

    assert said(rig) == []


def add_smell(monkeypatch):
    smell = models.CharField(max_length=20, default="")
    alter(
        monkeypatch,
        lambda model, _column: AddField(model, "smell", smell),
        lambda _column: "ADD COLUMN smell varchar(20) DEFAULT '' NOT NULL",
        lambda column: column,
    )


def test_added_column_is_in_the_links_of_a_new_version(chained, keeper, monkeypatch):
    rig, (record, *others) = chained
    add_smell(monkeypatch)
    later = plus(VERSIONS[newest()], "lines", same("smell"), smell="")
    monkeypatch.setitem(VERSIONS, newest() + 1, later)

    assert said(rig) == []

    with changing(record, by=keeper, why="It smelled"):
        record.lines.update(note="as booked")
        sql("UPDATE service_records_recordline SET smell = 'of gas'")

    told = amendments(record.links.all())
    assert [each.why for each in told] == ["It smelled"]
    assert len(told[0].changes) == 2
    assert "smell: was nothing, is “of gas”" in told[0].changes[1]
    # Into the others it was written behind the program's back.
    found = verify(rig).found
    assert {each.record for each in found} == {other.pk for other in others}
    assert all("smell" in each.text for each in found)


def test_column_that_came_and_went_again_breaks_no_link(chained, monkeypatch):
    rig, _records = chained
    gone = plus(VERSIONS[newest()], "lines", {"smell": None}, smell="")

    monkeypatch.setitem(VERSIONS, newest() + 1, gone)

    assert said(rig) == []


# --- versions side by side ------------------------------------------------------------


def test_links_of_version_1_are_never_rewritten(keeper):
    rig, (record, *_others) = make_chain(keeper)
    as_version_1(rig)
    before = list(rig.chain.values_list("text", "digest"))

    with changing(record, by=keeper, why="misread"):
        record.lines.update(note="better")
    log(rig, keeper, "Another")
    link_all()

    assert list(rig.chain.values_list("text", "digest"))[: len(before)] == before
    assert [link.version for link in rig.chain.all()] == [1, 1, 1, 3, 3]
    assert said(rig) == []


def test_amendment_across_versions_tells_what_was_amended_alone(keeper):
    rig, (record, *_others) = make_chain(keeper)
    as_version_1(rig)

    with changing(record, by=keeper, why="misread"):
        record.lines.update(note="better")
        record.parts_used.all().delete()

    [told] = amendments(record.links.all())
    assert told.changes == (
        "job “Tires turned”, note: was “n”, is “better”",
        "part “Valve” was removed",
    )


def test_moments_cut_by_an_old_portable_backup_are_forgiven_in_version_1(chained):
    rig, (record, *_others) = chained
    whole = datetime(2026, 5, 1, 12, 0, 0, 123456, UTC)
    field = ServiceRecord._meta.get_field("entered_at")
    overwrite(record, field, whole)
    if rig.chain.first().version == 1:
        as_version_1(rig)
        overwrite(record, field, whole.replace(microsecond=123000))
        assert said(rig) == []
    overwrite(record, field, whole.replace(microsecond=124000))

    assert any("entered at" in text for text in said(rig))


@pytest.mark.parametrize("version", [1, 2])
def test_record_linked_late_is_forgiven_while_changes_were_linked_first(
    keeper, clock, version
):
    """Of version 1 that happened: a change did not link what waited."""
    clock("2026-05-04 09:00")
    rig = builders.make_rig(keeper.household)
    waited = log(rig, keeper, "Waited")
    clock("2026-05-04 09:20")
    later = log(rig, keeper, "Amended at once")
    with changing(later, by=keeper, why="misread"):
        later.lines.update(note="better")
    if version == 1:
        first, second, third = [link.says for link in rig.chain.all()]
        hurried = [(later.pk, second | {"at": third["at"]}), (later.pk, third)]
        after = first | {"at": "2026-05-04T09:40:00.000000+00:00"}
        write_version_1(rig, [*hurried, (waited.pk, after)])
    else:
        rig.chain.filter(record=waited).delete()

    late = [text for text in said(rig) if "was added later" in text]
    assert len(late) == (0 if version == 1 else 1)


# --- another database -----------------------------------------------------------------


def renumber(model, by=100_000):
    """Other numbers for all rows of a table, and in all that refers to them."""
    sql(f"UPDATE {model._meta.db_table} SET id = id + {by}")  # noqa: S608
    for relation in model._meta.get_fields(include_hidden=True):
        if relation.auto_created and (relation.one_to_many or relation.one_to_one):
            table = relation.related_model._meta.db_table
            column = connection.ops.quote_name(relation.field.column)
            sql(f"UPDATE {table} SET {column} = {column} + {by}")  # noqa: S608


def test_links_hold_where_every_row_has_another_number(keeper):
    rig, (record, *_others) = make_chain(keeper)
    item = builders.make_item(rig)
    with changing(record, by=keeper, why="It was on the plan"):
        record.lines.update(item=item)

    for model in (Rig, Member, PlanItem, *(part.model for part in PARTS.values())):
        renumber(model)

    moved = Rig.objects.get(row_key=rig.row_key)
    assert moved.pk != rig.pk
    assert verify(moved).found == ()
    assert verify(moved).records == 3
    RecordLine.objects.filter(title="Work 2").update(note="forged")
    assert len(verify(moved).found) == 1


@pytest.mark.parametrize("text", ["", "[]", '{"version": 99, "record": {}}'])
def test_story_passes_by_links_that_say_nothing(keeper, text):
    """What is wrong with them is told where the chain is verified."""
    rig, (record, *_others) = make_chain(keeper)
    for n in ("one", "two"):
        with changing(record, by=keeper, why=n):
            record.lines.update(note=n)
    link = rig.chain.get(position=4)
    overwrite(link, ChainLink._meta.get_field("text"), text)

    [told] = amendments(rig.chain.filter(record=record))

    assert told.why == "two"
