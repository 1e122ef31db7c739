"""How the tests are shared out among the parallel processes: a module stays whole, and the longest begin first.

A module sets its shop up once for all its tests; torn apart, every process would set it up again. What is marked
`long` begins before everything else, so that at the end no process works on alone. A test (or one set of its
parameters) marked `xdist_group` goes with its group instead of its module.
"""

from __future__ import annotations

from typing import Any

import pytest
from xdist.scheduler import LoadGroupScheduling


class WholeModules(LoadGroupScheduling):
    """One unit of work is a module or a group, in the order in which they were collected."""

    def __init__(self, config: pytest.Config, log: Any = None) -> None:
        super().__init__(config, log)
        # Else the units with most tests would go first, and those are short ones.
        config.option.loadscopereorder = False

    def _split_scope(self, nodeid: str) -> str:
        return unit(nodeid, super()._split_scope(nodeid))


def unit(nodeid: str, group: str) -> str:
    """The group where there is one (for a test without, the scheduler gives the test itself); else the module."""
    return nodeid.partition("::")[0] if group == nodeid else group


def longest_first(items: list[pytest.Item]) -> None:
    """Put what is marked `long(seconds)` first, the longest at the very front; the rest keeps its order."""
    items.sort(key=lambda item: -_seconds(item))


def _seconds(item: pytest.Item) -> float:
    marker = item.get_closest_marker("long")
    return float(marker.args[0]) if marker else 0.0
