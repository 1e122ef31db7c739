"""Which line of a definition file each table and key stands on, so that an error can name it."""

import re

Path = tuple[str | int, ...]

_HEADER = re.compile(r"^\s*(\[\[?)\s*([A-Za-z0-9_.\-\s]+?)\s*\]\]?\s*(#.*)?$")
_KEY = re.compile(r"^\s*([A-Za-z0-9_\-]+)\s*=\s*(.*)$")
_STRING = re.compile(r'"""|\'\'\'|"(?:[^"\\]|\\.)*"|\'[^\']*\'|#.*')


def line_numbers(text: str) -> dict[Path, int]:
    """The line (from 1) of each table and of each key written at the start of a line."""
    found: dict[Path, int] = {}
    counts: dict[Path, int] = {}
    table: Path = ()
    open_value = _OpenValue()
    for number, line in enumerate(text.splitlines(), start=1):
        if open_value.going_on(line):
            continue
        header = _HEADER.match(line)
        key = _KEY.match(line)
        if header:
            table = _enter(header.group(2).split("."), header.group(1) == "[[", counts)
            found.setdefault(table, number)
        elif key:
            found.setdefault((*table, key.group(1)), number)
            open_value.start(key.group(2))
    return found


def nearest_line(lines: dict[Path, int], path: Path) -> int:
    """The line of the path, or of the innermost thing around it; 1 when nothing is known."""
    for length in range(len(path), 0, -1):
        if path[:length] in lines:
            return lines[path[:length]]
    return 1


def _enter(names: list[str], is_array: bool, counts: dict[Path, int]) -> Path:
    path: Path = ()
    for depth, name in enumerate(names, start=1):
        path = (*path, name.strip())
        if depth == len(names) and is_array:
            counts[path] = counts.get(path, -1) + 1
        if path in counts:
            path = (*path, counts[path])
    return path


class _OpenValue:
    """Follows a value that runs over several lines: a triple-quoted text or an array."""

    def __init__(self) -> None:
        self.depth = 0
        self.quotes = ""

    def start(self, value: str) -> None:
        self._read(value)

    def going_on(self, line: str) -> bool:
        if not self.depth and not self.quotes:
            return False
        self._read(line)
        return True

    def _read(self, text: str) -> None:
        if self.quotes:
            _, quotes, text = text.partition(self.quotes)
            if not quotes:
                return
            self.quotes = ""
        for quoted in _STRING.finditer(text):
            if quoted.group() in ('"""', "'''"):
                rest = text[quoted.end() :]
                if quoted.group() not in rest:
                    self.quotes = quoted.group()
                    text = text[: quoted.start()]
                break
        plain = _STRING.sub("", text)
        self.depth = max(0, self.depth + sum(plain.count(c) for c in "[{") - sum(plain.count(c) for c in "]}"))
