"""The certificate as its holder gets it: length, pages, tags, fonts, both units, and a record that goes with it."""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Iterator
from dataclasses import dataclass
from io import BytesIO
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest
from django.db import transaction
from pypdf import PdfReader
from pypdf.generic import DictionaryObject

from builds.actions.closing import certify, close_axle, frozen_bytes
from builds.certificates.context import certificate_context
from builds.certificates.pdf import certificate_html, render_pdf
from builds.jobs import render_issue
from builds.models import Certifying, Closing
from shop.record.models import Signature
from tests.builds.pages import text_of_pdf
from tests.shopfloor import SORREL, TEASEL, open_shop

pytestmark = [pytest.mark.django_db, pytest.mark.timeout(900)]
OLD_RECORD = Path(__file__).parent / "records" / "format_1.json"
ISSUE = {
    "number": 1, "paper": "A4", "reason": "", "replaces": None, "certified_by": "Somebody Signing",
    "certified_at": "2026-11-01T10:00:00Z", "address": "http://127.0.0.1/verify",
}  # fmt: skip
MOST_PAGES = 3


@dataclass(frozen=True)
class Issued:
    closing: Closing
    signed: Signature
    record: dict[str, Any]
    pdf: dict[str, bytes]

    def pages(self, paper: str) -> list[str]:
        return [page.extract_text() for page in PdfReader(BytesIO(self.pdf[paper])).pages]


@pytest.fixture(scope="module", params=[SORREL, TEASEL], ids=["sorrel", "teasel"])
def issued(once_per_module: None, django_db_blocker: Any, request: pytest.FixtureRequest) -> Iterator[Issued]:
    """A whole axle of each demo model, closed and certified, on both papers; the shop of one is gone for the next."""
    with django_db_blocker.unblock(), transaction.atomic():
        yield whole_axle(request.param)
        transaction.set_rollback(True)


def whole_axle(card: Path) -> Issued:
    floor = open_shop(card)
    builder = floor.builder(floor.axle())
    builder.kit()
    builder.run()
    closing = close_axle(axle=builder.axle, by=floor.who("calla"), now=builder.now)
    quality = floor.who("ingrith")
    certify(closing=closing, grant=builder.grant(quality, "released"), by=quality, now=builder.now)
    closing = Closing.objects.select_related("axle__item").get(pk=closing.pk)
    signed = Certifying.objects.select_related("signature__person").get(closing=closing).signature
    pdf = {paper: render_issue(closing, 1, paper, signed) for paper in ("A4", "Letter")}
    return Issued(closing, signed, json.loads(frozen_bytes(closing)), pdf)


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_it_has_three_pages_at_most_and_each_says_which(issued: Issued, paper: str) -> None:
    pages = issued.pages(paper)
    assert len(pages) <= MOST_PAGES
    for number, text in enumerate(pages, 1):
        assert f"Page {number} of {len(pages)}" in text
        assert f"{issued.record['axle']['serial']} · issue 1" in text


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_every_heading_stands_with_what_it_heads(issued: Issued, paper: str) -> None:
    """No page ends with a heading: the last line before the foot is never one of the twelve."""
    for text in issued.pages(paper):
        body = [line for line in text.splitlines() if line.strip() and "Page" not in line and "issue 1" not in line]
        assert not re.match(r"^\d{1,2} [A-Z][a-z]+", body[-1].strip()) or "certificate" in body[-1]


def test_all_twelve_sections_are_there_in_order(issued: Issued) -> None:
    text = text_of_pdf(issued.pdf["A4"])
    headings = [
        "1 Maker, customer, axle · 2 Dates", "3 Options and identification", "4 Measured results", "5 Welds",
        "6 Contact pattern, tests and settings", "7 Nonconformances and concessions", "8 Changes after the order",
        "9 Not recorded or checked", "10 For service", "11 Statement of conformity", "12 Signatures, fingerprint",
    ]  # fmt: skip
    found = [text.index(heading) for heading in headings]
    assert found == sorted(found)
    assert "None is recorded." in text


def test_every_safety_reading_is_printed_in_both_units(issued: Issued) -> None:
    """Each value of class S with a second unit stands with that unit's figure right behind or right under it."""
    context = certificate_context(issued.record, sha256="0" * 64, issue=ISSUE)
    cells = list(_cells(context))
    text = " ".join(text_of_pdf(issued.pdf["A4"]).split())
    safety = {
        (result["code"], reading["position"])
        for operation in issued.record["operations"]
        for result in operation["results"]
        if result["class"] == "S" and not result["recorded_only"]
        for reading in result["readings"]
    }
    assert len(safety) > 50
    with_other = [cell for cell in cells if cell["other"]]
    assert len(with_other) > 60
    beside = [cell for cell in with_other if f"{cell['shown']} ({cell['other']}" in text]
    beneath = [cell for cell in with_other if cell not in beside and cell["shown"] in text and cell["other"] in text]
    assert len(beside) + len(beneath) == len(with_other)
    printed = sum(len(row) for row in _printed_codes(context).values())
    assert {code for code, _ in safety} <= set(_printed_codes(context))
    assert printed >= len(safety)


def _cells(found: Any) -> Iterator[dict[str, Any]]:
    """Every reading that the context holds, wherever it stands."""
    if isinstance(found, dict):
        if {"shown", "other", "word"} <= set(found):
            yield found
            return
        found = list(found.values()) if "operations" not in found else []
    if isinstance(found, list):
        for one in found:
            yield from _cells(one)


def _printed_codes(context: dict[str, Any]) -> dict[str, list[Any]]:
    """Codes that the certificate prints, each with its readings."""
    found: dict[str, list[Any]] = {}
    results = context["results"]
    rows = [row for group in results["stations"] for row in group["rows"]] + results["by_position"]
    rows += [row for group in results["answers"] for row in group["rows"]]
    rows += [row for test in context["tests"] for row in test["rows"]]
    for row in rows:
        found.setdefault(row["code"], []).extend(row["cells"])
    for group in context["welds"]["groups"]:
        for column, asked in enumerate(group["limits"]):
            found.setdefault(asked[0], []).extend(c for joint in group["joints"] for c in joint["cells"][column])
    return found


def test_the_steel_is_stated_with_its_limits(issued: Issued) -> None:
    text = " ".join(text_of_pdf(issued.pdf["A4"]).split())
    (heat,) = issued.record["heats"]
    assert f"Heat {heat['mark']}, mill certificate {heat['certificate']}: every value in limits" in text
    assert "Carbon" in text
    assert "Molybdenum" in text


def test_the_leak_test_is_there_with_its_temperatures(issued: Issued) -> None:
    (tested,) = certificate_context(issued.record, sha256="0" * 64, issue=ISSUE)["tests"]
    names = " ".join(row["name"] for row in tested["rows"])
    assert "Gas temperature at start" in names
    assert "Gas temperature at end" in names
    assert "corrected to start temperature" in names


def test_ticks_left_out_are_in_the_record_and_on_the_paper(issued: Issued) -> None:
    """The shop of these tests ticks none of the first passes over the ring gear's bolts, and signs without."""
    (bolts,) = [operation for operation in issued.record["operations"] if operation["number"] == 220]
    left = [said for signature in bolts["signatures"] for said in signature.get("without", [])]
    assert [said.endswith(": none.") for said in left] == [True] * 3
    text = " ".join(text_of_pdf(issued.pdf["A4"]).split())
    assert "None ticked, signed without: " + left[0].removesuffix(": none.") in text


def elements(pdf: bytes) -> list[DictionaryObject]:
    """The structure tree, in reading order."""
    root = PdfReader(BytesIO(pdf)).trailer["/Root"]
    found: list[DictionaryObject] = []

    def walk(node: Any) -> None:
        node = node.get_object()
        if not isinstance(node, DictionaryObject):
            return
        found.append(node)
        kids = node.get("/K", [])
        for kid in kids if isinstance(kids, list) else [kids]:
            walk(kid)

    walk(root["/StructTreeRoot"]["/K"][0])
    return found


def test_a_screen_reader_gets_language_title_and_a_tree(issued: Issued) -> None:
    root = PdfReader(BytesIO(issued.pdf["A4"])).trailer["/Root"]
    assert root["/Lang"] == "en"
    assert root["/MarkInfo"]["/Marked"]
    assert root["/ViewerPreferences"]["/DisplayDocTitle"]
    title = PdfReader(BytesIO(issued.pdf["A4"])).metadata
    assert title is not None
    assert title.title == f"Build certificate {issued.record['axle']['serial']} issue 1"


def test_headings_go_down_one_level_at_a_time(issued: Issued) -> None:
    levels = [int(node["/S"][2:]) for node in elements(issued.pdf["A4"]) if re.fullmatch(r"/H[1-6]", node["/S"])]
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert all(after - before <= 1 for before, after in pairwise(levels))


def test_every_table_has_headers_that_say_what_they_head(issued: Issued) -> None:
    nodes = elements(issued.pdf["A4"])
    headers = [node for node in nodes if node["/S"] == "/TH"]
    assert len(headers) > 60
    assert {header["/A"]["/Scope"] for header in headers} == {"/Row", "/Column"}
    data = [node for node in nodes if node["/S"] == "/TD"]
    assert all(node["/A"]["/Headers"] for node in data)


def test_drawing_and_codes_have_words(issued: Issued) -> None:
    figures = [node for node in elements(issued.pdf["A4"]) if node["/S"] == "/Figure"]
    words = [str(node["/Alt"]) for node in figures]
    assert len(figures) >= 3
    assert all(words)
    drawn = next(text for text in words if text.startswith("Axle "))
    assert "hub left: 0.00" in drawn
    assert "mm" in drawn


def test_fonts_are_inside_and_nothing_points_outside(issued: Issued) -> None:
    reader = PdfReader(BytesIO(issued.pdf["Letter"]))
    fonts = {}
    for page in reader.pages:
        for name, font in page["/Resources"]["/Font"].items():
            fonts[name] = font.get_object()
        assert "/Annots" not in page
    assert fonts
    for font in fonts.values():
        described = font["/DescendantFonts"][0].get_object()["/FontDescriptor"]
        assert any(key in described for key in ("/FontFile2", "/FontFile3"))
        assert "Inter" in described["/FontName"]
        assert "/ToUnicode" in font
    assert b"/URI" not in issued.pdf["Letter"]


def test_it_is_written_as_pdf_a_3a_and_carries_its_record(issued: Issued) -> None:
    reader = PdfReader(BytesIO(issued.pdf["A4"]))
    root = reader.trailer["/Root"]
    about = root["/Metadata"].get_object().get_data().decode()
    assert re.search(r"part(>|=\")3", about)
    assert re.search(r"conformance(>|=\")A", about)
    assert root["/OutputIntents"]
    assert root["/AF"][0].get_object()["/AFRelationship"] == "/Source"
    ((name, contents),) = reader.attachments.items()
    assert name == f"{issued.record['axle']['serial']}-record.json"
    assert hashlib.sha256(contents[0]).hexdigest() == issued.closing.sha256
    printed = "".join(text_of_pdf(issued.pdf["A4"]).split())
    assert issued.closing.sha256 in printed


def test_the_same_record_gives_the_same_bytes_and_another_does_not(issued: Issued) -> None:
    assert render_issue(issued.closing, 1, "A4", issued.signed) == issued.pdf["A4"]
    assert render_issue(issued.closing, 2, "A4", issued.signed, "a word") != issued.pdf["A4"]
    other = json.loads(json.dumps(issued.record))
    html = certificate_html(certificate_context(other, sha256="0" * 64, issue=ISSUE))
    other["order"]["reference"] = "another one"
    changed = certificate_html(certificate_context(other, sha256="0" * 64, issue=ISSUE))
    assert render_pdf(html) == render_pdf(html)
    assert render_pdf(html) != render_pdf(changed)


def test_a_record_of_the_first_format_is_still_rendered() -> None:
    """Frozen under format 1, before steel was in the record: the paper says so instead of leaving a gap."""
    record = json.loads(OLD_RECORD.read_text("utf-8"))
    assert record["format"] == "axlebook-record/1"
    text = text_of_pdf(render_pdf(certificate_html(certificate_context(record, sha256="0" * 64, issue=ISSUE))))
    assert record["axle"]["serial"] in text
    assert "states of the steel is not in this record" in " ".join(text.split())
    assert "12 Signatures" in text
