"""A station page on its own in the browser: real templates, styles and scripts, a stand-in for the server."""

from __future__ import annotations

import gzip
from dataclasses import dataclass, field
from pathlib import Path
from urllib.parse import parse_qs, urlsplit

from django.contrib.staticfiles import finders
from django.template.loader import render_to_string
from django.test import RequestFactory
from playwright.sync_api import Page, Route

from builds.views import gallery_station

HOST = "http://bench.test"
POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; font-src 'self'; img-src 'self'; "
    "connect-src 'self'; form-action 'self'; base-uri 'none'"
)
TYPES = {".css": "text/css", ".js": "text/javascript", ".woff2": "font/woff2", ".svg": "image/svg+xml"}


@dataclass
class Bench:
    """What the page sent, and what went wrong in it."""

    page: Page
    kind: str = "bolts"
    more: dict[str, object] = field(default_factory=dict)
    sent: list[tuple[str, dict[str, str]]] = field(default_factory=list)
    complaints: list[str] = field(default_factory=list)
    hosts: set[str] = field(default_factory=set)
    bytes_first: int = 0

    def open(self) -> Bench:
        self.page.on("console", lambda m: self.complaints.append(m.text) if m.type == "error" else None)
        self.page.on("pageerror", lambda e: self.complaints.append(str(e)))
        self.page.route("**/*", self._answer)
        self.page.goto(f"{HOST}/bench/")
        return self

    def posted(self, path: str) -> list[dict[str, str]]:
        return [fields for where, fields in self.sent if where == path]

    def _answer(self, route: Route) -> None:
        asked = route.request
        address = urlsplit(asked.url)
        self.hosts.add(address.netloc)
        if address.path.startswith("/static/"):
            self._static(route, address.path.removeprefix("/static/"))
            return
        if asked.method == "POST":
            told = {name: values[-1] for name, values in parse_qs(asked.post_data or "", True).items()}
            self.sent.append((address.path, told))
        fragment = "hx-request" in asked.headers
        self._html(route, "builds/_work.html" if fragment else "builds/station.html")

    def _html(self, route: Route, template: str) -> None:
        urls = {name: f"/{name}" for name in ("reading", "again", "set_down", "wrong", "finish", "scan", "here")}
        context = {**gallery_station.station(self.kind), "urls": urls, **self.more}
        body = render_to_string(template, context, RequestFactory().get("/bench/"))
        self.bytes_first += len(body.encode()) if template.endswith("station.html") else 0
        route.fulfill(body=body, headers={"content-type": "text/html", "content-security-policy": POLICY})

    def _static(self, route: Route, name: str) -> None:
        found = finders.find(name)
        if not isinstance(found, str):
            route.fulfill(status=404)
            return
        content = Path(found).read_bytes()
        # Real use packs the files (fonts are packed already).
        self.bytes_first += len(content if name.endswith(".woff2") else gzip.compress(content))
        route.fulfill(body=content, content_type=TYPES.get(Path(found).suffix, "application/octet-stream"))
