"""The line of each key, through comments, many-line texts and lists."""

from builds.definitions.text_lines import line_numbers, nearest_line

TEXT = '''# a remark = 1
[axle]
code = "x"   # key = "no"
says = """
number = 3
"""
list = [
  "a = 1",
  { b = 2 },
]
after = 'it # is'

[[operation]]
number = 10

[[operation.characteristic]]
code = "10.1"

[[operation.characteristic]]
code = "10.2"

[[operation]]
number = 20
[operation.hold]
by = []
'''
LINES = line_numbers(TEXT)


def test_keys_of_tables_and_arrays_of_tables() -> None:
    assert LINES[("axle", "code")] == 3
    assert LINES[("operation", 0, "number")] == 14
    assert LINES[("operation", 0, "characteristic", 1, "code")] == 20
    assert LINES[("operation", 1, "hold", "by")] == 25


def test_what_stands_inside_texts_lists_and_remarks_is_no_key() -> None:
    assert LINES[("axle", "after")] == 11
    assert ("axle", "number") not in LINES
    assert ("axle", "b") not in LINES
    assert ("a",) not in LINES


def test_a_missing_key_is_looked_for_at_its_table() -> None:
    assert nearest_line(LINES, ("operation", 1, "station")) == 22
    assert nearest_line(LINES, ("nowhere",)) == 1
