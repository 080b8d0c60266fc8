"""The one query: what a household can find under some words, best first."""

from django.db import connection

from maintenance.households.models import Household

from ..models import SearchKind, SearchText
from .words import groups_of

MOST = 12  # of a kind
BEST_OF_EACH = """
    SELECT id FROM (
        SELECT id, kind, score,
            ROW_NUMBER() OVER (PARTITION BY kind ORDER BY score, id DESC) AS place
        FROM ({found}) AS found
    ) AS placed WHERE place <= %s ORDER BY kind, place
"""
# The title counts ten times the text; the lower the score, the better it fits.
SQLITE = BEST_OF_EACH.format(
    found="""
        SELECT t.id, t.kind, bm25(pages_searchwords, 10.0, 1.0) AS score
        FROM pages_searchwords JOIN pages_searchtext AS t
            ON t.id = pages_searchwords.rowid
        WHERE pages_searchwords MATCH %s
            AND (t.household_id IS NULL OR t.household_id = %s)
    """
)
POSTGRES = BEST_OF_EACH.format(
    found="""
        SELECT t.id, t.kind, -ts_rank(
            setweight(to_tsvector('english', t.title), 'A')
            || to_tsvector('english', t.words), asked) AS score
        FROM pages_searchtext AS t, to_tsquery('english', %s) AS asked
        WHERE to_tsvector('english', t.title || ' ' || t.words) @@ asked
            AND (t.household_id IS NULL OR t.household_id = %s)
    """
)


def find_texts(household: Household, typed: str) -> dict[str, list[SearchText]]:
    """By kind, at most a dozen of each; nothing for what holds no word.

    Every word must be there, or one that means the same; the last one may be begun.
    """
    groups = groups_of(typed)
    if not groups:
        return {}
    on_sqlite = connection.vendor == "sqlite"
    asked = as_fts5(groups) if on_sqlite else as_tsquery(groups)
    with connection.cursor() as cursor:
        sql = SQLITE if on_sqlite else POSTGRES
        cursor.execute(sql, [asked, household.pk, MOST])
        ids = [pk for (pk,) in cursor.fetchall()]
    rows = SearchText.objects.in_bulk(ids)
    found: dict[str, list[SearchText]] = {kind: [] for kind in SearchKind.values}
    for pk in ids:
        found[rows[pk].kind].append(rows[pk])
    return {kind: texts for kind, texts in found.items() if texts}


def as_fts5(groups: list[list[str]]) -> str:
    """`("lug" OR "nut") AND "tor" *`"""
    last = len(groups) - 1
    parts = []
    for n, group in enumerate(groups):
        names = [f'"{name}"' for name in group]
        if n == last:
            names[0] += " *"
        parts.append(f"({' OR '.join(names)})")
    return " AND ".join(parts)


def as_tsquery(groups: list[list[str]]) -> str:
    """`(lug | nut) & (tor:*)`"""
    last = len(groups) - 1
    parts = []
    for n, group in enumerate(groups):
        names = [name.replace(" ", " <-> ") for name in group]
        if n == last:
            names[0] += ":*"
        parts.append(f"({' | '.join(names)})")
    return " & ".join(parts)
