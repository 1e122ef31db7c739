"""A generated shop that is loaded once and run against as often as wanted (`manage.py test --keep FOLDER`).

The database stays in the folder, and beside it what the generator knows of it: how many axles there are, and the keys
of the house. Without a folder every run makes a shop of its own and takes it out again.
"""

from __future__ import annotations

import os
import pickle
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from tests.benchmarks.scale.shop import Scale
from tests.benchmarks.scale.tables import emptied
from tests.run import KEEP
from tests.shopfloor import Floor, open_shop


class Kept:
    """The shop of this run."""

    def __init__(self) -> None:
        folder = os.environ.get(KEEP, "")
        self.path = Path(folder) / "shop.pickle" if folder else None
        if self.path is not None and self.path.exists():
            self.floor, self.scale = pickle.loads(self.path.read_bytes())  # ours: written below
            return
        self.floor: Floor = open_shop()
        self.scale = Scale(self.floor)
        self._keep()

    def grow_to(self, count: int) -> float | None:
        """As `Scale.grow_to`; None where so many stand there already. Raises ValueError where there are more."""
        if count < self.scale.count:
            raise ValueError(f"The kept shop has {self.scale.count:,} axles, which is more than {count:,}.")
        if count == self.scale.count:
            return None
        seconds = self.scale.grow_to(count)
        self._keep()
        return seconds

    def _keep(self) -> None:
        if self.path is not None:
            self.path.write_bytes(pickle.dumps((self.floor, self.scale)))


@contextmanager
def kept_shop() -> Iterator[Kept]:
    """A shop to be grown; taken out again unless it is kept."""
    kept = Kept()
    try:
        yield kept
    finally:
        if kept.path is None:
            emptied()
