"""The order of operations: what comes before what."""

from collections.abc import Mapping


def everything_before(near: Mapping[int, tuple[int, ...]], number: int) -> set[int]:
    """Every operation that comes before this one, near and far, given what each starts after."""
    found: set[int] = set()
    waiting = list(near.get(number, ()))
    while waiting:
        one = waiting.pop()
        if one not in found:
            found.add(one)
            waiting.extend(near.get(one, ()))
    return found
