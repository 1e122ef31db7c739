"""Who and what the driver works with: people by role, gauges by kind, terminals by station."""

from __future__ import annotations

import random
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from datetime import datetime
from decimal import Decimal, InvalidOperation

from builds.definitions.characteristic import Characteristic as Asked
from builds.definitions.words import ANY_SECOND_PERSON
from builds.models import Bench
from builds.reports.kit import NeedState
from builds.scenario.values import by_code
from measurements.models import Gauge
from shop.models import Person, Terminal
from shop.record.who import Who


@dataclass
class Shop:
    """The people by role, the gauges by kind, the terminals by station, and how a part is found for a need."""

    people: Mapping[str, list[Person]]
    gauges: Mapping[str, list[Gauge]]
    terminals: Mapping[str, Terminal]
    find_part: Callable[[Bench, NeedState, datetime], str]
    photo: Callable[[str], str]
    random: random.Random = field(default_factory=lambda: random.Random(7))

    #: Which gauge is taken for a characteristic, by code; without one the first of the kind that covers the figure.
    tools: dict[str, str] = field(default_factory=dict)

    @contextmanager
    def using(self, **tools: str) -> Iterator[None]:
        """Take these gauges for these codes (c50_3 for 50.3) as long as it goes on."""
        before = dict(self.tools)
        self.tools |= by_code(tools)
        try:
            yield
        finally:
            self.tools = before

    def who(self, person: Person, station: str = "") -> Who:
        return Who(person, self.terminals.get(station))

    def one_of(self, roles: Iterable[str], *, but: Iterable[int] = ()) -> Person:
        """The first person with one of the roles who is not excluded."""
        excluded = set(but)
        for role in roles:
            names = self.people.get(role, [])
            if role == ANY_SECOND_PERSON:
                names = [person for people in self.people.values() for person in people]
            for person in names:
                if person.pk not in excluded:
                    return person
        raise LookupError(f"nobody is left to act as {', '.join(roles)}")

    def gauge_for(self, asked: Asked, typed: str = "") -> str:
        """A gauge of the kind asked for that reads the unit and whose range holds the figure."""
        if not asked.gauge_kind:
            return ""
        wanted = asked.low if asked.low is not None else asked.high
        with suppress(InvalidOperation):  # what is no figure is refused where it is judged
            wanted = Decimal(typed) if typed else wanted
        known = self.gauges.get(asked.gauge_kind, [])
        fits = [gauge for gauge in known if gauge.unit == asked.unit and (wanted is None or gauge.covers(wanted))]
        own = self.tools.get(asked.code, "")
        if any(gauge.item.mark == own for gauge in fits):
            return own
        others = [gauge for gauge in known if gauge.unit != asked.unit]
        for gauge in (*fits, *others, *known):
            return str(gauge.item.mark)
        raise LookupError(f"no {asked.gauge_kind} for {asked.code}")

    def step_for(self, asked: Asked) -> Decimal:
        """The coarser of the card's last digit and the gauge's step."""
        digit = Decimal(1).scaleb(-asked.decimals)
        mark = self.gauge_for(asked)
        for gauge in self.gauges.get(asked.gauge_kind, []):
            if gauge.item.mark == mark and gauge.step is not None and gauge.unit == asked.unit:
                return max(digit, gauge.step)
        return digit

    def ring_for(self, asked: Asked) -> str:
        if not asked.needs_setting:
            return ""
        near = asked.low or asked.high or Decimal(0)
        rings = [ring for ring in self.gauges.get("setting_ring", []) if ring.setting is not None]
        return str(min(rings, key=lambda ring: abs((ring.setting or Decimal(0)) - near)).item.mark)
