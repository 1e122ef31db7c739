"""Identity and length through the saw: balance, what cannot be, the bar that is cut up, tags, and the reach list."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from html import unescape

import pytest
from django.db import IntegrityError, transaction
from django.urls import reverse
from django.utils import timezone

from builds.actions.fitting import fit_part, take_out
from builds.actions.judging import Entered
from builds.actions.measuring import enter_reading
from builds.actions.receiving import NewBar, take_in_bar
from builds.actions.removing import Out, remove_part
from builds.actions.sawing import Measure, measure_bar
from builds.errors import NotFree
from builds.forms.reach import ReachForm
from builds.models import BarMeasure, Fitted, Visit
from builds.reports.balance import balance_of
from builds.reports.labels import find_label, remnant_kind
from builds.reports.reach.answer import Reached, Spot
from builds.reports.reach.found import reach
from builds.scenario.driver import Builder
from shop.errors import Refusal
from shop.models import Heat, PartKind, Piece, Place
from tests.bad_input import tallies
from tests.factories import signed_in_client, with_key
from tests.shopfloor import Floor, open_shop

pytestmark = pytest.mark.django_db
MARKS = iter(range(100, 1000))


@pytest.fixture(scope="module")
def floor(once_per_module: None) -> Floor:
    return open_shop()


@pytest.fixture(scope="module")
def sawyer(floor: Floor) -> Builder:
    builder = floor.builder(floor.axle())
    builder.kit()
    builder.run(until=30)
    return builder


def bar_of(floor: Floor, length: str | None = "60", heat: str = "Q7714") -> Piece:
    kind, melt = PartKind.objects.get(code="tube_piece"), Heat.objects.get(item__mark=heat)
    new = NewBar(f"SAW-{next(MARKS)}", kind, melt, Decimal(length) if length else None)
    return take_in_bar(bar=new, by=floor.who("jory"))


def at_saw(sawyer: Builder, side: str = "left") -> Visit:
    if side == "right":  # the other side was entered by the clock meanwhile
        sawyer.now = timezone.now()
    return sawyer.begin(f"30/{side}")


def cut(floor: Floor, visit: Visit, bar: Piece) -> Fitted:
    return fit_part(visit=visit, scan=bar.item.mark, by=floor.who("tam", "TP"))


def read(floor: Floor, visit: Visit, code: str, value: str, reason: str = "") -> None:
    entered = Entered(code, text=value, unit="in", gauge=floor.gauges["tape_or_rule"][0].item.mark, reason=reason)
    enter_reading(visit=visit, entered=entered, by=floor.who("tam", "TP"))


def sawn(floor: Floor, sawyer: Builder, bar: Piece, rest: str, length: str = "24.86") -> Fitted:
    visit = at_saw(sawyer)
    fitted = cut(floor, visit, bar)
    read(floor, visit, "30.1", length)
    read(floor, visit, "30.a", rest)
    return fitted


def where(bar: Piece) -> str:
    return Place.objects.get(pk=bar.pk).where


def reached(heat: str = "Q7714") -> Reached:
    question = ReachForm({"cause": f"~H:{heat}"}).question(timezone.now())
    assert question is not None
    return reach(question)


def marks_at(found: Reached, spot: Spot) -> set[str]:
    return {row.mark for row in found.at_spot(spot)}


def test_cut_kerf_remnant_and_difference_make_the_bar(floor: Floor, sawyer: Builder) -> None:
    """60 = 24.86 + 1/16 + 34.5 + .5775 (calculated)."""
    bar = bar_of(floor)
    sawn(floor, sawyer, bar, "34.5")
    now = balance_of(bar)
    assert (now.cut, now.kerf, now.remnant, now.scrap) == (
        Decimal("24.86"), Decimal("0.0625"), Decimal("34.5"), Decimal(0),
    )  # fmt: skip
    assert now.difference == Decimal("0.5775")
    assert where(bar) == "stock"


def test_a_bar_with_nothing_left_is_no_longer_in_stock(floor: Floor, sawyer: Builder) -> None:
    bar = bar_of(floor, "25")
    assert bar.item.mark in marks_at(reached(), Spot.REMNANTS)  # the control: before the cut it is
    sawn(floor, sawyer, bar, "0")
    assert where(bar) == "cut_up"
    found = reached()
    assert bar.item.mark not in {row.mark for row in found.rows}
    assert sawyer.axle.serial in found.axles
    with pytest.raises(NotFree, match="is cut up, nothing is left of it"):
        cut(floor, at_saw(sawyer, "right"), bar)


def test_a_rest_that_turns_up_puts_the_bar_back(floor: Floor, sawyer: Builder) -> None:
    bar = bar_of(floor)
    sawn(floor, sawyer, bar, "0")
    measure_bar(bar=bar, measure=Measure("remnant", Decimal("34")), by=floor.who("tam"))
    assert where(bar) == "stock"


def test_a_piece_longer_than_its_bar_is_refused(floor: Floor, sawyer: Builder) -> None:
    bar = bar_of(floor, None)
    visit = at_saw(sawyer)
    piece = cut(floor, visit, bar).part
    measure_bar(bar=bar, measure=Measure("length", Decimal("24.5"), "taped"), by=floor.who("tam"))
    with pytest.raises(Refusal, match=r"The piece of 24\.86 in cannot be: bar .* was 24\.5 in long"):
        read(floor, visit, "30.1", "24.86")
    assert Piece.objects.get(pk=piece.pk).length is None
    measure_bar(bar=bar, measure=Measure("length", Decimal("240"), "wrong tag"), by=floor.who("tam"))
    read(floor, visit, "30.1", "24.86")
    assert Piece.objects.get(pk=piece.pk).length == Decimal("24.86")
    assert [row.length for row in BarMeasure.objects.filter(bar=bar)] == [Decimal("24.5"), Decimal("240")]


def test_the_page_says_so_and_keeps_what_was_typed(floor: Floor, sawyer: Builder) -> None:
    bar, tam = bar_of(floor, None), signed_in_client(floor.people["tam"])
    visit = at_saw(sawyer)
    cut(floor, visit, bar)
    measure_bar(bar=bar, measure=Measure("length", Decimal("24.5"), "taped"), by=floor.who("tam"))
    gauge, before = floor.gauges["tape_or_rule"][0].item.mark, tallies()
    typed = {"characteristic": "30.1", "position": "", "value": "24.86", "unit": "in", "gauge": gauge, "try": "1"}
    url = reverse("station_reading", args=[sawyer.axle.serial, 30, "left"])
    answer = tam.post(url, with_key(**typed))
    page = unescape(answer.content.decode())
    assert answer.status_code == 422
    assert "The piece of 24.86 in cannot be: bar" in page
    assert 'value="24.86"' in page
    assert tallies() == before
    measure_bar(bar=bar, measure=Measure("length", Decimal("240"), "wrong tag"), by=floor.who("tam"))
    assert tam.post(url, with_key(**typed)).status_code == 303


def test_a_bar_known_too_short_is_refused_at_its_scan(floor: Floor, sawyer: Builder) -> None:
    visit = at_saw(sawyer)
    with pytest.raises(NotFree, match=r"has 20 in left; this piece is at least 24\.8 in long"):
        cut(floor, visit, bar_of(floor, "20"))
    cut(floor, visit, bar_of(floor, "25"))


def test_a_remnant_longer_than_can_be_left_is_refused(floor: Floor, sawyer: Builder) -> None:
    bar = bar_of(floor)
    visit = at_saw(sawyer)
    cut(floor, visit, bar)
    read(floor, visit, "30.1", "24.86")
    with pytest.raises(Refusal, match=r"A remnant of 40 in cannot be: .* are 4\.86 in more than that"):
        read(floor, visit, "30.a", "40")


@pytest.mark.parametrize(
    ("what", "length", "reason", "said"),
    [
        ("remnant", "-1", "", "more than nothing"),
        ("scrap", "0", "", "only what is left of a bar may be 0"),
        ("length", "50", "", "why the length is put right"),
        ("weight", "5", "", "Say what was measured"),
        ("scrap", "61", "", "cannot be"),
        ("remnant", "60.1", "", "cannot be"),
    ],
)
def test_a_length_that_cannot_be_is_refused(floor: Floor, what: str, length: str, reason: str, said: str) -> None:
    bar = bar_of(floor)
    with pytest.raises(Refusal, match=said):
        measure_bar(bar=bar, measure=Measure(what, Decimal(length), reason), by=floor.who("tam"))
    assert not BarMeasure.objects.filter(bar=bar).exists()
    with pytest.raises(Refusal, match="tube prep"):
        measure_bar(bar=bar, measure=Measure("remnant", Decimal(50)), by=floor.who("rusk"))


def test_scrapped_ends_add_up_and_the_last_takes_the_bar_along(floor: Floor, sawyer: Builder) -> None:
    bar = bar_of(floor, "25")
    visit = at_saw(sawyer)
    cut(floor, visit, bar)
    read(floor, visit, "30.1", "24.86")
    measure_bar(bar=bar, measure=Measure("scrap", Decimal("0.1"), "marked end"), by=floor.who("tam"))
    assert (where(bar), balance_of(bar).scrap) == ("stock", Decimal("0.1"))
    measure_bar(bar=bar, measure=Measure("scrap", Decimal("0.04")), by=floor.who("tam"))
    assert where(bar) == "scrap"
    assert bar.item.mark in marks_at(reached(), Spot.GONE)


def test_a_piece_in_the_scrap_bin_is_found(floor: Floor, sawyer: Builder) -> None:
    fitted = sawn(floor, sawyer, bar_of(floor), "34.5")
    out = Out("bore oversize", "scrap")
    remove_part(fitted=fitted, out=out, by=floor.who("tam", "TP"))
    rows = [row for row in reached().at_spot(Spot.FORMERLY) if row.mark == fitted.part.mark]
    assert [(row.axle, row.where) for row in rows] == [(sawyer.axle.serial, "now in the scrap bin")]


def test_a_piece_used_again_is_found_in_both_axles(floor: Floor, sawyer: Builder) -> None:
    fitted = sawn(floor, sawyer, bar_of(floor), "34.5")
    remove_part(fitted=fitted, out=Out("other axle first", "stock"), by=floor.who("tam", "TP"))
    other = floor.builder(floor.axle())
    other.kit()
    other.run(until=30)
    again = fit_part(visit=other.begin("30/left"), scan=fitted.part.mark, by=floor.who("tam", "TP"))
    assert again.part_id == fitted.part_id
    found = reached()
    assert other.axle.serial in {row.axle for row in found.at_spot(Spot.FLOOR)}
    assert (fitted.part.mark, sawyer.axle.serial) in {(row.mark, row.axle) for row in found.at_spot(Spot.FORMERLY)}


def test_what_has_no_readable_mark_stays_not_determinable_for_ever(floor: Floor) -> None:
    kind = PartKind.objects.get(code="tube_piece")
    new = NewBar(f"SAW-{next(MARKS)}", kind, length=Decimal(26), mark_readable=False)
    made = take_in_bar(bar=new, by=floor.who("jory"))
    assert where(made) == "quarantine"
    assert made.item.mark in marks_at(reached(), Spot.UNKNOWN)
    assert made.item.mark in marks_at(reached("R7120"), Spot.UNKNOWN)
    melt = Heat.objects.get(item__mark="Q7714")
    with pytest.raises(IntegrityError, match="not determinable is for ever"), transaction.atomic():
        Piece.objects.filter(pk=made.pk).update(heat=melt)
    with pytest.raises(IntegrityError), transaction.atomic():
        Piece.objects.filter(pk=made.pk).update(mark_readable=True)
    Piece.objects.filter(pk=made.pk).update(length=Decimal(25))  # the control: only the length follows the tape


def test_a_remnant_has_a_tag_of_its_own_after_each_cut(floor: Floor, sawyer: Builder) -> None:
    bar = bar_of(floor)
    assert (remnant_kind(bar.item), find_label(bar.item, "remnant-1")) == ("", None)
    fitted = sawn(floor, sawyer, bar, "34.5")
    label = find_label(bar.item, "remnant-1")
    assert label is not None
    assert (label.heading, label.mark) == ("Remnant", bar.item.mark)
    assert label.lines[:2] == ("heat Q7714", "34.5 in measured")
    assert find_label(bar.item, "remnant-2") is None
    piece = find_label(fitted.part, "piece")
    assert piece is not None
    assert piece.lines[:2] == ("heat Q7714", f"{sawyer.axle.serial} left")


def test_a_remnant_measured_before_the_last_cut_tells_nothing(floor: Floor, sawyer: Builder) -> None:
    bar = bar_of(floor, "120")
    fitted = sawn(floor, sawyer, bar, "95")
    take_out(fitted=fitted, reason="sawn crooked", to="scrap", by=floor.who("tam", "TP"))
    assert fitted.visit is not None
    cut(floor, fitted.visit, bar)
    now = balance_of(bar)
    assert (now.remnant, now.left, len(now.unread)) == (None, None, 1)


def test_a_balance_without_a_length_says_nothing_it_does_not_know(floor: Floor) -> None:
    now = balance_of(bar_of(floor, None))
    assert (now.length, now.left, now.difference) == (None, None, None)
    assert replace(now, length=Decimal(10)).left == Decimal(10)
