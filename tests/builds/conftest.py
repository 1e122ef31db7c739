"""An axle of the module's own shop (its fixture `floor`) as it goes from built to certified."""

from __future__ import annotations

from datetime import timedelta

import pytest

from builds.actions.closing import certify, close_axle
from builds.jobs import render_issue
from builds.models import Certifying, Closing
from builds.scenario.driver import Builder
from shop.record.models import Signature
from tests.shopfloor import Floor


@pytest.fixture(scope="module")
def built(floor: Floor) -> Builder:
    builder = floor.builder(floor.axle())
    builder.kit()
    builder.run()
    builder.axle.refresh_from_db()
    return builder


@pytest.fixture(scope="module")
def closed(floor: Floor, built: Builder) -> Closing:
    built.now += timedelta(hours=1)
    row = close_axle(axle=built.axle, by=floor.who("calla"), now=built.now)
    quality = floor.who("ingrith")
    built.now += timedelta(minutes=5)
    certify(closing=row, grant=built.grant(quality, "released"), by=quality, now=built.now)
    return Closing.objects.select_related("axle__item").get(pk=row.pk)


@pytest.fixture(scope="module")
def signed(closed: Closing) -> Signature:
    return Certifying.objects.select_related("signature__person").get(closing=closed).signature


@pytest.fixture(scope="module")
def pdf(closed: Closing, signed: Signature) -> bytes:
    return render_issue(closed, 1, "A4", signed)
