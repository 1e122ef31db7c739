"""Marks, serials and scans."""

from __future__ import annotations

import pytest
from stdnum.iso7064 import mod_37_36

from shop import codes
from shop.codes import Scan, ScanKind, build_serial, look_alikes, normalise_mark, parse_scan, verify_serial
from shop.errors import Refusal


@pytest.mark.parametrize(("number", "serial"), [(131, "TBK-25-0131-L"), (134, "TBK-25-0134-F"), (143, "TBK-25-0143-D")])
def test_serial_gets_its_check_character(number: int, serial: str) -> None:
    """ISO 7064 MOD 37,36 over TBK25nnnn, worked out by hand for these three."""
    assert build_serial("TBK", 2025, number) == serial
    assert verify_serial(serial) == serial


def test_check_character_of_a_known_sample() -> None:
    """From memory: A12425GABC1234002 has the check character M (a printed sample of ISO 7064 MOD 37,36)."""
    assert codes.check_character("A12425GABC1234002") == "M"
    assert mod_37_36.is_valid("A12425GABC1234002M")


def slow_check_character(text: str) -> str:
    """ISO 7064 hybrid system MOD 37,36 from its recurrence (from memory), without the library."""
    letters = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ"
    product = 36
    for letter in text:
        total = (product + letters.index(letter)) % 36 or 36
        product = total * 2 % 37
    return letters[(1 - product) % 36]


@pytest.mark.parametrize("text", ["TBK250001", "TBK259999", "ABC991234", "TBK250143", "A12425GABC1234002"])
def test_check_character_agrees_with_the_recurrence(text: str) -> None:
    assert codes.check_character(text) == slow_check_character(text)


def test_every_single_slip_of_a_serial_is_found() -> None:
    """Any one character changed gives another check character (ISO 7064 promises that)."""
    right = "TBK-25-0143-D"
    for place, old in enumerate(right[:-2]):
        for new in "0123456789" if old.isdigit() else "ABCDEFGHIJKLMNOPQRSTUVWXYZ" if old != "-" else "":
            slipped = right[:place] + new + right[place + 1 :]
            if slipped != right:
                with pytest.raises(Refusal, match="check character does not fit"):
                    verify_serial(slipped)


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("TBK-25-0143", "lacks its check character"),
        ("TBK-25-0143-X", "check character does not fit"),
        ("G-014", "not an axle serial"),
        ("", "not an axle serial"),
        ("TBK-25-0143-D\x00", "A mark begins"),
        ("TBK-25-٠١٤٣-D", "not an axle serial"),
        ("TBK-25-０１４３-D", "not an axle serial"),
        ("9" * 60, "at most 40"),
    ],
)
def test_wrong_serial_gets_a_sentence(typed: str, said: str) -> None:
    with pytest.raises(Refusal, match=said):
        verify_serial(typed)


def test_lower_case_and_long_dashes_are_put_right() -> None:
    assert verify_serial(" tbk–25–0143–d ") == "TBK-25-0143-D"


@pytest.mark.parametrize(
    ("typed", "stored"), [("  ag-10431 ", "AG-10431"), ("pb  5521", "PB 5521"), ("å1", "Å1"), ("", "")]
)
def test_mark_is_normalised(typed: str, stored: str) -> None:
    assert normalise_mark(typed) == stored
    assert normalise_mark(stored) == stored


@pytest.mark.parametrize("typed", ["😀", "a\x00b", "a\x1db", "-", "~P:1", "a<b", "a_b;"])
def test_what_no_mark_can_be_is_refused(typed: str) -> None:
    with pytest.raises(Refusal):
        normalise_mark(typed)


@pytest.mark.parametrize("kind", list(ScanKind))
def test_our_label_is_read_back(kind: ScanKind) -> None:
    text = codes.label_text(kind, "X-1")
    assert text.startswith("~")
    assert text.isprintable()
    assert parse_scan(text) == Scan(kind, "X-1")
    assert parse_scan(text.lower() + "\r") == Scan(kind, "X-1")


@pytest.mark.parametrize("text", ["", "  ", "105", "3.0652", "-.0002", ".0080", "3,0652", "3 1/2", "1/2", "+5", "−2"])
def test_a_bare_figure_is_no_scan(text: str) -> None:
    assert parse_scan(text) is None


def test_typed_mark_says_no_kind_but_a_serial_does() -> None:
    assert parse_scan("g-014") == Scan(None, "G-014", typed=True)
    assert parse_scan("tbk-25-0143-d") == Scan(ScanKind.AXLE, "TBK-25-0143-D", typed=True)


@pytest.mark.parametrize(
    ("text", "scan"),
    [
        ("[)>\x1e06\x1dS10431\x1d1PAG\x1e\x04", Scan(None, "10431", part_number="AG")),
        ("[)>\x1e06\x1d1TPB-5521\x1e\x04", Scan(ScanKind.LOT, "PB-5521")),
        ("[)>␞06␝SX1␞␄", Scan(None, "X1")),
        ("]d2010950600013435221A7\x1d10LOT", Scan(None, "A7", part_number="09506000134352")),
        ("]C110PS-118", Scan(ScanKind.LOT, "PS-118")),
        # 3102: a net weight of 12.50 kg; 410: ship to. Both have a predefined length and take no separator.
        (
            "]d2010950600013435231020012502112345\x1d10LOT7",
            Scan(None, "12345", part_number="09506000134352"),
        ),
        ("]d24109506000134352" + "10PB7\x1d3102001250", Scan(ScanKind.LOT, "PB7")),
        # Control: 400, the customer's order, has no predefined length and ends with the separator.
        ("]d240021PO\x1d2112345", Scan(None, "12345")),
        ("(01)09506000134352(21)A7", Scan(None, "A7", part_number="09506000134352")),
        ("]d21725123110PS118", Scan(ScanKind.LOT, "PS118")),
    ],
)
def test_envelope_and_gs1_are_read(text: str, scan: Scan) -> None:
    """ISO/IEC 15434 format 06 with ANSI MH10.8.2 S, 1P, 1T; GS1 identifiers 01, 10, 17, 21 (from memory)."""
    assert parse_scan(text) == scan


@pytest.mark.parametrize("text", ["~Z:9", "~", "~A:", "[)>", "[)>\x1e05\x1dS1\x1e\x04", "]d2", "]d2\x1d\x1d", "(21)"])
def test_code_that_cannot_be_read_gets_a_sentence(text: str) -> None:
    with pytest.raises(Refusal, match=r"type the mark|Type the mark|A mark"):
        parse_scan(text)


def test_look_alikes_are_every_other_spelling() -> None:
    assert sorted(look_alikes("O1A")) == ["01A", "0IA", "OIA"]
    assert look_alikes("AB") == []
    assert look_alikes("0" * 20) == []
