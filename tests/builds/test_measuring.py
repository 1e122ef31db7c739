"""One Enter, through the action: where the limits' edges lie, what is converted and rounded, what is asked about.

The rules restated here are the house's: limits are inclusive and judged in the drawing's unit, exactly; a metric
entry is converted, rounded to the gauge's step, then judged. Figures marked "calculated" were worked out by hand
from 1 in = 25.4 mm, 1 ft-lb = 1.355 817 948 N·m and C = (F - 32) / 1.8.
"""

from __future__ import annotations

from decimal import Decimal

import pytest

from builds.actions.adding import void_reading
from builds.actions.deciding import Decided, decide
from builds.actions.finishing import finish
from builds.actions.measuring import Taken
from builds.errors import FarOff, NotSignable
from builds.models import Visit
from measurements.models import Reading
from shop.errors import Refusal
from shop.record.models import Event
from tests.builds.bench import Bench, open_bench
from tests.builds.bench_cards import MEASURING_CARD

pytestmark = pytest.mark.django_db


@pytest.fixture(scope="module")
def bench(once_per_module: None) -> Bench:
    return open_bench(MEASURING_CARD)


@pytest.fixture(scope="module")
def every(bench: Bench) -> Visit:
    """Operation 12, which has every kind of entry, in hand."""
    return bench.begin(bench.axle(), 12)


@pytest.fixture(scope="module")
def bore(bench: Bench) -> Visit:
    return bench.begin(bench.axle(), 10)


def rows() -> tuple[int, int]:
    return Reading.objects.count(), Event.objects.count()


@pytest.mark.parametrize(
    ("code", "position", "text", "verdict"),
    [
        # two-sided, 3.0625 to 3.0637: the limits are in, one step of the gauge beyond is out
        ("10.1", "A", "3.0625", "in"),
        ("10.1", "A", "3.0637", "in"),
        ("10.1", "A", "3.0624", "below"),
        ("10.1", "A", "3.0638", "above"),
        ("10.1", "A", "3.06250", "in"),
        ("10.1", "A", " 3.0637 ", "in"),
        # a high limit alone, a low limit alone: the other side is open
        ("12.2", "", ".003", "in"),
        ("12.2", "", ".0031", "above"),
        ("12.2", "", "0", "in"),
        ("12.2", "", "-.0001", "in"),
        ("12.3", "", "0.5", "in"),
        ("12.3", "", "1.9", "in"),
        # a target with a tolerance, 105 and 5
        ("12.4", "", "100", "in"),
        ("12.4", "", "110", "in"),
        ("12.4", "", "99", "below"),
        ("12.4", "", "111", "above"),
        # what must never be passed: on the figure is above the limit, beyond it stops
        ("12.5", "", "250", "in"),
        ("12.5", "", "251", "above"),
        ("12.5", "", "275", "above"),
        ("12.5", "", "276", "never"),
        ("12.6", "", "0", "in"),
        ("12.6", "", "1", "above"),
        ("12.7", "", "scratch on the flange", "none"),
        ("12.8", "", "straw", "in"),
        ("12.8", "", "blue", "no"),
        ("12.9", "", "yes", "in"),
        ("12.9", "", "no", "no"),
        ("12.10", "", "now", "none"),
    ],
)
def test_the_edge_of_the_limits(
    bench: Bench, bore: Visit, every: Visit, code: str, position: str, text: str, verdict: str
) -> None:
    visit = bore if code.startswith("10") else every
    taken = bench.enter(visit, code, text, position=position)
    row = Reading.objects.get(pk=taken.reading.pk)
    assert (row.verdict, row.typed, row.questioned) == (verdict, text.strip() if text != "now" else row.typed, False)


def test_the_limits_of_the_moment_stand_beside_the_value(bench: Bench, bore: Visit) -> None:
    row = Reading.objects.get(pk=bench.enter(bore, "10.1", "3.0652", position="A").reading.pk)
    assert (row.low, row.high, row.value) == (Decimal("3.0625"), Decimal("3.0637"), Decimal("3.0652"))
    assert (row.gauge, row.ring) == (bench.gauges["G-1"], bench.gauges["G-2"])
    assert row.calibration == bench.gauges["G-1"].calibrations.get()


@pytest.mark.parametrize(
    ("code", "text", "unit", "value", "verdict"),
    [
        # calculated: 77.8 / 25.4 = 3.062992..., to the step of .0001: 3.0630
        ("10.1", "77.8", "mm", "3.0630", "in"),
        # calculated: 77.816 / 25.4 = 3.0636220..., rounds to 3.0636; 77.8192 / 25.4 = 3.0637480..., rounds to 3.0637:
        # in, though not rounded it would be above 3.0637
        ("10.1", "77.816", "mm", "3.0636", "in"),
        ("10.1", "77.8192", "mm", "3.0637", "in"),
        # calculated: 77.82 / 25.4 = 3.0637795..., rounds to 3.0638
        ("10.1", "77.82", "mm", "3.0638", "above"),
        # calculated: 77.7868 / 25.4 = 3.0624724..., rounds to 3.0625: in; 77.786 / 25.4 = 3.0624409... to 3.0624
        ("10.1", "77.7868", "mm", "3.0625", "in"),
        ("10.1", "77.786", "mm", "3.0624", "below"),
        # calculated: 149 / 1.355818 = 109.9, to 110; 149.9 / 1.355818 = 110.56..., to 111
        ("12.4", "149", "N·m", "110", "in"),
        ("12.4", "149.9", "N·m", "111", "above"),
        # calculated: 121.1 °C = 249.98 °F, to 250; 121.4 °C = 250.52 °F, to 251
        ("12.5", "121.1", "C", "250", "in"),
        ("12.5", "121.4", "C", "251", "above"),
    ],
)
def test_a_metric_entry_is_converted_rounded_to_the_step_then_judged(
    bench: Bench, bore: Visit, every: Visit, code: str, text: str, unit: str, value: str, verdict: str
) -> None:
    on_bore = code.startswith("10")
    taken = bench.enter(bore if on_bore else every, code, text, unit=unit, position="A" if on_bore else "")
    row = Reading.objects.get(pk=taken.reading.pk)
    assert (row.typed, row.unit_typed, row.value, row.verdict) == (text, unit, Decimal(value), verdict)


def computed(taken: Taken) -> dict[str, tuple[Decimal | None, str]]:
    return {row.characteristic.code: (row.value, row.verdict) for row in taken.computed}


def test_a_difference_on_its_limit_is_in(bench: Bench, every: Visit) -> None:
    """In binary floats 3.0652 - 3.0642 is .000999999..., below the limit of .0010 (house rule on exactness)."""
    assert 3.0652 - 3.0642 < 0.001
    bench.enter(every, "12.13", "3.0652")
    assert computed(bench.enter(every, "12.14", "3.0642"))["12.15"] == (Decimal(".001"), "in")


def test_a_variation_on_its_limit_is_in(bench: Bench, every: Visit) -> None:
    """In binary floats .0082 - .0062 is .0020000000000000..., above the limit of .0020."""
    assert 0.0082 - 0.0062 > 0.002
    for position, text in (("1", ".0082"), ("2", ".0062"), ("3", ".007")):
        assert computed(bench.enter(every, "12.1", text, position=position)) == {}
    assert computed(bench.enter(every, "12.1", ".0065", position="4"))["12.16"] == (Decimal(".002"), "in")


def test_one_step_more_is_out(bench: Bench, every: Visit) -> None:
    for position, text in (("1", ".0083"), ("2", ".0062"), ("3", ".007")):
        bench.enter(every, "12.1", text, position=position)
    taken = bench.enter(every, "12.1", ".0065", position="4")
    assert computed(taken)["12.16"] == (Decimal(".0021"), "above")
    assert [tag.cause for tag in taken.reacted.tags] == ["12.16 N 12.16: 0.0021 in, above the limit."]


def test_a_slipped_decimal_is_asked_about_and_kept_only_after_the_answer(bench: Bench, every: Visit) -> None:
    before = rows()
    with pytest.raises(FarOff, match=r"8 is out of limits, but 0\.008 would be in") as asked:
        bench.enter(every, "12.1", "8", position="1")
    assert (asked.value.meant, asked.value.field, rows()) == ("0.008", "value", before)
    row = bench.enter(every, "12.1", "8", position="1", sure=True).reading
    assert (row.value, row.verdict, row.questioned) == (Decimal(8), "above", True)


def test_below_a_low_limit_alone_a_moved_point_is_always_in_so_it_is_asked_about(bench: Bench, every: Visit) -> None:
    with pytest.raises(FarOff, match=r"0\.4999 is out of limits, but 4\.999 would be in"):
        bench.enter(every, "12.3", ".4999")
    assert bench.enter(every, "12.3", ".4999", sure=True).reading.verdict == "below"


def test_what_was_not_asked_about_does_not_say_that_it_was(bench: Bench, every: Visit) -> None:
    assert not bench.enter(every, "12.1", ".008", position="1", sure=True).reading.questioned


def test_five_tolerances_away_is_asked_about_and_not_on_the_edge(bench: Bench, every: Visit) -> None:
    """Calculated: the limits .006 to .009 are .003 wide, so .009 + 5 x .003 = .0240 is not yet far off."""
    assert bench.enter(every, "12.1", ".024", position="1").reading.verdict == "above"
    with pytest.raises(FarOff, match="more than five times the tolerance"):
        bench.enter(every, "12.1", ".0241", position="2")


def test_a_new_try_stands_beside_the_old_one(bench: Bench, bore: Visit) -> None:
    first = bench.enter(bore, "10.1", "3.0630", position="A").reading
    second = bench.enter(bore, "10.1", "3.0631", position="A", reason="  read again,  cold ", try_number=2).reading
    assert (second.attempt, second.replaces, second.reason) == (2, first, "read again, cold")
    assert [row.typed for row in Reading.objects.filter(characteristic__code="10.1").order_by("pk")][-2:] == [
        "3.0630", "3.0631",
    ]  # fmt: skip


def test_a_void_reading_is_missing_again_and_cannot_be_signed_around(bench: Bench, bore: Visit) -> None:
    bench.enter(bore, "10.1", "3.0630", position="A")
    wrong = bench.enter(bore, "10.1", "3.0631", position="B").reading
    void_reading(reading=wrong, reason="taken on the next axle", by=bench.people["ada"], now=bench.later(minutes=1))
    assert bench.blanks(bore) == ["10.1 B", "10.2"]
    with pytest.raises(NotSignable, match=r"10\.1 Hub bore, position B: no reading"):
        finish(visit=bore, grant=bench.grant("ada"), by=bench.people["ada"], now=bench.later(seconds=5))
    with pytest.raises(Refusal, match="void already"):
        void_reading(reading=wrong, reason="again", by=bench.people["ada"], now=bench.later(seconds=5))
    again = bench.enter(bore, "10.1", "3.0632", position="B", reason="on this axle").reading
    assert (again.attempt, bench.blanks(bore)) == (2, [])
    assert Reading.objects.get(pk=wrong.pk).typed == "3.0631"


def test_what_was_computed_from_a_void_reading_is_void_and_computed_anew(bench: Bench, bore: Visit) -> None:
    """Calculated: 3.0637 - 3.0625 = .0012, over the limit of .0005; that must not hide behind the void 3.0630."""
    bench.enter(bore, "10.1", "3.0637", position="A")
    taken = bench.enter(bore, "10.1", "3.0625", position="B")
    assert computed(taken)["10.2"] == (Decimal(".0012"), "above")
    what, grant = Decided("use_as_is", "read it again first"), bench.grant("eve", "released")
    decide(tag=taken.reacted.tags[0], decided=what, grant=grant, by=bench.people["eve"], now=bench.later(seconds=20))
    wrong = bench.enter(bore, "10.1", "3.0630", position="A", reason="read again")
    assert computed(wrong)["10.2"] == (Decimal(".0005"), "in")
    with pytest.raises(Refusal, match=r"10\.2 is computed\. Declare the reading void that it was computed from"):
        void_reading(reading=wrong.computed[0], reason="x", by=bench.people["ada"], now=bench.later(minutes=1))
    void_reading(reading=wrong.reading, reason="other axle", by=bench.people["ada"], now=bench.later(minutes=1))
    rows = Reading.objects.filter(characteristic__code="10.2", item=bore.item).order_by("pk")
    assert [(row.value, row.verdict, hasattr(row, "voiding")) for row in rows] == [
        (Decimal(".0012"), "above", False), (Decimal(".0005"), "in", True), (Decimal(".0012"), "above", False),
    ]  # fmt: skip


@pytest.mark.parametrize("reason", ["", "   ", "x" * 301])
def test_voiding_needs_a_reason(bench: Bench, bore: Visit, reason: str) -> None:
    wrong, before = bench.enter(bore, "10.1", "3.0631", position="A").reading, rows()
    with pytest.raises(Refusal) as refused:
        void_reading(reading=wrong, reason=reason, by=bench.people["ada"], now=bench.later(seconds=5))
    assert (refused.value.field, rows()) == ("reason", before)
