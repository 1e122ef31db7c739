"""Who acts, and from which terminal."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from shop.models import Person, Terminal


@dataclass(frozen=True)
class Who:
    """The author of an act. ``person=None`` is the system itself: a job, a schedule, the first set-up."""

    person: Person | None
    terminal: Terminal | None = None

    @property
    def code(self) -> str:
        """The person's code as the ledger writes it; empty for the system."""
        return "" if self.person is None else str(self.person.code)

    @property
    def place(self) -> str:
        """The terminal's code as the ledger writes it; empty when no terminal was used."""
        return "" if self.terminal is None else str(self.terminal.code)


SYSTEM = Who(person=None)
