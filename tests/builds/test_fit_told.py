"""A fit is judged by the mean of each part's readings; its smallest and largest by single readings are shown beside it,
and a smallest one below the window is told (house rules, "Fits")."""

from __future__ import annotations

import pytest
from django.urls import reverse

from builds.models import Visit
from builds.reports.work import work_of
from builds.scenario.driver import Builder
from builds.views.station_side import computed
from tests.builds.pages import text_of
from tests.factories import signed_in_client
from tests.shopfloor import Floor, open_shop

pytestmark = pytest.mark.django_db
TOLD = "The computed minimum is below the window: a pair of readings gives less than 0.001."


@pytest.fixture(scope="module")
def floor(once_per_module: None) -> Floor:
    return open_shop()


@pytest.fixture(scope="module")
def boring(floor: Floor) -> tuple[Builder, Visit]:
    builder = floor.builder(floor.axle())
    builder.kit()
    builder.run(until=50)
    visit = builder.begin("50/left")
    builder.enter_code(visit, "50.6", "3.0647")
    return builder, visit


def shown(visit: Visit) -> dict[str, object]:
    return next(row for row in computed(work_of(visit)) if row["code"] == "50.7")


@pytest.mark.parametrize(
    ("bores", "value", "spread", "remark"),
    [
        # calculated: 3.0647 - (3.0639 + 3.0631) / 2 = .0012, in; 3.0647 - 3.0639 = .0008; 3.0647 - 3.0631 = .0016
        (("3.0639", "3.0631"), "0.0012 in", "0.0008 to 0.0016 in by single readings", TOLD),
        # the control: 3.0647 - 3.0637 = .0010, on the edge of the window
        (("3.0637", "3.0633"), "0.0012 in", "0.0010 to 0.0014 in by single readings", ""),
    ],
)
def test_the_smallest_and_the_largest_stand_beside_the_mean(
    floor: Floor, boring: tuple[Builder, Visit], bores: tuple[str, str], value: str, spread: str, remark: str
) -> None:
    builder, visit = boring
    assert "spread" not in shown(visit)
    builder.enter_code(visit, "50.3", *bores)
    row = shown(visit)
    assert (row["shown"], row["words"], row["spread"], row["remark"]) == (value, "in", spread, remark)
    assert visit.axle is not None
    page = text_of(signed_in_client(floor.people["tam"]).get(reverse("station", args=[visit.axle.serial, 50, "left"])))
    assert spread in page
    assert (TOLD in page) == bool(remark)


def test_no_other_computed_value_has_them(boring: tuple[Builder, Visit]) -> None:
    builder, visit = boring
    builder.enter_code(visit, "50.3", "3.0631", "3.0633")
    assert [row["code"] for row in computed(work_of(visit)) if "spread" in row] == ["50.7"]
