"""What changed between two revisions of a card, in lines a person reads."""

from typing import Any

from builds.definitions.card import Card
from builds.definitions.writing import tables_of, value_text

Entry = dict[str, Any]

# What one table of the file is called, and the key that tells it from its like.
_NAMED = {
    "[[station]]": ("station", "code"),
    "[[unit]]": ("unit", "role"),
    "[[material]]": ("material", "code"),
    "[[part_kind]]": ("part kind", "code"),
    "[[document]]": ("document", "code"),
    "[[option]]": ("option", "axis"),
    "[[refusal]]": ("refusal", "reason"),
    "[[operation]]": ("operation", "number"),
    "[[operation.characteristic]]": ("", "code"),
    "[[after]]": ("wait of operation", "operation"),
    "[[invalidates]]": ("made invalid by", "cause"),
    "[[interchange]]": ("interchange", "name"),
}
_INSIDE = {
    "[[option.value]]": ("value", "code"),
    "[operation.hold]": ("hold", ""),
    "[[operation.photo]]": ("photo", "name"),
    "[[operation.weld]]": ("weld", "joint"),
    "[[operation.need]]": ("part", "role"),
}


def differences(old: Card, new: Card) -> tuple[str, ...]:
    """Lines such as "changed 50.3 high 3.0637 -> 3.0640"; none when the cards are equal."""
    before, after = _entries(old), _entries(new)
    lines: list[str] = []
    for name, entry in before.items():
        if name not in after:
            lines.append(f"removed {_titled(name, entry)}")
            continue
        lines += [f"changed {name} {key} {change}" for key, change in _changes(entry, after[name])]
    lines += [f"added {_titled(name, entry)}" for name, entry in after.items() if name not in before]
    both_before = [name for name in before if name in after]
    both_after = [name for name in after if name in before]
    if both_before != both_after:
        lines.append("changed the order of what stays")
    return tuple(lines)


def _changes(old: Entry, new: Entry) -> list[tuple[str, str]]:
    keys = [*old, *(key for key in new if key not in old)]
    return [(key, f"{_text(old.get(key))} -> {_text(new.get(key))}") for key in keys if old.get(key) != new.get(key)]


def _text(value: object) -> str:
    if value is None:
        return "nothing"
    return str(value) if isinstance(value, str) else value_text(value).replace("\n", " ")


def _titled(name: str, entry: Entry) -> str:
    title = entry.get("name") or entry.get("label") or entry.get("title")
    return f"{name} {title}" if title and str(title) not in name else name


def _entries(card: Card) -> dict[str, Entry]:
    entries: dict[str, Entry] = {}
    around = ""
    for header, values in tables_of(card):
        if header in _INSIDE:
            word, key = _INSIDE[header]
            name = f"{around} {word} {values.get(key, '')}".strip()
        elif header in _NAMED:
            word, key = _NAMED[header]
            name = f"{word} {values[key]}".strip()
            around = name if header in ("[[operation]]", "[[option]]") else around
        else:
            name = header.strip("[]").replace(".", " ")
        entries[_free(name, values, entries)] = values
    return entries


def _free(name: str, values: Entry, taken: dict[str, Entry]) -> str:
    """A name of its own: parts of one role for different options are told apart by the option."""
    if name in taken and "when" in values:
        name = f"{name} when {value_text(values['when'])}"
    number = 2
    free = name
    while free in taken:
        free = f"{name} ({number})"
        number += 1
    return free
