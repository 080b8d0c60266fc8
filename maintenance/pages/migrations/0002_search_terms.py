# Searched are terms that the program itself makes, the same on every database: the
# texts of before are made again from the rows they came from.

from django.db import migrations, models
from django.db.models.deletion import CASCADE

TRIGGERS = ("added", "removed", "changed")
SQLITE = (
    """CREATE VIRTUAL TABLE pages_searchwords USING fts5(
        names, words, content='pages_searchtext', content_rowid='id',
        tokenize='unicode61')""",
    """CREATE TRIGGER pages_searchtext_added AFTER INSERT ON pages_searchtext BEGIN
        INSERT INTO pages_searchwords(rowid, names, words)
        VALUES (new.id, new.names, new.words); END""",
    """CREATE TRIGGER pages_searchtext_removed AFTER DELETE ON pages_searchtext BEGIN
        INSERT INTO pages_searchwords(pages_searchwords, rowid, names, words)
        VALUES ('delete', old.id, old.names, old.words); END""",
    """CREATE TRIGGER pages_searchtext_changed AFTER UPDATE ON pages_searchtext BEGIN
        INSERT INTO pages_searchwords(pages_searchwords, rowid, names, words)
        VALUES ('delete', old.id, old.names, old.words);
        INSERT INTO pages_searchwords(rowid, names, words)
        VALUES (new.id, new.names, new.words); END""",
)
POSTGRES = (
    """CREATE INDEX pages_searchwords ON pages_searchtext
        USING gin (to_tsvector('simple', names || ' ' || words))""",
    """CREATE INDEX pages_searchnames ON pages_searchtext
        USING gin (to_tsvector('simple', names))""",
)


def remove_words(apps, schema_editor):
    if schema_editor.connection.vendor == "sqlite":
        for name in TRIGGERS:
            schema_editor.execute(f"DROP TRIGGER pages_searchtext_{name}")
        schema_editor.execute("DROP TABLE pages_searchwords")
    else:
        schema_editor.execute("DROP INDEX pages_searchwords")


def forget_texts(apps, schema_editor):
    apps.get_model("pages", "SearchText").objects.all().delete()
    apps.get_model("pages", "SearchMark").objects.all().delete()


def add_words(apps, schema_editor):
    on_sqlite = schema_editor.connection.vendor == "sqlite"
    for statement in SQLITE if on_sqlite else POSTGRES:
        schema_editor.execute(statement)


KINDS = (
    "guide procedure calculator place zone page rig item record file snap finding "
    "manual part spot supply figure"
)


class Migration(migrations.Migration):
    dependencies = [("pages", "0001_search_texts")]

    operations = [
        migrations.RunPython(remove_words, migrations.RunPython.noop),
        migrations.RunPython(forget_texts, migrations.RunPython.noop),
        migrations.AddField("searchtext", "on", models.DateField(null=True)),
        migrations.AddField(
            "searchtext", "names", models.TextField(blank=True, default=""), False
        ),
        migrations.AlterField(
            "searchtext", "about", models.CharField(blank=True, max_length=400)
        ),
        migrations.AlterField(
            "searchtext",
            "household",
            models.ForeignKey(
                on_delete=CASCADE, related_name="+", to="households.household"
            ),
        ),
        migrations.AlterField(
            "searchtext",
            "kind",
            models.CharField(
                choices=[(kind, kind.title()) for kind in KINDS.split()], max_length=10
            ),
        ),
        migrations.RunPython(
            add_words, migrations.RunPython.noop, hints={"makes_tables": True}
        ),
    ]
