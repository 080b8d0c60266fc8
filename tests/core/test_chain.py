from datetime import UTC, date, datetime, timedelta, timezone
from decimal import Decimal
from hashlib import sha256

import pytest
from hypothesis import given
from hypothesis import strategies as st

from maintenance.core.chain import (
    BEFORE_FIRST,
    Break,
    ChainError,
    Difference,
    Link,
    breaks,
    canonical,
    differences,
    digest_of,
    first_break,
)

# FIPS 180-4's examples (NIST, "SHA256.pdf" of the cryptographic standards' example
# values): one block, and two blocks.
FIPS_180_4 = [
    ("abc", "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"),
    (
        "abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq",
        "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1",
    ),
]


@pytest.mark.parametrize(("text", "digest"), FIPS_180_4)
def test_sha256_gives_the_published_examples(text, digest):
    assert sha256(text.encode()).hexdigest() == digest


def test_digest_is_sha256_of_what_the_module_says():
    # printf '%064d\nabc' 0 | sha256sum
    whole = b"0" * 64 + b"\nabc"

    assert digest_of(BEFORE_FIRST, "abc") == sha256(whole).hexdigest()


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (None, "null"),
        (True, "true"),
        (7, "7"),
        ('é\n"', '"é\\n\\""'),
        ("e\u0301", '"\u00e9"'),  # NFC, Unicode Annex 15
        (Decimal("110.00"), '"110"'),
        (Decimal("1E+2"), '"100"'),
        (Decimal("-0.0"), '"0"'),
        (date(2024, 2, 29), '"2024-02-29"'),
        (
            datetime(2026, 5, 1, 6, tzinfo=timezone(timedelta(hours=-6))),
            '"2026-05-01T12:00:00.000000+00:00"',
        ),
        ({"b": [1, (2,)], "a": {}}, '{"a":{},"b":[1,[2]]}'),
    ],
)
def test_canonical_text_of_each_kind_of_value(value, text):
    assert canonical({"v": value}) == f'{{"v":{text}}}'


@pytest.mark.parametrize(
    "value",
    [1.5, datetime(2026, 5, 1), Decimal("NaN"), {1: "a"}, {"x"}, b"x"],  # noqa: DTZ001
)
def test_value_without_a_canonical_form_is_refused(value):
    with pytest.raises(ChainError):
        canonical({"v": value})


def chain(count, start=BEFORE_FIRST):
    links, before = [], start
    for n in range(1, count + 1):
        text = canonical({"link": n, "record": f"work {n}"})
        before = digest_of(before, text)
        links.append(Link(n, text, before))
    return links


def changed(links, n, **values):
    link = links[n - 1]
    new = {"position": link.position, "text": link.text, "digest": link.digest}
    return [*links[: n - 1], Link(**new | values), *links[n:]]


def test_untouched_chain_has_no_break():
    assert first_break(chain(5)) is None
    assert first_break([]) is None


def test_changed_text_is_named_alone():
    text = canonical({"link": 3, "record": "another"})

    assert list(breaks(changed(chain(5), 3, text=text))) == [Break(3, "digest")]


def test_changed_text_with_its_digest_made_anew_breaks_at_the_next():
    links, text = chain(5), canonical({"link": 3, "record": "another"})
    digest = digest_of(links[1].digest, text)

    found = list(breaks(changed(links, 3, text=text, digest=digest)))

    assert found == [Break(4, "digest")]


def test_missing_links_are_named():
    links = chain(6)

    assert list(breaks(links[:1] + links[3:])) == [
        Break(2, "missing"),
        Break(3, "missing"),
    ]


def test_swapped_links_are_named_with_what_they_say():
    links = chain(4)
    second, third = links[1], links[2]
    swapped = [
        links[0],
        Link(2, third.text, third.digest),
        Link(3, second.text, second.digest),
        links[3],
    ]

    found = list(breaks(swapped))

    assert found[:2] == [Break(2, "moved", 3), Break(3, "moved", 2)]


@pytest.mark.parametrize("text", ["", "[]", "{", '{"link":"3"}', "null"])
def test_text_that_is_no_link_is_named(text):
    assert first_break(changed(chain(3), 3, text=text)) == Break(3, "text")


def test_cut_off_end_leaves_a_chain_that_holds():
    """Only a printed head tells: that is what it is for."""
    assert first_break(chain(5)[:3]) is None


def test_differences_name_the_row_by_its_id_and_the_field():
    was = {"note": "a", "lines": [{"id": 4, "title": "Oil"}, {"id": 5, "title": "B"}]}
    now = {"note": "a", "lines": [{"id": 4, "title": "oil"}, {"id": 6, "title": "C"}]}

    assert list(differences(was, now)) == [
        Difference(("lines", 4, "title"), "Oil", "oil"),
        Difference(("lines", 5), {"id": 5, "title": "B"}, None),
        Difference(("lines", 6), None, {"id": 6, "title": "C"}),
    ]


def test_true_is_not_one():
    assert list(differences({"v": True}, {"v": 1})) == [Difference(("v",), True, 1)]


VALUES = st.recursive(
    st.none() | st.booleans() | st.integers() | st.text(max_size=5),
    lambda inner: (
        st.lists(inner, max_size=3)
        | st.dictionaries(st.text(max_size=3), inner, max_size=3)
    ),
    max_leaves=8,
)


@given(st.dictionaries(st.text(max_size=3), VALUES, max_size=4))
def test_content_does_not_differ_from_itself(content):
    assert list(differences(content, content)) == []


@given(st.integers(1, 12), st.data())
def test_any_changed_digest_is_found(count, data):
    n = data.draw(st.integers(1, count))
    links = changed(chain(count), n, digest="f" * 64)

    assert first_break(links) == Break(n, "digest")


def test_moment_is_told_in_utc():
    moment = datetime(2026, 5, 1, 12, tzinfo=UTC)

    assert "2026-05-01T12:00:00.000000+00:00" in canonical({"at": moment})
