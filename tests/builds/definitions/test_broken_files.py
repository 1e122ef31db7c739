"""A gallery of broken definition files: each says file, line, key and what was expected.

Every case changes one thing in a file that loads (the control), so the fault named is the one made here.
"""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from builds.definitions.reading import MOST_BYTES, read_bytes, read_text
from builds.definitions.table import DefinitionError, Fault
from tests.builds.definitions.cards import THIRD, THIRD_FILE

TEXT = THIRD_FILE.read_text(encoding="utf-8")
FILE = "pipit.toml"


def faults(text: str) -> tuple[Fault, ...]:
    with pytest.raises(DefinitionError) as refused:
        read_text(text, FILE)
    return refused.value.faults


def told_of(text: str) -> tuple[Fault, ...]:
    """The faults of a text; none when it loads. Any other exception is a failure of the reader."""
    try:
        read_text(text, FILE)
    except DefinitionError as error:
        return error.faults or (Fault(FILE, 0, "", "", ""),)
    return ()


def test_the_control_loads() -> None:
    assert read_text(TEXT, FILE) == THIRD


# old text (its first place is changed), new text, key that is named, what is said
BROKEN = [
    # words that are not known
    ('kind = "hold"', 'kind = "halt"', "kind", "expected one of hold, witness, first_heat"),
    ('on_low = "repeat 1"', 'on_low = "try again"', "on_low", 'expected "repeat 1", "wait", "back to 40"'),
    ('on_low = "repeat 1"', 'on_low = "repeat 0"', "on_low", "expected"),
    ('on_high = "back to 17, 2 rounds"', 'on_high = "back to 99"', "on_high", "one before it, found 99"),
    ('on_high = "back to 17, 2 rounds"', 'on_high = "back to 57"', "on_high", "one before it, found 57"),
    ('kind = "measured"', 'kind = "guessed"', "kind", "expected one of measured, counted"),
    ('gauge_kind = "torque_wrench"', 'gauge_kind = "spanner"', "gauge_kind", 'found "spanner"'),
    ('name = "out_of_round"', 'name = "ovality"', "computation", "expected one of interference_of_means"),
    ('signs = ["receiver"]', 'signs = ["storeman"]', "signs", 'found "storeman"'),
    ('tracking = "piece"', 'tracking = "barcode"', "tracking",
     "expected one of serial, lot, bulk, heat, piece"),
    ('class = "S"', 'class = "X"', "class", "expected one of S, F, L"),
    ('zone = "tube"', 'zone = "left wheel"', "zone", "expected one of whole"),
    ('unit_system = "mm"', 'unit_system = "cm"', "unit_system", "expected one of in, mm"),
    ('unit = "N·m"', 'unit = "newtonmeter"', "unit", "found newtonmeter"),
    ('skill = "gas_tungsten_arc"', 'skill = "forging"', "skill", 'found "forging"'),
    ("positions = 5", 'positions = 5\nsample = "now and then"', "sample",
     'expected "every", "first and every 5"'),
    ("positions = 5", "positions = 5\ncolour = 3", "colour", "unknown key; known here: accepted, agreed"),
    ("[[station]]", "[[place]]", "place", "unknown key"),
    ('by = ["inspector"]', 'by = ["anyone"]', "by", 'found "anyone"'),
    ('rounding = "E29"', 'rounding = "up"', "rounding", "expected one of absolute, E29"),
    ('sides = ["left"]', 'sides = ["port"]', "sides", "expected only left, right"),
    # shapes
    ("number = 7", 'number = "7"', "number", 'expected a whole number of 1 or more, found "7"'),
    ("number = 7\n", "", "number", "found nothing"),
    ("low = 60.02", 'low = "60.02"', "low", "expected a number without quotes"),
    ("low = 60.02", "low = nan", "low", "expected a number"),
    ("low = 60.02", "low = true", "low", "expected a number"),
    ("minutes = [5, 8, 12]", "minutes = [12, 8, 5]", "minutes", "expected three rising counts"),
    ("minutes = [5, 8, 12]", "minutes = [5, 8]", "minutes", "[low, likely, high]"),
    ("closing = false", 'closing = "no"', "closing", 'expected true or false, found "no"'),
    ("positions = 5", "positions = 0", "positions", "expected a count from 1 to 200"),
    ("positions = 5", "positions = []", "positions", "expected a count from 1 to 200"),
    ("quantity = 5", "quantity = 0", "quantity", "expected more than nothing"),
    ('name = "Pipit 300"', 'name = ""', "name", "expected a text in quotes"),
    ('code = "pipit_300"', 'code = "Pipit 300"', "code", "expected small letters"),
    ('caution = ["Sharp ends: gloves"]', 'caution = "Sharp"', "caution", "expected a list of texts"),
    # limits
    ("low = 60.02", "low = 60.05", "low", "expected not more than high (60.04), found 60.05"),
    ("high = 60.04", "high = 60.0405", "high", "expected at most 3 decimals as stated, found 60.0405"),
    ("target = 50", "target = 50\nlow = 47", "target", "expected either low/high or target/tolerance"),
    ("tolerance = 3\n", "", "target", "expected target together with a tolerance"),
    ("high = 0.06", "high = 0.06\nnever_above = 0.05", "never_above", "expected at least high"),
    ("low = 0\nhigh = 0", "low = -1\nhigh = 0", "low", "expected a count of zero or more"),
    ('on_low = "wait"\n', "", "on_low", "expected what a value below low does; it is missing"),
    ('source = "none allowed"\n', "", "source", "expected where the limit comes from"),
    ('kind = "choice"\n', 'kind = "text"\n', "choices", 'expected exactly when kind = "choice"'),
    ('accepted = ["yes"]', 'accepted = ["maybe"]', "accepted", "expected only yes, no, found maybe"),
    ('"grey"]\nrecorded_only = true',
     '"grey"]\nrecorded_only = true\noptional = true\nneeded_with = { "37.a" = "red" }', "needed_with",
     "expected an answer of this operation, found 37.a = red"),
    ('"grey"]\nrecorded_only = true', '"grey"]\nrecorded_only = true\nneeded_with = { "37.a" = "blue" }',
     "needed_with", "expected only with optional = true"),
    ('"grey"]\nrecorded_only = true', '"grey"]\nrecorded_only = true\nrejects = "worm"', "rejects",
     "expected only with never_above"),
    ("high = 0.06", 'high = 0.06\nnever_above = 0.07\nrejects = "nothing"', "rejects",
     "expected the role of a part of this operation, found nothing"),
    ('event = "worm_sealant"\nrecorded_only = true', 'event = "worm_sealant"', "recorded_only",
     "none is stated"),
    # references
    ('station = "CUT"', 'station = "ZZ"', "station", "expected one of BEN, CUT, OUT, found ZZ"),
    ('per = "stub"', 'per = "tube"', "per", "expected one of axle, core, stub, found tube"),
    ("starts_after = [17]", "starts_after = [18]", "starts_after", "found 18"),
    ("starts_after = [7]", "starts_after = [27]", "starts_after", "this operation waits for itself"),
    ('documents = ["P300-1"]', 'documents = ["P300-9"]', "documents", "found P300-9"),
    ('part_kind = "wire"', 'part_kind = "rod"', "part_kind", "found rod"),
    ('material = "e355"', 'material = "grey_iron"', "material", "found grey_iron"),
    ("weldable = true\n", "", "into", "expected a part of a weldable material"),
    ('positions_of = "27.1"', 'positions_of = "27.9"', "positions_of", "found 27.9"),
    ("looks_at = [27]", "looks_at = [28]", "looks_at", "found 28"),
    ('readings = "17.1"', 'readings = "57.1"', "computation", "to be a characteristic recorded before 17.2"),
    ('readings = "17.1"', 'reading = "17.1"', "computation", "expected an input readings"),
    ('when = { breather = "yes" }', 'when = { vent = "yes" }', "when",
     "expected one of the options ratio, breather"),
    ('when = { breather = "yes" }', 'when = { breather = "open" }', "when", "found open"),
    ('when = { breather = "yes" }', "when = { breather = 1 }", "breather", 'expected "value", ["a", "b"]'),
    ('default = "20"', 'default = "30"', "default", "expected one of 20, 10, found 30"),
    ('when = { ratio = "10", breather = "no" }', 'when = { ratio = "20" }', "when",
     "the defaults to be allowed"),
    (', matched_set = "worm_set", kit = true },', ", kit = true },", "matched_set", "it has only one"),
    ('event = "last_arc"\n', 'event = "last_spark"\n', "event", "expected one of last_arc, worm_sealant"),
    ("operations = [47, 57]", "operations = [47, 58]", "operations", "found 58"),
    ("own_side = [17, 27, 37]", "own_side = [47]", "own_side", "expected operations of a left or right unit"),
    ('characteristics = ["57.1"]', 'characteristics = ["57.8"]', "characteristics", "found 57.8"),
    # the same thing twice, and rules about shape
    ("number = 17", "number = 7", "number", "7 stands twice"),
    ('code = "17.2"', 'code = "17.1"', "code", "17.1 stands twice"),
    ('code = "17.1"', 'code = "18.1"', "code", "expected a code that begins with 17."),
    ("set_down_reason = \"The joint must stay warm until it is full.\"\n", "", "set_down_reason",
     "it is missing"),
    ('positions = ["A", "B"]', 'positions = ["A", "A"]', "positions", "expected each text once"),
    ('positions = ["A", "B"]', 'positions = { sides = ["left"] }', "positions", "the unit has the side"),
    ('process = "gas_tungsten_arc"', 'process = "gas_metal_arc"', "process",
     "expected the operation's skill"),
    ("is_the_work = true", 'is_the_work = true\nskill = "eyes"', "skill", 'found "eyes"'),
]  # fmt: skip


@pytest.mark.parametrize(("old", "new", "key", "said"), BROKEN, ids=[f"{b[2]}-{n}" for n, b in enumerate(BROKEN)])
def test_broken(old: str, new: str, key: str, said: str) -> None:
    assert old in TEXT
    found = faults(TEXT.replace(old, new, 1))
    named = [fault for fault in found if fault.key == key]
    assert named, found
    assert any(said in fault.expected for fault in named), found


def test_a_fault_names_file_line_place_and_key() -> None:
    broken = TEXT.replace("low = 60.02", 'low = "60.02"')
    line = broken[: broken.index('low = "60.02"')].count("\n") + 1
    assert [str(fault) for fault in faults(broken)] == [
        f"pipit.toml, line {line}: operation 17, characteristic 17.1, key low: "
        'expected a number without quotes, found "60.02"'
    ]


def test_all_faults_are_told_at_once_in_the_order_of_the_file() -> None:
    broken = TEXT.replace('station = "BEN"', 'station = "ZZ"', 1).replace("low = 60.02", "low = true")
    found = faults(broken.replace('gauge_kind = "torque_wrench"', 'gauge_kind = "spanner"'))
    assert [fault.key for fault in found] == ["low", "station", "gauge_kind"]
    assert [fault.line for fault in found] == sorted(fault.line for fault in found)


def test_one_mistake_is_told_once() -> None:
    assert len(faults(TEXT.replace("high = 60.04", 'high = "wide"'))) == 1


def test_text_that_is_not_toml_names_its_line() -> None:
    broken = TEXT.replace("number = 17", "number == 17")
    (fault,) = faults(broken)
    assert fault.line == broken[: broken.index("number == 17")].count("\n") + 1
    assert "expected TOML" in fault.expected


@pytest.mark.parametrize("text", ["", "   \n", "# nothing\n"])
def test_an_empty_file_says_what_is_missing(text: str) -> None:
    keys = {fault.key for fault in faults(text)}
    assert {"code", "name", "revision", "unit_system", "station", "operation"} <= keys


@pytest.mark.parametrize("text", ["axle = 3", "operation = 5", "[axle]\ncode = []", "[[axle]]", "station = [1, 2]"])
def test_tables_of_the_wrong_shape_are_faults(text: str) -> None:
    assert faults(text)


def test_another_kind_of_file_is_refused() -> None:
    with pytest.raises(DefinitionError, match="line 2: expected plain text in UTF-8"):
        read_bytes(b"%PDF\n\xff\xfe", FILE)


def test_too_large_a_file_is_refused() -> None:
    with pytest.raises(DefinitionError, match=f"expected at most {MOST_BYTES} bytes"):
        read_bytes(b"#" * (MOST_BYTES + 1), FILE)


def test_absurd_nesting_is_refused() -> None:
    assert faults("a = " + "[" * 5000 + "]" * 5000)


def test_an_absurd_number_is_refused() -> None:
    assert faults(TEXT.replace("low = 60.02", "low = 1e999999999999"))


LINES = TEXT.splitlines()
VALUES = [
    "",
    "0",
    "-1",
    "1.5",
    '""',
    '"x"',
    "true",
    "[]",
    "[1]",
    '["a"]',
    "{}",
    "{ a = 1 }",
    "[{}]",
    "1979-05-27",
    "inf",
]


@settings(max_examples=150, deadline=None)
@given(st.integers(0, len(LINES) - 1), st.sampled_from(["drop", "double", *VALUES]))
def test_whatever_is_changed_the_file_loads_or_says_why(number: int, change: str) -> None:
    """Drops, doubles or replaces the value of one line: only a DefinitionError may come of it."""
    line = LINES[number]
    if change == "drop":
        new = []
    elif change == "double":
        new = [line, line]
    else:
        new = [f"{line.partition(' = ')[0]} = {change}"]
    told = told_of("\n".join([*LINES[:number], *new, *LINES[number + 1 :]]))
    assert all(fault.expected and 1 <= fault.line <= len(LINES) + 2 for fault in told)
