"""Photos of an operation: small copies on the station page and in the axle file, with the operation and who."""

from __future__ import annotations

import re
from io import BytesIO

import pytest
from PIL import Image

from builds.actions.adding import add_photo
from builds.models import Photo, Visit
from builds.scenario.driver import Builder
from shop.files import BadFile, small_copy
from shop.record.models import Blob
from shop.record.who import Who
from tests.builds.pages import Browser
from tests.shopfloor import Floor, open_shop

pytestmark = pytest.mark.django_db


@pytest.fixture(scope="module")
def floor(once_per_module: None) -> Floor:
    return open_shop()


@pytest.fixture(scope="module")
def taken(floor: Floor) -> tuple[Builder, Visit, Photo]:
    """A photo at the first operation that asks for one, with work still in hand."""
    builder = floor.builder(floor.axle())
    builder.kit()
    slot = next(slot for slot in builder.axle.plan.slots if slot.photos and slot.operation.number > 30)
    builder.run(until=slot.operation.number)
    visit = builder.begin(slot.key)
    kept = picture(900, 600)
    Blob.objects.create(sha256="ab" * 32, content=kept, content_type="image/png", size=len(kept))
    by = Who(visit.claimed_by)
    row = add_photo(visit=visit, name=slot.photos[0].name, sha256="ab" * 32, by=by, now=builder.now)
    return builder, visit, row


def picture(width: int, height: int) -> bytes:
    out = BytesIO()
    Image.new("RGB", (width, height), "#a33e00").save(out, "PNG")
    return out.getvalue()


def test_the_axle_file_shows_a_small_copy_with_operation_and_name(
    floor: Floor, taken: tuple[Builder, Visit, Photo]
) -> None:
    builder, visit, row = taken
    page = Browser(floor.who("dovie")).get(f"/axles/{builder.axle.serial}/").content.decode()
    assert (
        f'<a href="/photos/{row.pk}/"><img src="/photos/{row.pk}/small/" width="160" height="120" loading="lazy"'
        in page
    )
    shown = page[page.index('<h2 id="photos">') :]
    assert f"{visit.operation.number} {visit.operation.name}: {row.name}" in shown
    assert row.person.short_name in shown


def test_the_station_page_shows_it_to_the_next_person(floor: Floor, taken: tuple[Builder, Visit, Photo]) -> None:
    builder, visit, row = taken
    side = getattr(getattr(visit.item, "unit", None), "side", "") or "-"
    path = f"/axles/{builder.axle.serial}/operations/{visit.operation.number}/{side}/"
    page = Browser(floor.who("dovie")).get(path).content.decode()
    assert f'src="/photos/{row.pk}/small/"' in page


def test_the_small_copy_is_small_and_kept_by_the_browser(floor: Floor, taken: tuple[Builder, Visit, Photo]) -> None:
    row = taken[2]
    answer = Browser(floor.who("dovie")).get(f"/photos/{row.pk}/small/")
    assert (answer.status_code, answer["Content-Type"]) == (200, "image/jpeg")
    assert answer["Cache-Control"].startswith("private, max-age=")
    with Image.open(BytesIO(answer.content)) as found:
        assert found.size == (320, 213)
    whole = Browser(floor.who("dovie")).get(f"/photos/{row.pk}/")
    assert (whole["Content-Type"], whole["Cache-Control"]) == ("image/png", "no-store")


def test_nobody_signed_in_sees_no_photo(taken: tuple[Builder, Visit, Photo]) -> None:
    assert Browser().get(f"/photos/{taken[2].pk}/small/").status_code == 302


def test_bytes_that_are_no_picture_any_more_are_not_here(floor: Floor, taken: tuple[Builder, Visit, Photo]) -> None:
    builder, visit, row = taken
    Blob.objects.create(sha256="cd" * 32, content=b"rotten", content_type="image/png", size=6)
    rotten = add_photo(visit=visit, name=row.name, sha256="cd" * 32, by=Who(row.person), now=builder.now)
    assert Browser(floor.who("dovie")).get(f"/photos/{rotten.pk}/small/").status_code == 404
    with pytest.raises(BadFile):
        small_copy(b"rotten", 320)


def test_the_file_opens_everything_for_paper(floor: Floor, taken: tuple[Builder, Visit, Photo]) -> None:
    """Folded tables are opened by the print style sheet; a link opens them where a browser cannot. The form for what is
    wrong stays folded: paper has no form."""
    dovie, path = Browser(floor.who("dovie")), f"/axles/{taken[0].axle.serial}/"
    folded, opened = (dovie.get(path + query).content.decode() for query in ("", "?all=open"))
    assert folded.count("<details") == opened.count("<details") > 2
    assert (folded.count(" open>"), opened.count(" open>")) == (0, opened.count("<details") - 1)
    assert re.findall(r'<details class="more"><summary><h2 id="(\w+)"', opened) == ["wrong"]
    assert '<section class="on-screen" aria-labelledby="wrong">' in opened
