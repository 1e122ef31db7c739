"""What is printed on labels and plates, and how a scan is read.

A scan is recognised by what it says, wherever the focus is: our labels carry a prefix with which no figure
and no mark begins. A bare figure is a reading, never a scan.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from enum import StrEnum
from itertools import product
from unicodedata import normalize

from stdnum.iso7064 import mod_37_36

from shop.errors import Refusal

PREFIX = "~"
LONGEST_MARK = 40
#: With more places than this that may hold O for 0 or I for 1, nothing is guessed (2 to this power marks).
MOST_DOUBTS = 10


class ScanKind(StrEnum):
    """What a label names. The value is the kind of item where there is one of that name."""

    AXLE = "axle"
    UNIT = "unit"
    PART = "part"
    LOT = "lot"
    DRUM = "drum"
    HEAT = "heat"
    PIECE = "piece"
    GAUGE = "gauge"
    BADGE = "badge"
    WELD_PROCEDURE = "weld procedure"
    RED_TAG = "red tag"


LETTERS = {
    "A": ScanKind.AXLE,
    "U": ScanKind.UNIT,
    "P": ScanKind.PART,
    "L": ScanKind.LOT,
    "D": ScanKind.DRUM,
    "H": ScanKind.HEAT,
    "C": ScanKind.PIECE,
    "G": ScanKind.GAUGE,
    "B": ScanKind.BADGE,
    "W": ScanKind.WELD_PROCEDURE,
    "T": ScanKind.RED_TAG,
}
LETTER_OF = {kind: letter for letter, kind in LETTERS.items()}


@dataclass(frozen=True)
class Scan:
    """What was scanned: the kind where the code says it, the mark, the maker's part number where given."""

    kind: ScanKind | None
    mark: str
    part_number: str = ""
    typed: bool = False

    def __str__(self) -> str:
        return f"{self.kind} {self.mark}" if self.kind else self.mark


# Marks

_DASHES = dict.fromkeys(map(ord, "‐‑‒–—−"), "-")
_MARK = re.compile(r"[^\W_](?:[\w .,/+#&()*:=-]*[\w.,/+#&()*:=-])?")
_SPACES = re.compile(r"[ \t\r\n\u00a0]+")


def normalise_mark(text: str) -> str:
    """Upper case, NFC, single spaces, plain hyphens; empty stays empty. Refuses what no mark can be."""
    mark = _SPACES.sub(" ", normalize("NFC", text).translate(_DASHES).upper()).strip(" ")
    if not mark:
        return ""
    if len(mark) > LONGEST_MARK:
        raise Refusal(f"A mark has at most {LONGEST_MARK} characters; this one has {len(mark)}.")
    if not _MARK.fullmatch(mark):
        raise Refusal("A mark begins with a letter or digit and holds no signs but - . , / + # & ( ) * : = and spaces.")
    return mark


def look_alikes(mark: str) -> list[str]:
    """Every mark that reads the same when O stands for 0 and I for 1, the given one left out."""
    choices = ["O0" if letter in "O0" else "I1" if letter in "I1" else letter for letter in mark]
    if sum(len(choice) == 2 for choice in choices) > MOST_DOUBTS:
        return []
    return [found for letters in product(*choices) if (found := "".join(letters)) != mark]


# Axle serials

_SERIAL = re.compile(r"([A-Z]{2,5})-([0-9]{2})-([0-9]{4,5})(?:-([A-Z0-9]))?")


def check_character(text: str) -> str:
    """ISO 7064 MOD 37,36 over the letters and digits of the text; hyphens do not count."""
    return str(mod_37_36.calc_check_digit(text.replace("-", "")))


def build_serial(prefix: str, year: int, number: int) -> str:
    """TBK-25-0143-D: the booking year's last two digits, the running number, the check character."""
    body = f"{prefix}-{year % 100:02d}-{number:04d}"
    if not _SERIAL.fullmatch(body):
        raise ValueError(f"{body!r} is not the body of a serial")
    return f"{body}-{check_character(body)}"


def is_serial(mark: str) -> bool:
    """Whether the mark has the form of an axle serial, with or without its check character."""
    return _SERIAL.fullmatch(mark) is not None


def running_number(serial: str) -> str:
    """0143 of TBK-25-0143-D. Raises ValueError where the mark is no serial."""
    found = _SERIAL.fullmatch(serial)
    if found is None:
        raise ValueError(f"{serial!r} is not a serial")
    return found[3]


def verify_serial(text: str) -> str:
    """The serial in its stored form. Raises Refusal when its form or its check character is wrong."""
    mark = normalise_mark(text)
    found = _SERIAL.fullmatch(mark)
    if found is None:
        raise Refusal(f"“{mark}” is not an axle serial. It looks like TBK-25-0143-D; read it from the plate.")
    if found[4] is None:
        raise Refusal(f"{mark} lacks its check character, the last letter or digit on the plate. Type it as well.")
    if check_character(mark[:-2]) != found[4]:
        raise Refusal(f"{mark} is not right: its check character does not fit. Read it again from the plate.")
    return mark


# Scans

_LABEL = re.compile(r"~([A-Za-z]):(.*)", re.DOTALL)
_FIGURE = re.compile(r"[+\-−]?(?:\d[\d.,]*|[.,]\d[\d.,]*)(?:\s*[+\-−]?\d+/\d+)?|[+\-−]?\d+/\d+")
_GS, _RS, _EOT = "\x1d", "\x1e", "\x04"
_SHOWN = str.maketrans({"␝": _GS, "␞": _RS, "␄": _EOT})


def label_text(kind: ScanKind, mark: str) -> str:
    """What a label's Data Matrix holds: printable, so that a wedge scanner types it safely."""
    return f"{PREFIX}{LETTER_OF[kind]}:{mark}"


def is_figure(text: str) -> bool:
    """Whether the text is a bare number, as a reading is typed."""
    return _FIGURE.fullmatch(text.strip()) is not None


def parse_scan(text: str) -> Scan | None:
    """Read one scan: our label, an ISO/IEC 15434 format 06 envelope, a GS1 element string, or a typed mark.

    None for nothing and for a bare figure, which is a reading. Raises Refusal for a code that cannot be read.
    """
    text = text.translate(_SHOWN).strip(" \t\r\n")
    if not text or is_figure(text):
        return None
    if text.startswith(PREFIX):
        return _read_label(text)
    if text.startswith("[)>"):
        return _read_envelope(text)
    if text[:3] in _GS1_SYMBOLS or re.match(r"\((?:01|02|10|21)\)", text):
        return _read_gs1(text)
    mark = normalise_mark(text)
    return Scan(ScanKind.AXLE if is_serial(mark) else None, mark, typed=True)


def _read_label(text: str) -> Scan:
    found = _LABEL.fullmatch(text)
    kind = LETTERS.get(found[1].upper()) if found else None
    mark = normalise_mark(found[2]) if found else ""
    if kind is None or not mark:
        raise Refusal(f"“{text[:40]}” is not a label of this shop. Scan it again, or type the mark printed beside it.")
    return Scan(kind, mark)


def _read_envelope(text: str) -> Scan:
    """ISO/IEC 15434: [)> RS 06 GS field GS field RS EOT; fields begin with ANSI MH10.8.2 data identifiers."""
    body = text[3:].strip(_RS + _EOT)
    parts = [part.strip(_RS + _EOT) for part in body.split(_GS)]
    if parts[0] != "06":
        raise Refusal("Of the ISO/IEC 15434 envelopes only format 06 is read here. Type the mark printed beside it.")
    fields: dict[str, str] = {}
    for part in parts[1:]:
        if (found := re.fullmatch(r"(\d{0,3}[A-Z])(.+)", part)) is not None:
            fields.setdefault(found[1], normalise_mark(found[2]))
    return _named(serial=fields.get("S", ""), lot=fields.get("1T", ""), number=fields.get("1P", ""))


_GS1_SYMBOLS = ("]d2", "]C1", "]e0", "]Q3")
#: GS1 General Specifications, element strings of a predefined length (from memory): by their first two digits, how
#: many characters follow these. They need no separator, so the next element begins right behind them.
_GS1_FIXED = {
    "00": 18, "01": 14, "02": 14, "03": 14, "04": 16, "20": 2, "41": 14,
    **dict.fromkeys(("11", "12", "13", "14", "15", "16", "17", "18", "19"), 6),
    **dict.fromkeys(("31", "32", "33", "34", "35", "36"), 8),
}  # fmt: skip
_GS1_LONGER = re.compile(r"(24[0-3]|25[0-5]|37|4[02]\d|10|21|22|9\d)")


def _read_gs1(text: str) -> Scan:
    fields = dict(re.findall(r"\((\d{2,4})\)([^(]+)", text)) if text.startswith("(") else _elements(text[3:])
    return _named(serial=fields.get("21", ""), lot=fields.get("10", ""), number=fields.get("01", ""))


def _elements(text: str) -> dict[str, str]:
    fields: dict[str, str] = {}
    while text:
        identifier = text[:2]
        if identifier in _GS1_FIXED:
            end = 2 + _GS1_FIXED[identifier]
            fields[identifier], text = text[2:end], text[end:].lstrip(_GS)
            continue
        found = _GS1_LONGER.match(text)
        if found is None:
            break
        value, _, text = text[found.end() :].partition(_GS)
        fields[found[1]] = value
    return fields


def _named(*, serial: str, lot: str, number: str) -> Scan:
    if serial:
        return Scan(None, normalise_mark(serial), part_number=number)
    if lot:
        return Scan(ScanKind.LOT, normalise_mark(lot), part_number=number)
    raise Refusal("The code holds neither a serial nor a lot. Type the mark printed beside it.")
