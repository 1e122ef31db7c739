"""Material definitions: the shipped one by its printed limits, and every fault of a broken file with its line."""

from __future__ import annotations

from decimal import Decimal

import pytest

from builds.definitions.material import SHIPPED, element_of, read_material, same_name
from builds.definitions.table import DefinitionError

A519 = (SHIPPED / "astm_a519_4130.toml").read_bytes()
#: ASTM A519 grade 4130 as tabulated on a public tube page, the same in FAA report ANM-112N-14-02; strength of
#: stress-relieved tube from memory.
LIMITS = {
    "C": (".28", ".33"), "Mn": (".40", ".60"), "P": (None, ".040"), "S": (None, ".040"), "Si": (".15", ".35"),
    "Cr": (".80", "1.10"), "Mo": (".15", ".25"), "tensile": ("105", None), "yield": ("85", None),
    "elongation": ("10", None),
}  # fmt: skip
SMALL = """
[material]
code = "st"
revision = "1"
name = "Steel"
grade = "G"

[[element]]
symbol = "C"
high = 0.30
source = "s"

[[element]]
symbol = "Mn"
source = "s"
"""


def test_the_shipped_material_has_the_printed_limits() -> None:
    made = read_material(A519, "a519")
    assert (made.code, made.grade, made.rounding) == ("tube_4130", "ASTM A519 grade 4130", "absolute")
    found = {value.code: (value.low, value.high) for value in made.values if value.needed}
    wanted = {code: tuple(one and Decimal(one) for one in pair) for code, pair in LIMITS.items()}
    assert found == wanted
    assert {value.code for value in made.values if not value.needed} == {"V", "Ni", "Cu", "B"}


def test_limits_are_written_to_the_place_that_rounding_looks_at() -> None:
    """With .330 written, ASTM E29 would round .334 to .334 and never take it."""
    carbon = next(value for value in read_material(A519, "a519").values if value.code == "C")
    assert carbon.high is not None
    assert carbon.high.as_tuple().exponent == -2


@pytest.mark.parametrize(
    ("was", "now", "line", "said"),
    [
        ('code = "st"', 'code = "S T"', 3, "expected a short word of small letters"),
        ('symbol = "C"', 'symbol = "Xx"', 9, "expected one of C, Mn"),
        ('symbol = "Mn"', 'symbol = "C"', 1, "expected C once, found it twice"),
        ('symbol = "Mn"', 'symbol = "V"', 1, "expected manganese (Mn)"),
        ("high = 0.30", "high = 300", 10, "per cent by mass from 0 to 100"),
        ("high = 0.30", "high = 0.30\nlow = 0.31", 11, "expected a low limit of at most 0.30"),
        ("high = 0.30", 'high = "0.30"', 10, "expected a number without quotes"),
        ('name = "Steel"', 'name = "Steel"\nrounding = "up"', 6, "expected one of absolute, E29"),
        ('name = "Steel"', 'name = "Steel"\ncolour = "red"', 6, "unknown key"),
        ('source = "s"', "", 0, "expected a text; it is missing"),
        ('grade = "G"', 'grade = "G', 6, "expected TOML"),
        ('name = "Steel"', f'name = "{"x" * 61}"', 5, "expected at most 60 characters"),
    ],
)
def test_every_fault_is_told_with_its_line(was: str, now: str, line: int, said: str) -> None:
    read_material(SMALL.encode(), "small.toml")  # the control: right as it is
    with pytest.raises(DefinitionError) as broken:
        read_material(SMALL.replace(was, now, 1).encode(), "small.toml")
    told = [str(fault) for fault in broken.value.faults]
    assert any(said in one for one in told), told
    if line:
        assert any(f"small.toml, line {line}:" in one for one in told), told


def test_what_is_no_text_is_refused() -> None:
    with pytest.raises(DefinitionError, match="UTF-8"):
        read_material(b"\xff\xfe", "x")
    with pytest.raises(DefinitionError, match="at most 200000 bytes"):
        read_material(b" " * 200_001, "x")


def test_names_are_compared_without_what_stands_in_brackets() -> None:
    assert same_name("Tensile strength (stress-relieved)") == "tensile strength"
    assert (element_of("Sulphur"), element_of("Sulfur"), element_of("Elongation")) == ("S", "S", "")
