"""A setting ring's page says where it is asked for: where a card sets a gauge on a ring of its size."""

from __future__ import annotations

import pytest
from django.urls import reverse

from measurements.reports.gauges import gauge_standing
from tests.builds.bench import Bench, open_bench
from tests.builds.bench_cards import card_with, one
from tests.builds.pages import Browser, text_of

pytestmark = pytest.mark.django_db
_BORE = 'gauge_kind = "bore_gauge"\non_low = "tag"\non_high = "tag"\nsource = "test figure"\n'
#: Beside 10.1 of the bench card: a bore of that size whose gauge is set on no ring, and one that is given in mm.
CARD = card_with(
    16,
    one("16.1", "measured", f'unit = "in"\nlow = 3.0625\nhigh = 3.0637\ndecimals = 4\nstep = 0.0001\n{_BORE}'),
    one(
        "16.2",
        "measured",
        f'unit = "mm"\nlow = 88.900\nhigh = 88.935\ndecimals = 3\nstep = 0.001\nneeds_setting = true\n{_BORE}',
    ),
)


@pytest.fixture(scope="module")
def bench(once_per_module: None) -> Bench:
    return open_bench(CARD)


@pytest.mark.parametrize(
    ("mark", "asked_at"),
    [
        ("G-2", ["10.1 Hub bore"]),
        ("G-8", ["16.2 N 16.2"]),
        ("G-1", ["10.1 Hub bore", "16.1 N 16.1", "16.2 N 16.2"]),
    ],
    ids=["ring", "ring of the bore in mm", "control: the gauge itself"],
)
def test_a_ring_is_asked_for_where_a_gauge_is_set_on_one_of_its_size(
    bench: Bench, mark: str, asked_at: list[str]
) -> None:
    assert gauge_standing(bench.gauges[mark], bench.now).asked_at == asked_at


def test_its_page_says_so(bench: Bench) -> None:
    page = text_of(Browser(bench.people["cy"]).get(reverse("gauge", args=["G-2"])))
    assert "Size 3.063 in" in page
    assert "Asked for at 10.1 Hub bore" in page
    assert "16.1" not in page
