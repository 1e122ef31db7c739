"""The reach list over the loaded demo: what RULES and story name, by the page's own words for a cause."""

from __future__ import annotations

from django.utils import timezone

from builds.forms.reach import ReachForm
from builds.reports.reach.answer import Reached, Spot
from builds.reports.reach.found import reach
from shop.codes import running_number
from shop.models import Part, Piece
from tests.builds.told import BORES, SUPPLIERS

__all__ = ["SUPPLIERS", "every_story"]


def asked(**typed: str) -> Reached:
    form = ReachForm(typed)
    question = form.question(timezone.now())
    assert question is not None, form.errors
    return reach(question)


def numbers(found: Reached, spot: Spot) -> set[str]:
    return {running_number(row.axle) for row in found.at_spot(spot) if row.axle}


def story_b_and_e() -> None:
    """The recalled heat: in two shipped axles and one in paint, once in 0138, on the rack, and one unmarked remnant."""
    found = asked(cause="~H:Q7731")
    assert numbers(found, Spot.SHIPPED) == {"0132", "0133"}
    assert numbers(found, Spot.FLOOR) == {"0140"}
    assert numbers(found, Spot.FORMERLY) == {"0138"}
    (former,) = found.at_spot(Spot.FORMERLY)
    assert Piece.objects.get(item=former.item).heat_id == found.question.causes[0].ids[0]
    assert former.where == "now in the scrap bin"
    assert "Q7731-R1" in {row.mark for row in found.at_spot(Spot.REMNANTS)}
    assert [row.mark for row in found.at_spot(Spot.UNKNOWN)] == ["RM-26"]
    other = asked(cause="~H:Q7714")
    assert {"0132", "0133"} & numbers(other, Spot.SHIPPED) == {"0132", "0133"}  # their other side
    assert "0141" not in numbers(other, Spot.SHIPPED)
    assert "0138" in numbers(other, Spot.FLOOR)


def story_d() -> None:
    """The gauge that reads high: six axles and no others, and none of the days before and after."""
    found = asked(cause="G-014")
    assert numbers(found, Spot.SHIPPED) == set(BORES)
    assert len(found.rows) == len(BORES)


def story_k() -> None:
    """The robbed differential: formerly in 0148, now in the kit of 0149."""
    found = asked(cause="DF-2207")
    assert numbers(found, Spot.FORMERLY) == {"0148"}
    (kept,) = found.at_spot(Spot.STOCK)
    assert (kept.mark, "0149" in kept.where) == ("DF-2207", True)
    assert not numbers(found, Spot.FLOOR)
    assert Part.objects.filter(item=kept.item).exists()


def story_m() -> None:
    """The seal lot went into four axles; with this assembler at the same work, into two."""
    assert numbers(asked(cause="PS-118"), Spot.SHIPPED) == {"0131", "0132", "0134", "0136"}
    both = asked(cause="PS-118", other="rusk", together="same")
    assert numbers(both, Spot.SHIPPED) == {"0131", "0132"}


def every_story() -> None:
    story_b_and_e()
    story_d()
    story_k()
    story_m()
