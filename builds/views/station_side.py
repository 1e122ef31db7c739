"""The right of the station page: the newest result and what follows, parts, computed values, stops."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from django.urls import reverse

from builds.actions.computing import STORED_PLACES, fit_of
from builds.definitions.words import Kind
from builds.models import Visit
from builds.permissions import role_words
from builds.reports.deciders import deciders
from builds.reports.pending import Pending, consequence_of, tags_in_the_way
from builds.reports.recomputing import group_of
from builds.reports.windows import how_worked_out
from builds.reports.wording import (
    VERDICT_KIND,
    VERDICT_WORDS,
    by_how_much,
    day,
    figure,
    limits,
    other_figure,
    shown,
    unit_words,
)
from builds.reports.work import Place, Work
from builds.views.station_frame import noun, urls
from builds.views.station_picture import window
from measurements.engineering.computations import as_decimal
from measurements.engineering.limits import Limits
from measurements.models import OUT, Reading


def latest(work: Work, out: Sequence[Pending], fresh: bool) -> dict[str, Any] | None:
    """The newest entry of this visit, or an out-of-limit value that still waits, with what the card says to do."""
    entered = [place for place in work.places if place.last is not None and place.asked.kind is not Kind.COMPUTED]
    if not entered:
        return None
    place = max(entered, key=lambda found: found.tries[-1].pk)
    computed = [found for found in out if found.place.asked.kind is Kind.COMPUTED]
    last = place.last
    assert last is not None
    if computed and last.verdict not in OUT:
        place, last = computed[0].place, computed[0].reading
    return _told(work, place, last, fresh)


def _told(work: Work, place: Place, last: Reading, fresh: bool) -> dict[str, Any]:
    asked = place.asked
    name = f"{noun(place)} {place.position}".strip() or asked.name
    value = f"{shown(last, asked.decimals)}"
    kind = VERDICT_KIND[last.verdict]  # type: ignore[index]
    if last.verdict in OUT:
        gap = by_how_much(last, asked)
        words = f"{name} is {VERDICT_WORDS[last.verdict]}: {value}" + (f", {gap}" if gap else "")  # type: ignore[index]
    elif kind == "in":
        words = f"{name} is in: {value}"
    else:
        words = f"{name} recorded: {value}"
    follows = consequence_of(work, place, last)
    told: dict[str, Any] = {"kind": kind or "in", "words": words, "window": window(last, place)}
    told["tone"] = ("out" if last.verdict in OUT else "in") if fresh else ""
    told["reaction"] = follows.text
    if follows.kind in ("repeat", "wait") and asked.kind is not Kind.COMPUTED:
        query = f"?characteristic={asked.code}&position={place.position}"
        told["again"] = {
            "label": f"Repeat {name[:1].lower() + name[1:] if noun(place) else name}",
            "url": urls(work.visit)["here"] + query,
        }
    return told


def parts(work: Work) -> list[dict[str, Any]]:
    rows = []
    for need in work.beside.needs:
        fitted = ", ".join(dict.fromkeys(row.part.mark for row in need.fitted))
        aside = ", ".join(dict.fromkeys(line.part.mark for line in need.aside))
        rows.append(
            {
                "name": f"{need.kind_name}, {need.amount}" if need.amount != "1" else need.kind_name,
                "state": "done" if not need.to_fit else "ready" if need.aside else "not yet",
                "fitted": fitted,
                "note": f"in the kit: {aside}" if need.to_fit and aside else "",
            }
        )
    return rows


def computed(work: Work) -> list[dict[str, Any]]:
    rows: list[dict[str, Any]] = []
    told: set[str] = set()
    for place in work.places:
        if place.asked.kind is not Kind.COMPUTED:
            continue
        last = place.last
        how = "" if place.asked.code in told else how_worked_out(place.asked, work.bench.card_revision.card)
        told.add(place.asked.code)
        row: dict[str, Any] = {
            "code": place.asked.code,
            "name": f"{place.asked.name} {place.position}".strip(),
            "limits": limits(place.asked),
            "how": how,
            "shown": "",
        }
        if last is not None and last.value is not None:
            unit = unit_words(place.asked.unit)
            row |= {
                "shown": f"{figure(last.value, place.asked.decimals)} {unit}".strip(),
                "other": other_figure(last, place.asked),
                "verdict": VERDICT_KIND[last.verdict],  # type: ignore[index]
                "words": VERDICT_WORDS[last.verdict],  # type: ignore[index]
                **_fit(work, place),
            }
        rows.append(row)
    return rows


def _fit(work: Work, place: Place) -> dict[str, str]:
    """Beside a fit that is judged by its means: its smallest and largest by reading, and whether the smallest is too
    small."""
    asked, results = place.asked, fit_of(work, place.asked)
    group = group_of(place.position, results)
    if group is None:
        return {}
    ends = (as_decimal(results[group].shown[end], STORED_PLACES) for end in ("smallest", "largest"))
    least, most = (figure(end, asked.decimals) for end in ends)
    return {
        "spread": f"{least} to {most} {unit_words(asked.unit)} by single readings",
        "remark": results[group].remark(Limits(asked.low, asked.high)),
    }


def stops(work: Work) -> list[dict[str, Any]]:
    return [
        {
            "why": f"red tag {tag.number}: {tag.cause}",
            "who": f"It is decided by {role_words(deciders(tag))}.",
            "url": reverse("red_tag", args=[tag.number]),
            "url_text": f"See red tag {tag.number}",
        }
        for tag in tags_in_the_way(work.beside)
    ]


def left(visit: Visit) -> dict[str, str] | None:
    if not visit.set_down_note and not visit.set_down_position:
        return None
    text = ". ".join(part for part in (visit.set_down_note, visit.set_down_position) if part)
    return {"who": visit.claimed_by.short_name, "text": text, "when": day(visit.claimed_at)}
