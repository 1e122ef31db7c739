"""The pure chain: canonical bytes, links, and the first place that does not hold.

Canonical JSON samples: RFC 8785 (its sorting example, section 3.2.3) and the number samples of its author's
repository.
"""

from __future__ import annotations

import json
import random
import struct
from dataclasses import dataclass

import pytest
import rfc8785
from hypothesis import given, settings
from hypothesis import strategies as st

from shop.record.chain import GENESIS, End, NotCanonical, canonical, link, parse

# RFC 8785 section 3.2.3: names sort by UTF-16 code units.
SORTED = ["\r", "1", "\u0080", "\u00f6", "\u20ac", "\U0001f600", "\ufb33"]


def test_names_sort_as_the_standard_says() -> None:
    made = canonical(dict.fromkeys(reversed(SORTED), ""))
    assert list(json.loads(made)) == SORTED


@pytest.mark.parametrize(
    ("bits", "text"),
    [
        ("4340000000000002", b"9007199254740996"),
        ("444b1ae4d6e2ef50", b"1e+21"),
        ("3eb0c6f7a0b5ed8c", b"9.999999999999997e-7"),
        ("8000000000000000", b"0"),
        ("44b52d02c7e14af7", b"1.0000000000000001e+23"),
    ],
)
def test_the_library_writes_numbers_as_the_standard_says(bits: str, text: bytes) -> None:
    assert rfc8785.dumps(struct.unpack(">d", bytes.fromhex(bits))[0]) == text


@pytest.mark.parametrize("value", [1.0, {"a": [1, {"b": 2.5}]}, float("nan"), 2**53, "\ud800", {"a": object()}])
def test_what_is_not_exact_is_refused(value: object) -> None:
    with pytest.raises((NotCanonical, ValueError)):
        canonical(value)


def test_exact_values_pass() -> None:
    assert canonical({"b": "120.50", "a": [1, True, None]}) == b'{"a":[1,true,null],"b":"120.50"}'


def test_a_name_written_twice_is_refused() -> None:
    assert parse(b'{"a":1,"b":{"a":2}}') == {"a": 1, "b": {"a": 2}}
    for text in (b'{"a":1,"a":2}', b'{"b":{"a":1,"a":1}}', b"[]"):
        with pytest.raises(NotCanonical):
            parse(text)


@dataclass(frozen=True)
class Link:
    sequence: int
    content: bytes
    previous: bytes
    hash: bytes


def first_break(links: list[Link]) -> int | None:
    """The place of the first event that does not hold."""
    end = End()
    for item in links:
        if end.broken_by(item.sequence, item.content, item.previous, item.hash):
            return end.sequence + 1
        end = End(item.sequence, item.hash)
    return None


def chain_of(length: int) -> list[Link]:
    made, previous = [], GENESIS
    for sequence in range(1, length + 1):
        content = canonical({"sequence": sequence, "previous": previous.hex(), "kind": "reading.entered"})
        digest = link(previous, content)
        made.append(Link(sequence, content, previous, digest))
        previous = digest
    return made


def test_a_whole_chain_holds() -> None:
    assert first_break([]) is None
    assert first_break(chain_of(50)) is None


def test_an_event_taken_out_added_or_moved_is_placed() -> None:
    good = chain_of(10)
    assert first_break(good[1:]) == 1
    assert first_break(good[:4] + good[5:]) == 5
    assert first_break([*good[:4], good[5], good[4], *good[6:]]) == 5
    assert first_break([*good, good[-1]]) == 11


def test_a_thousand_tamperings_are_all_found_and_placed() -> None:
    good = chain_of(40)
    chance = random.Random(20251)
    for _ in range(1000):
        place = chance.randrange(len(good))
        item = good[place]
        column = chance.choice(["content", "previous", "hash"])
        value = bytearray(getattr(item, column))
        value[chance.randrange(len(value))] ^= 1 << chance.randrange(8)
        changed = Link(**{**item.__dict__, column: bytes(value)})
        found = first_break([*good[:place], changed, *good[place + 1 :]])
        assert found == place + 1


TEXTS = st.text(st.characters(exclude_categories=["Cs"]), max_size=8)
EXACT = st.recursive(
    st.none() | st.booleans() | st.integers(1 - 2**53, 2**53 - 1) | TEXTS,
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(TEXTS, inner, max_size=4),
    max_leaves=20,
)


@settings(deadline=None)
@given(EXACT)
def test_the_quick_way_writes_the_bytes_of_the_library(value: object) -> None:
    assert canonical(value) == rfc8785.dumps(value)


@pytest.mark.parametrize("value", ['\x00\x1f\x7f"\\/\b\f\n\r\t', {"\n": [], '"': {}}, [[], {}, -(2**53) + 1, False]])
def test_the_quick_way_escapes_as_the_library_does(value: object) -> None:
    assert canonical(value) == rfc8785.dumps(value)


@pytest.mark.parametrize("value", [{"ö": 1.5}, {"a": {"ö": [2, 0.5]}}, ["ö", 1.5], {"\U0001f600": {"a": 1.5}}])
def test_a_float_is_refused_beside_what_the_quick_way_does_not_take(value: object) -> None:
    with pytest.raises(NotCanonical, match="float"):
        canonical(value)
