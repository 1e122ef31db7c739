"""The hash chain of one subject. Pure: no clock, no row, no setting.

An event is one JSON object in the canonical form of RFC 8785. Its hash is SHA-256 over the previous
event's hash followed by those exact bytes; the first event of a chain follows 32 zero bytes.
The bytes also name the previous hash, so one event shown alone still says where it belongs.
Bytes are stored as made; nothing is ever serialised again to verify.
"""

from __future__ import annotations

import hashlib
import json
from typing import Any, NamedTuple

import rfc8785

GENESIS = bytes(32)


class NotCanonical(ValueError):
    """The value or the text cannot be part of the record; the message says why."""


def canonical(value: Any) -> bytes:
    """The RFC 8785 bytes of a value that holds no float, anywhere: a measured value is text with its unit."""
    if _is_plain(value):
        return _PLAIN(value).encode()
    try:
        return rfc8785.dumps(value)
    except rfc8785.CanonicalizationError as error:
        raise NotCanonical(str(error)) from error


#: For ASCII names and whole text the standard library's encoder writes the very bytes of RFC 8785, ten times as fast.
_PLAIN = json.JSONEncoder(sort_keys=True, separators=(",", ":"), ensure_ascii=False, allow_nan=False).encode
_LARGEST = 2**53


def _is_plain(value: Any) -> bool:
    """Whether the fast way gives the same bytes. Refuses a float anywhere."""
    kind = type(value)
    if kind is str:
        return value.isascii() or _is_whole(value)
    if kind is dict:
        # Every value is looked at, so that a float behind a name in Greek is refused as well.
        plain = [_is_plain(inner) for inner in value.values()]
        return all(plain) and all(type(name) is str and name.isascii() for name in value)
    if kind is list or kind is tuple:
        plain = [_is_plain(inner) for inner in value]
        return all(plain)
    if isinstance(value, float):
        raise NotCanonical("a float is not exact: write it as text with its unit")
    if isinstance(value, dict | list | tuple):
        for inner in value.values() if isinstance(value, dict) else value:
            _is_plain(inner)
        return False
    return value is None or kind is bool or (kind is int and -_LARGEST < value < _LARGEST)


def _is_whole(value: str) -> bool:
    """Whether every character can be written: half of a pair cannot, and is refused by the slow way."""
    try:
        value.encode()
    except UnicodeEncodeError:
        return False
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


class End(NamedTuple):
    """Where a chain stands: the place of its last event and that event's hash."""

    sequence: int = 0
    hash: bytes = GENESIS

    def broken_by(self, sequence: int, content: bytes, previous: bytes, digest: bytes) -> str:
        """Why an event does not hold as the next one of the chain; empty when it does."""
        due = self.sequence + 1
        if sequence != due:
            return f"event {due} is missing: the next one found is {sequence}"
        if previous != self.hash:
            return f"event {due} does not follow the one before it"
        if link(previous, content) != digest:
            return f"event {due} was changed: its bytes do not give its hash"
        return ""
