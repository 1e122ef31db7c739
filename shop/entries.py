"""What people type into forms, made fit to be stored or refused with a sentence."""

from __future__ import annotations

import re
import unicodedata
from datetime import date

from shop.errors import Refusal

#: Control, format (which can turn a name's letters round), surrogate, private, unassigned.
_UNPRINTABLE = frozenset({"Cc", "Cf", "Cs", "Co", "Cn"})
#: Line ends, and the two joiners that some scripts are written with.
_KEPT = "\n\u200c\u200d"
_EARLIEST, _LATEST = date(1950, 1, 1), date(2199, 12, 31)


def line(text: str, name: str, *, longest: int, field: str = "", may_be_empty: bool = False) -> str:
    """One line of text: NFC, single spaces. Refuses an empty or too long one and what cannot be printed."""
    found = " ".join(unicodedata.normalize("NFC", text).split())
    return _checked(found, name, longest, field or name, may_be_empty)


_CODE = re.compile(r"[A-Z0-9][A-Z0-9._-]*")


def code(text: str, name: str, *, longest: int, field: str = "") -> str:
    """A short code that stands in addresses too: capital letters, digits, point, hyphen, underscore."""
    found = line(text, name, longest=longest, field=field).upper()
    if not _CODE.fullmatch(found):
        raise Refusal(f"The {name} is made of letters A to Z, digits and . - _ only.", field=field or name)
    return found


def paragraph(text: str, name: str, *, longest: int, field: str = "", may_be_empty: bool = True) -> str:
    """Several lines of text, each without spaces at its ends."""
    lines = [" ".join(part.split()) for part in unicodedata.normalize("NFC", text).splitlines()]
    return _checked("\n".join(lines).strip(), name, longest, field or name, may_be_empty)


def _checked(text: str, name: str, longest: int, field: str, may_be_empty: bool) -> str:
    if not text and not may_be_empty:
        raise Refusal(f"The {name} is empty. Enter it.", field=field)
    if len(text) > longest:
        raise Refusal(f"The {name} has {len(text)} characters; at most {longest} fit.", field=field)
    if any(unicodedata.category(letter) in _UNPRINTABLE for letter in text if letter not in _KEPT):
        raise Refusal(f"The {name} holds a character that cannot be printed. Type it again.", field=field)
    return text


def day(value: date, name: str, *, field: str = "") -> date:
    """A day that can be meant: between 1950 and 2199."""
    if not _EARLIEST <= value <= _LATEST:
        raise Refusal(f"The {name} {value.isoformat()} cannot be meant. Check the year.", field=field or name)
    return value


def whole(value: int, name: str, *, least: int, most: int, field: str = "") -> int:
    if not least <= value <= most:
        raise Refusal(f"The {name} is {value}; it goes from {least} to {most}.", field=field or name)
    return value
