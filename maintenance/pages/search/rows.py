"""The rows of a household that hold what was asked, best first of each kind.

A row needs every word, or one near it; where none has all of three words or more, all
but one are enough. Those that have them in their names come first, then the newest.
"""

from collections.abc import Sequence

from django.db import connection

from maintenance.core.search.asked import Asked, Group
from maintenance.core.search.shelf import Line, Thing
from maintenance.core.search.terms import Words
from maintenance.households.models import Household

from ..models import SearchText
from .texts import slots_of

MOST = 24  # of a kind
ELSEWHERE = 0.4  # what a line counts that is no name
ENOUGH_TO_LACK_ONE = 3
BEST_OF_EACH = """
    WITH named AS ({named})
    SELECT id FROM (
        SELECT t.id, t.kind, ROW_NUMBER() OVER (
            PARTITION BY t.kind
            ORDER BY CASE WHEN t.id IN (SELECT id FROM named) THEN 0 ELSE 1 END,
                t."on" DESC, t.id DESC
        ) AS place
        {found} AND t.household_id = %s
    ) AS placed WHERE place <= %s ORDER BY kind, place
"""
# Counted: for one row alone, PostgreSQL would rather look at each than at the index.
HOW_MANY = "SELECT COUNT(*) {found} AND t.household_id = %s"
# CROSS JOIN: the words first; by the household first, each of its rows is looked at.
SQLITE = {
    "named": """SELECT rowid AS id FROM pages_searchwords
        WHERE pages_searchwords MATCH '{names} : (' || %s || ')'""",
    "found": """FROM pages_searchwords CROSS JOIN pages_searchtext AS t
            ON t.id = pages_searchwords.rowid
        WHERE pages_searchwords MATCH %s""",
}
POSTGRES = {
    "named": """SELECT id FROM pages_searchtext
        WHERE to_tsvector('simple', names) @@ to_tsquery('simple', %s)""",
    "found": """FROM pages_searchtext AS t
        WHERE to_tsvector('simple', t.names || ' ' || t.words)
        @@ to_tsquery('simple', %s)""",
}


def rows_with(household: Household, asked: Asked, words: Words) -> list[Thing]:
    """As things that can be ranked, each kind in the order of the rows."""
    groups = [one for one in asked.groups if next(iter(one.terms)) not in words.weak]
    groups = groups or list(asked.groups)
    if not groups:
        return []
    found = _select(household, [groups])
    if not found and len(groups) >= ENOUGH_TO_LACK_ONE:
        found = _select(household, [_without(groups, at) for at in range(len(groups))])
    rows = SearchText.objects.in_bulk(found)
    return [_as_thing(rows[pk]) for pk in found]


def _without(groups: Sequence[Group], at: int) -> list[Group]:
    return [*groups[:at], *groups[at + 1 :]]


def _select(household: Household, any_of: Sequence[Sequence[Group]]) -> list[int]:
    query = _written(any_of)
    with connection.cursor() as cursor:
        sql = BEST_OF_EACH.format(**_here())
        cursor.execute(sql, [query, query, household.pk, MOST])
        return [pk for (pk,) in cursor.fetchall()]


def is_known(household: Household, term: str, begun: str) -> bool:
    """Whether a row has the term, or one that begins with these letters."""
    query = _written([[Group(term, {term: 1}, begun)]])
    with connection.cursor() as cursor:
        cursor.execute(HOW_MANY.format(**_here()), [query, household.pk])
        return cursor.fetchone() != (0,)


def _here() -> dict[str, str]:
    return SQLITE if connection.vendor == "sqlite" else POSTGRES


def _written(any_of: Sequence[Sequence[Group]]) -> str:
    if connection.vendor == "sqlite":
        return " OR ".join(f"({as_fts5(groups)})" for groups in any_of)
    return " | ".join(f"({as_tsquery(groups)})" for groups in any_of)


def as_fts5(groups: Sequence[Group]) -> str:
    """`("lug" OR "nut") AND ("tor" *)`; terms are letters and digits alone."""
    parts = []
    for group in groups:
        names = [f'"{term}"' for term in group.terms]
        names += [f'"{group.begun}" *'] if group.begun else []
        parts.append(f"({' OR '.join(names)})")
    return " AND ".join(parts)


def as_tsquery(groups: Sequence[Group]) -> str:
    """`(lug | nut) & (tor:*)`"""
    parts = []
    for group in groups:
        names = [*group.terms, *([f"{group.begun}:*"] if group.begun else [])]
        parts.append(f"({' | '.join(names)})")
    return " & ".join(parts)


def _as_thing(row: SearchText) -> Thing:
    lines = [Line(1, line, slots_of(line)) for line in row.names.splitlines()]
    lines += [Line(ELSEWHERE, line, slots_of(line)) for line in row.words.splitlines()]
    return Thing(row.kind, row.key, row.title, tuple(lines), row.about)
