"""Labels: words a person can read, and a code that a scanner reads back as the same mark."""

from __future__ import annotations

import re
import subprocess
from io import BytesIO
from pathlib import Path

import pytest
import zxingcpp
from PIL import Image
from pypdf import PdfReader

from builds.actions.labelling import print_label
from builds.actions.tagging import Wrong, open_tag
from builds.certificates.labels import Label, label_html
from builds.certificates.pdf import render_pdf
from builds.certificates.symbols import data_matrix
from builds.models import Axle, LabelPrint, RedTag
from builds.reports.labels import badge_label, label_for, labels_of, red_tag_label
from measurements.models import Gauge
from shop.codes import LONGEST_MARK, ScanKind, parse_scan
from shop.errors import Refusal
from shop.record.models import Event
from tests.builds.pages import Browser, text_of, text_of_pdf
from tests.shopfloor import THIRD, Floor, open_shop

pytestmark = pytest.mark.django_db


@pytest.fixture(scope="module")
def floor(once_per_module: None) -> Floor:
    return open_shop(THIRD)


@pytest.fixture(scope="module")
def axle(floor: Floor) -> Axle:
    return floor.axle()


def read_back(html: str, folder: Path) -> tuple[str, str]:
    """What a scanner reads from the printed label, and the words on it."""
    path = folder / "label.pdf"
    path.write_bytes(render_pdf(html))
    subprocess.run(["pdftoppm", "-r", "300", "-png", "-singlefile", path, folder / "label"], check=True)
    words = subprocess.run(["pdftotext", path, "-"], check=True, capture_output=True, text=True).stdout
    found = zxingcpp.read_barcodes(Image.open(folder / "label.png"))
    assert len(found) == 1
    return found[0].text, words


def test_every_label_of_an_axle_is_read_back(axle: Axle, tmp_path: Path) -> None:
    for item, kind, _ in labels_of(axle):
        scanned, words = read_back(label_html(label_for(item, kind)), tmp_path)
        read = parse_scan(scanned)
        assert read is not None
        assert (read.mark, str(read.kind)) == (item.mark, item.kind)
        assert item.mark in words


def pages(label: Label) -> int:
    return len(PdfReader(BytesIO(render_pdf(label_html(label)))).pages)


def test_a_label_is_one_label(axle: Axle) -> None:
    """Nothing runs on to a second one, not even beside the longest mark; with more lines than fit it would."""
    for item, kind, _ in labels_of(axle):
        assert pages(label_for(item, kind)) == 1
    tag = RedTag(number=7, item=axle.item, axle=axle, cause="bore over its limit, " * 6)
    assert pages(red_tag_label(tag)) == 1
    longest = "L-" + "9" * (LONGEST_MARK - 2)
    assert pages(Label("Lot", longest, ("a maker", "a kind of thing", "received 2026-01-01"), f"~L:{longest}")) == 1
    assert pages(Label("Lot", "L-1", ("a line too many",) * 9, "~L:L-1")) == 2


def test_the_code_has_its_quiet_zone_and_is_square() -> None:
    """Two modules of white on each side, where one is asked (ISO/IEC 16022, from memory)."""
    drawn = str(data_matrix("~A:TBK-25-0143-D"))
    box = re.search(r'viewBox="0 0 (\d+) (\d+)"', drawn)
    assert box is not None
    width, height = int(box[1]), int(box[2])
    assert width == height
    corners = [(int(x), int(y)) for x, y in re.findall(r"M(\d+),(\d+)h", drawn)]
    assert min(x for x, _ in corners) == 2
    assert (min(y for _, y in corners), max(y for _, y in corners)) == (2, height - 3)


def test_a_gauge_sticker_says_when_it_is_due(floor: Floor, tmp_path: Path) -> None:
    gauge = Gauge.objects.get(item__mark="G-042")
    scanned, words = read_back(label_html(label_for(gauge.item, "mark")), tmp_path)
    assert scanned == "~G:G-042"
    assert f"due {gauge.calibrations.get().due_on:%Y-%m-%d}" in words


def test_a_red_tag_says_do_not_use(floor: Floor, axle: Axle, tmp_path: Path) -> None:
    tag = RedTag(number=7, item=axle.item, axle=axle, cause="bore over its limit")
    scanned, words = read_back(label_html(red_tag_label(tag)), tmp_path)
    assert (scanned, "DO NOT USE" in words) == ("~T:7", True)


def test_a_badge_is_read_as_a_badge(floor: Floor, tmp_path: Path) -> None:
    scanned, _ = read_back(label_html(badge_label("Rusk Adeholm", "TB-RUSK-25")), tmp_path)
    read = parse_scan(scanned)
    assert read is not None
    assert read.kind is ScanKind.BADGE


def test_a_reprint_needs_its_reason(floor: Floor, axle: Axle) -> None:
    by = floor.who("jory")
    print_label(item=axle.item, kind="plate", reason="", by=by)
    with pytest.raises(Refusal, match="printed before"):
        print_label(item=axle.item, kind="plate", reason="", by=by)
    print_label(item=axle.item, kind="plate", reason="the first one tore", by=by)
    assert [row.number for row in LabelPrint.objects.filter(item=axle.item).order_by("number")] == [1, 2]


def test_labels_are_printed_where_the_thing_is(floor: Floor, axle: Axle) -> None:
    """Stock, gauge shelf and red tag each print their label by one press; the print is logged."""
    jory, calla = Browser(floor.who("jory")), Browser(floor.who("calla"))
    unit = axle.units.order_by("pk")[0].item
    gauge = Gauge.objects.get(item__mark="G-042").item
    tag = open_tag(wrong=Wrong(axle.item, "bent", axle, stops_axle=True), by=floor.who("calla"))
    places = [
        (jory, f"/stock/items/{unit.pk}/", unit, "unit"),
        (calla, "/gauges/G-042/", gauge, "mark"),
        (calla, f"/red-tags/{tag.number}/", axle.item, f"red-tag-{tag.number}"),
    ]
    for browser, page, item, kind in places:
        address = f"/labels/{item.pk}/{kind}/"
        assert f'action="{address}"' in browser.get(page).content.decode()
        assert browser.get(address).status_code == 404
        assert browser.send(address).status_code == 303
        if kind.startswith("red-tag"):  # the same number written otherwise would need no reason
            assert browser.send(f"/labels/{item.pk}/red-tag-00{tag.number}/").status_code == 404
        assert text_of_pdf(browser.get(address).content)
        assert "Why again" in text_of(browser.send(address))
    assert LabelPrint.objects.count() == 3


@pytest.mark.parametrize("kind", ["plate", "kit", "piece", "unit", "none", "red-tag-99", "red-tag-x", "red-tag-"])
def test_a_label_that_the_thing_has_not_is_not_here(floor: Floor, kind: str) -> None:
    gauge = Gauge.objects.get(item__mark="G-042").item
    assert Browser(floor.who("calla")).send(f"/labels/{gauge.pk}/{kind}/").status_code == 404


def test_a_badge_is_printed_while_its_code_is_shown(floor: Floor) -> None:
    dovie = Browser(floor.who("dovie"))
    page = dovie.send("/people/rusk/badge/").content.decode()
    code = page.split('name="badge" value="')[1].split('"')[0]
    answer = dovie.send("/people/rusk/badge/print/", badge=code)
    assert answer["Content-Type"] == "application/pdf"
    assert f"~B:{code}" in text_of_pdf(answer.content)
    event = Event.objects.get(kind="badge.printed")
    assert code.encode() not in bytes(event.content)
    assert dovie.send("/people/tam/badge/print/", badge=code).status_code == 422
    assert dovie.send("/people/rusk/badge/print/", badge="").status_code == 422
    assert Browser(floor.who("calla")).send("/people/rusk/badge/print/", badge=code).status_code == 403


@pytest.mark.parametrize("letter", ["W", "M", "I", "8"])
def test_a_badge_s_code_stands_on_one_line_however_wide_its_letters(letter: str) -> None:
    text = text_of_pdf(render_pdf(label_html(badge_label("Rusk Adeholm", letter * 16))))
    assert f"~B:{letter * 16}" in text


def test_a_reason_is_kept_whole_or_refused(floor: Floor, axle: Axle) -> None:
    by = floor.who("rusk")
    print_label(item=axle.item, kind="kit", reason="", by=by)
    with pytest.raises(Refusal, match="longer than 200 characters"):
        print_label(item=axle.item, kind="kit", reason="x" * 201, by=by)
    assert len(print_label(item=axle.item, kind="kit", reason="x" * 200, by=by).reason) == 200
