"""Steel is cut from the heat that was looked at for it: which look that is says the card (`heat_from`)."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from builds.actions.choosing import Thing
from builds.errors import NotFree, NotReady
from builds.models import OPEN_STATES, Removal
from builds.reports.kit import NeedState
from builds.reports.marks import describe
from shop.models import Piece


def require_heat_looked_at(
    thing: Thing, need: NeedState, needs: Sequence[NeedState], *, if_known: bool = False
) -> None:
    """Steel goes in only as the heat that was looked at for this side.

    A piece made anew, once one came out of this side, may be of any heat that was looked at for this axle.
    `if_known`: while the kit is picked the look may be still to come; it is asked again when the piece goes in.
    Raises NotReady when no heat was looked at and signed for, NotFree for steel of another one or of an unknown one.
    """
    _nothing_cut_of_another(thing, need, needs)
    role = need.planned.need.heat_from
    if not role:
        return
    looks = [other for other in needs if other.planned.need.role == role]
    own = [other for other in looks if _side(other) in ("", _side(need))]
    looked_at = _looked_at(own)
    side = f"the {_side(need)} side" if _side(need) else "it"
    where = f"operation {own[0].slot.operation.number}" if own else "an operation before"
    if not looked_at and not if_known:
        raise NotReady(f"No heat was looked at and signed for {side} yet: {where} comes first.", field="scan")
    if not looked_at or (thing.heat is not None and thing.heat.pk in looked_at):
        return
    anew = Removal.objects.filter(fitted__host=need.host, fitted__role=need.role).exists()
    if anew and thing.heat is not None and thing.heat.pk in _looked_at(looks):
        return
    its = f"of heat {thing.heat.item.mark}" if thing.heat is not None else "of a heat that is not determinable"
    raise NotFree(
        f"{describe(thing.item)} is {its}; for {side} heat {' and '.join(looked_at.values())} was looked at in {where}."
        " Take steel of that heat; for another one take the heat of the look out again and do the look anew.",
        field="scan",
    )


def _nothing_cut_of_another(thing: Thing, need: NeedState, needs: Sequence[NeedState]) -> None:
    """A look cannot be laid under a piece that was cut already from another heat."""
    for other in needs:
        if other.planned.need.heat_from != need.planned.need.role or _side(need) not in ("", _side(other)):
            continue
        cut = Piece.objects.filter(pk__in=[row.part_id for row in other.fitted]).exclude(heat=thing.item.pk)
        for piece in cut.select_related("item") if other.fitted else ():
            raise NotFree(
                f"{describe(piece.item)} is cut already and is not of heat {thing.item.mark}. Take it out first, or"
                " look at the heat it is of.",
                field="scan",
            )


def _looked_at(looks: Iterable[NeedState]) -> dict[int, str]:
    """The heats of the looks whose pass is signed, by item, with their marks."""
    rows = (row for look in looks for row in look.fitted)
    return {row.part_id: row.part.mark for row in rows if row.visit is None or row.visit.state not in OPEN_STATES}


def _side(need: NeedState) -> str:
    return need.planned.side or need.slot.side
