"""The hash chain of one subject. Pure: no clock, no row, no setting.

An event is one JSON object in the canonical form of RFC 8785. Its hash is SHA-256 over the previous
event's hash followed by those exact bytes; the first event of a chain follows 32 zero bytes.
The bytes also name the previous hash, so one event shown alone still says where it belongs.
Bytes are stored as made; nothing is ever serialised again to verify.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

import rfc8785

GENESIS = bytes(32)


class NotCanonical(ValueError):
    """The value or the text cannot be part of the record; the message says why."""


def canonical(value: Any) -> bytes:
    """The RFC 8785 bytes of a value that holds no float, anywhere: a measured value is text with its unit."""
    try:
        return rfc8785.dumps(value) if _exact(value) else b""
    except rfc8785.CanonicalizationError as error:
        raise NotCanonical(str(error)) from error


def _exact(value: Any) -> bool:
    if isinstance(value, float):
        raise NotCanonical("a float is not exact: write it as text with its unit")
    if isinstance(value, dict):
        for inner in value.values():
            _exact(inner)
    elif isinstance(value, list | tuple):
        for inner in value:
            _exact(inner)
    return True


def link(previous: bytes, content: bytes) -> bytes:
    """The hash of an event that follows ``previous``."""
    return hashlib.sha256(previous + content).digest()


def parse(content: bytes) -> dict[str, Any]:
    """Read an event's bytes; an object that names a key twice is refused, since readers differ on which one
    counts."""
    found = json.loads(content, object_pairs_hook=_once)
    if not isinstance(found, dict):
        raise NotCanonical("an event is one JSON object")
    return found


def _once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    made = dict(pairs)
    if len(made) != len(pairs):
        raise NotCanonical("a key stands twice in one object")
    return made


@dataclass(frozen=True)
class Link:
    """What is stored of one event, as far as the chain is concerned."""

    sequence: int
    content: bytes
    previous: bytes
    hash: bytes


@dataclass(frozen=True)
class Break:
    """The first place where a chain does not hold."""

    sequence: int
    reason: str


def first_break(links: Iterable[Link]) -> Break | None:
    """Walk one chain in order and name the first event that does not hold, or None."""
    previous, expected = GENESIS, 1
    for item in links:
        if item.sequence != expected:
            return Break(expected, f"event {expected} is missing: the next one found is {item.sequence}")
        if item.previous != previous:
            return Break(expected, f"event {expected} does not follow the one before it")
        if link(previous, item.content) != item.hash:
            return Break(expected, f"event {expected} was changed: its bytes do not give its hash")
        previous, expected = item.hash, expected + 1
    return None
