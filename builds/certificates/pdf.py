"""HTML to PDF, the same bytes for the same input: closed to the network and to the disk.

WeasyPrint would fetch any address; here only the shop's own typeface and the pictures it is given are served, from
memory. Identifier and dates come from the record, so that a rendering can be repeated. Heavy to import: workers only.
"""

from __future__ import annotations

import gc
import hashlib
import io
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import datetime
from functools import lru_cache
from pathlib import Path
from typing import Any

import pydyf
from django.conf import settings
from django.template.loader import render_to_string
from weasyprint import HTML, Attachment
from weasyprint.text.fonts import FontConfiguration
from weasyprint.urls import URLFetcher, URLFetcherResponse

FACES = ("Inter-Regular.woff2", "Inter-SemiBold.woff2", "Inter-Bold.woff2")
FONT_DIR = Path(settings.BASE_DIR) / "shop" / "static" / "vendor" / "inter"
SCHEME = "axlebook:"
PICTURE = "picture/"
#: Dots an inch that a printed photo is reduced to.
PICTURE_DPI = 200


class Refused(ValueError):
    """A document asked for something that is not in the table."""


class ClosedFetcher(URLFetcher):  # type: ignore[misc]
    """Serves the shop's typeface, the pictures of this document, and nothing else."""

    def __init__(self, pictures: Mapping[str, bytes] | None = None) -> None:
        super().__init__()
        self.pictures = pictures or {}

    def fetch(self, url: str, headers: Any = None) -> URLFetcherResponse:
        name = url.removeprefix(SCHEME)
        if url.startswith(SCHEME) and name in FACES:
            return URLFetcherResponse(url, _face(name), {"Content-Type": "font/woff2"})
        if url.startswith(SCHEME + PICTURE) and (found := self.pictures.get(name.removeprefix(PICTURE))) is not None:
            return URLFetcherResponse(url, found)
        raise Refused(f"a certificate may not fetch {url[:60]}")


@dataclass(frozen=True)
class Kept:
    """What goes into the PDF beside its pages: the frozen record, and since when it is frozen."""

    name: str
    content: bytes
    at: datetime
    pictures: Mapping[str, bytes] = field(default_factory=dict)


@lru_cache(maxsize=len(FACES))
def _face(name: str) -> bytes:
    return (FONT_DIR / name).read_bytes()


def certificate_html(context: dict[str, Any]) -> str:
    return render_to_string("builds/certificate.html", context)


def render_pdf(html: str, kept: Kept | None = None) -> bytes:
    """The bytes of the PDF. The identifier is the hash of what goes in, so equal input gives equal bytes.

    With a record it is written as PDF/A-3a and carries that record, so that its fingerprint can be worked out
    from the file alone.
    """
    content = kept.content if kept is not None else b""
    identifier = hashlib.sha256(html.encode() + content).digest()[:16]
    fetcher = ClosedFetcher(kept.pictures if kept is not None else None)
    options: dict[str, Any] = {"pdf_identifier": identifier, "pdf_tags": True, "finisher": _scopes}
    if kept is not None:
        options |= {"pdf_variant": "pdf/a-3a", "attachments": [_attached(kept)], "dpi": PICTURE_DPI}
    with _collector_paused():
        document = HTML(string=html, url_fetcher=fetcher, base_url=None).render(font_config=FontConfiguration())
        target = io.BytesIO()
        document.write_pdf(target, **options)
    return target.getvalue()


def _attached(kept: Kept) -> Attachment:
    return Attachment(
        string=kept.content,
        name=kept.name,
        description="The frozen record this certificate was made from",
        created=kept.at,
        modified=kept.at,
        relationship="Source",
    )


@contextmanager
def _collector_paused() -> Iterator[None]:
    """A render makes a million small objects and no cycles worth looking for."""
    held = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if held:
            gc.enable()


def _scopes(document: Any, pdf: pydyf.PDF) -> None:
    """Say of every table header whether it heads its row or its column (ISO 32000-1, 14.8.5.7, from memory).

    A header in a row with data cells heads that row; one among headers only heads what stands below it.
    """
    by_reference = {found.reference: found for found in pdf.objects if isinstance(found, pydyf.Dictionary)}
    for row in by_reference.values():
        if row.get("S") != "/TR":
            continue
        cells = [by_reference[reference] for reference in row["K"]]
        scope = "/Row" if any(found["S"] == "/TD" for found in cells) else "/Column"
        for found in cells:
            if found["S"] == "/TH":
                found["A"]["Scope"] = scope
