"""What the returned axles share more often than chance would give: suspects by rank. It decides nothing."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from urllib.parse import urlencode

from builds.models import Axle, Finding, FindingWord, Returned, Shipment
from builds.reports.reach.cause import CauseKind
from builds.reports.returns.exposure import Exposed, Value, exposure
from measurements.statistics.stratified import Within, within
from measurements.statistics.suspects import Counts, Suspect, rank
from shop.lists import CsvList

#: Rows on the page; the CSV has all.
MOST = 40
#: Values of one row that are shown before it is unfolded.
SHOWN = 5
#: Below this an adjusted p would be called small; what cannot get there is told so.
SMALL = 0.05


@dataclass(frozen=True)
class Row:
    """Values that the same axles have, which no count can tell apart, with what is said of them. `beside`: the same
    compared only among axles alike in the thing that was chosen; None where nothing was, or for that thing itself."""

    values: tuple[Value, ...]
    suspect: Suspect
    serials: tuple[str, ...]
    beside: Within | None = None

    @property
    def first(self) -> list[tuple[Value, str]]:
        """The values shown at once, each with the question that the reach list is asked for it."""
        return [(value, urlencode(_asked(value))) for value in self.values[:SHOWN]]

    @property
    def rest(self) -> list[tuple[Value, str]]:
        """The values to be unfolded: what every axle has is a long list that says little."""
        return [(value, urlencode(_asked(value))) for value in self.values[SHOWN:]]

    @property
    def too_few(self) -> bool:
        """Whether even the worst case could not be told from chance."""
        return self.suspect.least_p > SMALL

    @property
    def others(self) -> tuple[int, int]:
        """How many of those without the value came back, and of how many."""
        counts = self.suspect.counts
        return counts.failed - counts.both, counts.built - counts.exposed


@dataclass(frozen=True)
class Shared:
    """`set_aside`: returns that were found to be no fault of the axle. `looked_at`: every value tested. `alike`: the
    thing within which the rows are compared, as it is called."""

    built: int
    failed: int
    looked_at: int
    rows: list[Row] = field(default_factory=list)
    set_aside: int = 0
    alike: str = ""


def returns_that_count(role: str = "") -> tuple[list[Returned], int]:
    """The returns (about one role, or all) whose newest finding does not clear the axle, and how many it clears."""
    rows = Returned.objects.select_related("axle__item").order_by("number")
    found = list(rows.filter(role=role) if role else rows)
    newest: dict[int, str] = dict(
        Finding.objects.filter(returned__in=found).order_by("pk").values_list("returned", "says")
    )
    counted = [row for row in found if newest.get(row.pk) != FindingWord.OTHER]
    return counted, len(found) - len(counted)


def shared(role: str = "", alike: str = "") -> Shared:
    """Over every axle that left the shop; an axle counts once however often it came back.

    `alike`: the key of a value; each row is then compared within the axles that have it and those that have not. One
    that no axle has is as if none were given.
    """
    counted, set_aside = returns_that_count(role)
    built = frozenset(Shipment.objects.values_list("axle", flat=True))
    failed = frozenset(row.axle_id for row in counted)
    if not failed:
        return Shared(len(built), 0, 0, set_aside=set_aside)
    every = exposure(sorted(built))
    rows = _ranked(every, failed, len(built))
    chosen = next((value for value in every if value.key == alike), None) if alike else None
    if chosen is not None:
        rows = [_beside(row, every, failed, built, every[chosen]) for row in rows]
    return Shared(len(built), len(failed), len(every), rows, set_aside, chosen.words if chosen else "")


def _beside(row: Row, every: Exposed, failed: frozenset[int], built: frozenset[int], alike: frozenset[int]) -> Row:
    """The row with what it says within the axles that are alike, and within the others."""
    exposed = every[row.values[0]]
    if exposed == alike:
        return row
    strata = [
        Counts(len(exposed & failed & part), len(exposed & part), len(failed & part), len(part))
        for part in (alike, built - alike)
    ]
    return replace(row, beside=within(strata))


def _ranked(every: Exposed, failed: frozenset[int], built: int) -> list[Row]:
    """The values that a returned axle has, by rank."""
    alike: dict[frozenset[int], list[Value]] = defaultdict(list)
    for value, those in every.items():
        if those & failed:
            alike[those].append(value)
    sets = list(alike)
    counts = [Counts(len(those & failed), len(those), len(failed), built) for those in sets for _ in alike[those]]
    places = [those for those in sets for _ in alike[those]]
    serials = dict(Axle.objects.filter(pk__in=failed).values_list("pk", "item__mark"))
    rows: dict[frozenset[int], Row] = {}
    for one in rank(counts, len(every)):
        those = places[one.place]
        if those not in rows:
            back = tuple(sorted(serials[pk] for pk in those & failed))
            rows[those] = Row(tuple(sorted(alike[those])), one, back)
    return list(rows.values())


def _asked(value: Value) -> Mapping[str, str]:
    kind = "" if value.kind in (CauseKind.ITEM, CauseKind.GAUGE) else value.kind.value
    asked = {"cause": value.typed, "kind": kind, "day_from": value.day, "day_to": value.day, "shift": value.shift}
    return {name: given for name, given in asked.items() if given}


def shared_list(found: Shared) -> CsvList:
    """Every value that a returned axle has, one line each."""
    head = ("value", "kind", "returned with it", "with it", "returned without it", "without it", "relative risk",
            "from", "to", "p", "least p", "adjusted p", "values looked at", "compared within", "p within",
            "relative risk within")  # fmt: skip
    lines: list[Sequence[object]] = []
    for row in found.rows:
        one, risk = row.suspect, row.suspect.risk
        for value in row.values:
            lines.append((
                value.words, value.kind.value, one.counts.both, one.counts.exposed, *row.others,
                *((f"{risk.ratio:.4g}", f"{risk.low:.4g}", f"{risk.high:.4g}") if risk else ("", "", "")),
                f"{one.p:.6g}", f"{one.least_p:.6g}", f"{one.adjusted:.6g}", found.looked_at,
                *_beside_cells(found, row),
            ))  # fmt: skip
    return CsvList("what-returns-share", head, lines)


def _beside_cells(found: Shared, row: Row) -> tuple[str, str, str]:
    if row.beside is None:
        return ("", "", "")
    risk = row.beside.risk
    return found.alike, f"{row.beside.p:.6g}", f"{risk.ratio:.4g}" if risk else ""
