"""What a reading was taken with: the gauge that the card asks for, for a figure and for a word alike."""

from __future__ import annotations

from datetime import timedelta

import pytest

from builds.actions.claiming import OnPaper, take_up
from builds.models import Visit
from measurements.actions.gauges import NewGauge, retire_gauge, take_in_gauge
from measurements.gauges import GaugeRefused
from measurements.models import Reading
from shop.clock import shop_day
from tests.builds.bench import DUE, Bench, calibrated, open_bench
from tests.builds.bench_cards import card_with, one

pytestmark = pytest.mark.django_db


def characteristic(code: str, kind: str, rest: str) -> str:
    return one(code, kind, f'on_low = "tag"\nsource = "test rule"\n{rest}')


SEATED = 'accepted = ["go"]\nunit = "count"\nlow = 2\nhigh = 2\npositions = 2\ngauge_kind = "feeler"'
CARD = card_with(
    16,
    characteristic("16.1", "go_no_go", 'accepted = ["go"]\ngauge_kind = "feeler"\npositions = 4'),
    characteristic("16.2", "go_no_go", SEATED),
    characteristic("16.3", "go_no_go", 'accepted = ["go"]'),
)
#: mark, kind, unit
GAUGES = (("F-1", "feeler", "in"), ("F-2", "feeler", "in"), ("F-3", "feeler", "in"))


@pytest.fixture(scope="module")
def bench(once_per_module: None) -> Bench:
    """F-1 is good, F-2 has no calibration, F-3 runs out after a day."""
    bench = open_bench(CARD)
    for mark, kind, unit in GAUGES:
        new = NewGauge(mark, kind, kind, unit)
        bench.gauges[mark] = take_in_gauge(gauge=new, by=bench.people["eve"], now=bench.now)
    calibrated(bench, "F-1", shop_day(bench.now), shop_day(bench.now) + DUE)
    calibrated(bench, "F-3", shop_day(bench.now), shop_day(bench.now) + timedelta(days=2))
    return bench


@pytest.fixture(scope="module")
def visit(bench: Bench) -> Visit:
    return bench.begin(bench.axle(), 16)


@pytest.fixture(autouse=True)
def begun(bench: Bench, monkeypatch: pytest.MonkeyPatch) -> None:
    """Each test begins on the first day."""
    monkeypatch.setattr(bench, "now", bench.now)


def refused(bench: Bench, visit: Visit, code: str, text: str, **more: str) -> str:
    """The sentence of the refusal, which names the gauge and leaves nothing behind."""
    before = Reading.objects.count()
    with pytest.raises(GaugeRefused) as found:
        bench.enter(visit, code, text, **more)
    assert (Reading.objects.count(), found.value.field) == (before, "gauge")
    return found.value.text


@pytest.mark.parametrize("answer", ["go", "no-go"])
@pytest.mark.parametrize("code", ["16.1", "16.2"])
@pytest.mark.parametrize(
    ("mark", "said"),
    [
        ("", "No gauge was scanned. Scan the feeler you use"),
        ("F-9", "No gauge carries the mark “F-9”"),
        ("F-2", "Gauge F-2 has no calibration on record"),
        ("G-3", "G-3 is a torque wrench; this needs a feeler"),
    ],
)
def test_a_go_or_no_go_without_a_good_gauge_is_no_reading(
    bench: Bench, visit: Visit, code: str, answer: str, mark: str, said: str
) -> None:
    assert said in refused(bench, visit, code, answer, position="1", gauge=mark)


def test_a_go_with_a_gauge_that_ran_out_or_was_retired_is_no_reading(bench: Bench, visit: Visit) -> None:
    first = bench.enter(visit, "16.1", "go", position="1", gauge="F-3").reading
    assert first.verdict == "in", "the control: on the first day it is good"
    retire_gauge(gauge=bench.gauges["F-1"], reason="bent", by=bench.people["eve"], now=bench.later(minutes=1))
    assert "F-1 is retired" in refused(bench, visit, "16.1", "go", position="2", gauge="F-1")
    bench.later(days=3)
    assert "F-3 is overdue" in refused(bench, visit, "16.1", "go", position="2", gauge="F-3")


@pytest.mark.parametrize(("code", "answer", "verdict"), [("16.1", "go", "in"), ("16.2", "no-go", "no")])
def test_control_a_go_keeps_its_gauge_and_the_calibration(
    bench: Bench, visit: Visit, code: str, answer: str, verdict: str
) -> None:
    reading = bench.enter(visit, code, answer, position="1", gauge="F-1").reading
    assert (reading.verdict, reading.gauge) == (verdict, bench.gauges["F-1"])
    assert reading.calibration is not None
    assert reading.calibration.certificate == "LAB-F-1"


def test_control_where_the_card_names_no_gauge_none_is_asked_for(bench: Bench, visit: Visit) -> None:
    reading = bench.enter(visit, "16.3", "go").reading
    assert (reading.verdict, reading.gauge, reading.calibration) == ("in", None, None)


# Work entered late from paper: the gauge as it was when the work was done.


@pytest.fixture(scope="module")
def on_paper(bench: Bench) -> Visit:
    """Done on the first day, typed in 40 days later."""
    ada, ben = bench.people["ada"], bench.people["ben"]
    assert ben.person is not None
    paper = OnPaper(ben.person, bench.now)
    return take_up(bench=bench.axle(), key="16/", by=ada, paper=paper, now=bench.now + timedelta(days=40))


def test_a_gauge_retired_since_the_work_was_good_then(bench: Bench, visit: Visit, on_paper: Visit) -> None:
    retire_gauge(gauge=bench.gauges["F-1"], reason="bent", by=bench.people["eve"], now=bench.later(days=39))
    bench.later(days=1)
    reading = bench.enter(on_paper, "16.1", "go", position="1", gauge="F-1").reading
    assert (reading.verdict, reading.gauge, reading.late) == ("in", bench.gauges["F-1"], True)
    assert reading.happened_at == on_paper.worked_at
    assert "F-1 is retired" in refused(bench, visit, "16.1", "go", position="1", gauge="F-1"), (
        "the control: work of now"
    )


def test_a_gauge_that_ran_out_since_the_work_keeps_the_calibration_of_then(
    bench: Bench, visit: Visit, on_paper: Visit
) -> None:
    bench.later(days=40)
    calibrated(bench, "F-1", shop_day(bench.now) - timedelta(days=1), shop_day(bench.now) + DUE)
    first, last = bench.gauges["F-1"].calibrations.order_by("made_on")
    assert bench.enter(on_paper, "16.1", "go", position="1", gauge="F-1").reading.calibration == first
    assert bench.enter(visit, "16.1", "go", position="1", gauge="F-1").reading.calibration == last
    assert bench.enter(on_paper, "16.1", "go", position="2", gauge="F-3").reading.verdict == "in"
    assert "F-3 is overdue" in refused(bench, visit, "16.1", "go", position="2", gauge="F-3")


def test_a_gauge_calibrated_only_after_the_work_was_not_good_then(bench: Bench, visit: Visit, on_paper: Visit) -> None:
    bench.later(days=40)
    calibrated(bench, "F-2", shop_day(bench.now), shop_day(bench.now) + DUE)
    said = refused(bench, on_paper, "16.1", "go", position="1", gauge="F-2")
    assert "F-2 has no calibration on record" in said
    assert f"It was measured on {shop_day(on_paper.worked_at):%d %b %Y}, and the gauge counts as it stood then." in said
    assert bench.enter(visit, "16.1", "go", position="1", gauge="F-2").reading.verdict == "in", "the control"


def test_a_gauge_that_was_overdue_at_the_work_and_is_calibrated_since(bench: Bench) -> None:
    """Calibrated again a week after it ran out; the work was in between."""
    begin, ada = bench.now, bench.people["ada"]
    ben = bench.people["ben"].person
    assert ben is not None
    bench.later(days=10)
    calibrated(bench, "F-3", shop_day(bench.now), shop_day(bench.now) + DUE)
    worked, between = bench.later(days=1), begin + timedelta(days=5)
    late = [
        take_up(bench=bench.axle(), key="16/", by=ada, paper=OnPaper(ben, at), now=worked)
        for at in (between, begin + timedelta(days=10, hours=1))
    ]
    assert "F-3 is overdue" in refused(bench, late[0], "16.1", "go", position="1", gauge="F-3")
    assert bench.enter(late[1], "16.1", "go", position="1", gauge="F-3").reading.verdict == "in", "the control"
