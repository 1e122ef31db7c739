"""The connection breaks off at the n-th statement."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any

from django.db import connection


class Cut(Exception):
    """The connection broke off here."""


@contextmanager
def cut_at(number: int) -> Iterator[list[str]]:
    """Let so many statements through, then fail; gives the statements seen."""
    seen: list[str] = []

    def wrapper(execute: Callable[..., Any], sql: str, *rest: Any) -> Any:
        seen.append(sql)
        if len(seen) == number:
            raise Cut(sql)
        return execute(sql, *rest)

    with connection.execute_wrapper(wrapper):
        yield seen
