"""What the returned axles share more often than chance would give: suspects by rank. It decides nothing."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from urllib.parse import urlencode

from builds.models import Axle, Finding, FindingWord, Returned, Shipment
from builds.reports.reach.cause import CauseKind
from builds.reports.returns.exposure import Value, exposure
from builds.reports.returns.kept import Held, Looked, rules_now
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
    that no returned axle has is as if none were given. The statements are as many for any number of axles.
    """
    counted, set_aside = returns_that_count(role)
    failed = frozenset(row.axle_id for row in counted)
    if not failed:
        return Shared(Shipment.objects.values("axle").distinct().count(), 0, 0, set_aside=set_aside)
    looked = Looked(rules_now())
    # What came back is always looked through as it stands now: its values are told by their names of today.
    found = exposure(sorted(looked.stale | failed))
    looked.take(found, looked.stale | failed)
    chosen = next((value for value, those in found.items() if value.key == alike and those & failed), None)
    held = looked.held(failed, chosen)
    rows = _ranked(held, looked, len(failed))
    if chosen is not None:
        rows = _beside(rows, held, Counts(0, 0, len(failed), len(looked.built)), chosen)
    return Shared(len(looked.built), len(failed), looked.looked_at, rows, set_aside, chosen.words if chosen else "")


def _beside(rows: list[Row], held: list[Held], every: Counts, chosen: Value) -> list[Row]:
    """Each row with what it says within the axles that are alike, and within the others. `every`: all that left, and
    all that came back."""
    by_value = {one.value: one for one in held}
    alike = by_value[chosen]

    def beside(row: Row) -> Row:
        one = by_value[row.values[0]]
        if one.those == alike.those:
            return row
        inside = Counts(len(one.back & alike.back), one.alike, len(alike.back), alike.axles)
        return replace(row, beside=within([inside, Counts(
            len(one.back) - inside.both, one.axles - one.alike, every.failed - inside.failed, every.built - inside.built
        )]))  # fmt: skip

    return [beside(row) for row in rows]


def _ranked(held: list[Held], looked: Looked, failed: int) -> list[Row]:
    """The values that a returned axle has, by rank.

    Those that none has are counted in `looked_at` and reckoned no further: their p is 1, which stands behind every
    other, so that all they do to the adjusted ones is to be looked at.
    """
    alike: dict[bytes, list[Held]] = defaultdict(list)
    for one in held:
        alike[one.those].append(one)
    places = sorted((one for those in alike.values() for one in those), key=lambda one: one.value)
    counts = [Counts(len(one.back), one.axles, failed, len(looked.built)) for one in places]
    back = frozenset[int]().union(*(one.back for one in held))
    serials = dict(Axle.objects.filter(pk__in=back).values_list("pk", "item__mark"))
    rows: dict[bytes, Row] = {}
    for suspect in rank(counts, looked.looked_at):
        one = places[suspect.place]
        if one.those not in rows:
            values = tuple(sorted(other.value for other in alike[one.those]))
            rows[one.those] = Row(values, suspect, tuple(sorted(serials[pk] for pk in one.back)))
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
