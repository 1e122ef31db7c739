"""A person's hands at a station: scanner and keyboard only, in a real browser, knowing the card and nothing else."""

from __future__ import annotations

import random
import re
import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from pathlib import Path

from playwright.sync_api import Browser, BrowserContext, Locator, Page
from playwright.sync_api import Error as PlaywrightError

from builds.actions.judging import answers
from builds.definitions.card import Card, Operation
from builds.definitions.characteristic import Characteristic as Asked
from builds.definitions.words import ANY_SECOND_PERSON, Kind
from builds.scenario.driver import middle
from builds.scenario.gauges import GAUGES
from builds.scenario.people import PEOPLE, badge_code, log_ins
from builds.scenario.values import VALUES
from shop.codes import LETTER_OF, ScanKind

PINS = {given.code: given.pin for given in log_ins()}
PASSWORDS = {given.code: given.password for given in log_ins()}
NAMES = {code: name for code, name, _ in PEOPLE}
RING_OF_KIND = "setting_ring"
SCREEN = {"width": 1280, "height": 800}
SETTLED_WITHIN_S = 15
# Only answers to what was sent: the page also asks by itself what others did.
_COUNT_SWAPS = """
document.addEventListener("htmx:afterSettle", (event) => {
  if (event.detail.requestConfig?.verb !== "post") return;
  const told = document.documentElement.dataset;
  told.swaps = String(Number(told.swaps ?? 0) + 1);
});
"""
# Whole once the scripts have run, which is before `complete`.
_DRAWN = """
document.readyState === "complete" ? `${performance.timeOrigin} ${document.documentElement.dataset.swaps}` : ""
"""


def label(kind: ScanKind, mark: str) -> str:
    """What a wedge scanner types for one of our labels."""
    return f"~{LETTER_OF[kind]}:{mark}"


def persons_with(roles: tuple[str, ...]) -> list[str]:
    return [code for code, _, held in PEOPLE if {str(role) for role in held} & set(roles)]


@dataclass
class Bench:
    """One station's browser: registered once, then worked by whoever signs in."""

    browser: Browser
    address: str
    station: str
    name: str = ""
    complaints: list[str] = field(default_factory=list)
    hosts: set[str] = field(default_factory=set)
    who: str = ""
    terminal: int = 1
    _page: Page | None = None
    _context: BrowserContext | None = None

    @property
    def page(self) -> Page:
        if self._page is None:
            self._context = self.browser.new_context(viewport=SCREEN)  # type: ignore[arg-type]
            self._context.set_default_timeout(15_000)
            self._context.add_init_script(_COUNT_SWAPS)
            self._page = self._context.new_page()
            self._page.on("console", self._heard)
            self._page.on("pageerror", lambda error: self.complaints.append(str(error)))
            self._page.on("request", lambda asked: self.hosts.add(re.sub(r"^\w+://([^/]*).*$", r"\1", asked.url)))
        return self._page

    def close(self) -> None:
        """Switch it off: an open page goes on asking what others did, under the tests that follow."""
        if self._context is not None:
            self._context.close()
        self._page = self._context = None

    def _heard(self, message: object) -> None:
        kind, text = getattr(message, "type", ""), getattr(message, "text", "")
        # A refusal answers 422 or 409 on purpose, and the browser says so in its console.
        if kind == "error" and not re.search(r"status of (409|422)", text):
            self.complaints.append(text)

    def open(self, path: str) -> Page:
        self.page.goto(f"{self.address}{path}")
        return self.page

    def type_in(self, text: str) -> None:
        self.page.keyboard.type(text)
        self.page.keyboard.press("Enter")

    def press(self, where: Locator) -> None:
        """Press a key of the page from the keyboard."""
        where.focus()
        self.page.keyboard.press("Enter")

    def press_on(self, where: Locator) -> None:
        """Press what leads to another page, and wait for it."""
        with self.page.expect_navigation():
            self.press(where)

    def register(self, manager: str) -> None:
        """Make this browser the station's terminal, as the manager does at the screen itself."""
        self.office(manager, "/terminals/")
        form = self.page.locator("form", has=self.page.get_by_role("button", name="Make this browser a terminal"))
        form.locator("input[name=code]").fill(f"T-{self.station}-{self.terminal}")
        form.locator("select[name=station]").select_option(label=self.name)
        self.press_on(form.get_by_role("button", name="Make this browser a terminal"))
        self.who = ""

    def office(self, code: str, path: str) -> Page:
        """Sign in at a desk with code and password."""
        self.open(f"/sign-in/office/?next={path}")
        if self.page.locator("input[name=password]").count():
            self.page.locator("input[name=code]").fill(code)
            self.page.locator("input[name=password]").fill(PASSWORDS[code])
            with self.page.expect_navigation():
                self.page.keyboard.press("Enter")
        self.who = code
        return self.open(path)

    def sign_in(self, code: str, path: str) -> None:
        """Badge, then PIN; where somebody else sits, they leave first."""
        self.open(path)
        if self.who == code and not self._asks():
            return
        if not self._asks():
            self.press_on(self.page.get_by_role("button", name=re.compile("^(Leave|Sign out)$")))
            self.open(path)
        self.say_who(code)
        self.open(path)

    def say_who(self, code: str) -> None:
        """Badge, then PIN, into the page that asks who is there."""
        for text in (label(ScanKind.BADGE, badge_code(code)), PINS[code]):
            with self.page.expect_navigation():
                self.type_in(text)
        self.who = code

    def _asks(self) -> bool:
        return "/sign-in/" in self.page.url

    def scan(self, text: str) -> None:
        """A scan; the work is swapped in place, or the page is loaded anew."""
        self.sends(lambda: self.type_in(text))

    def sends(self, press: Callable[[], None]) -> None:
        """Do what posts, and wait until the page has settled on the answer: then its scripts have placed the focus.

        The answer that is there is not on the page yet; what is typed before it is would be lost.
        """
        before = self._settled()
        with self.page.expect_response(lambda answer: answer.request.method == "POST"):
            press()
        self._settled(other_than=before)

    def _settled(self, other_than: str = "") -> str:
        """Wait until a whole page stands there, other than that one; gives its `_drawn`."""
        end = time.monotonic() + SETTLED_WITHIN_S
        while (now := self._drawn()) in ("", other_than):
            assert time.monotonic() < end, f"the answer was never drawn: {self.page.url}"
            self.page.wait_for_timeout(20)
        return now

    def _drawn(self) -> str:
        """Which document this is, and how often an answer was put into it: it is another after either.

        Empty while a page is on its way out or in; a second press, or one before the form was wired, posts plainly.
        """
        try:
            return str(self.page.evaluate(_DRAWN))
        except PlaywrightError as leaving:
            if "context was destroyed" not in str(leaving):
                raise
            return ""


@dataclass
class Hands:
    """Works one axle at one station by what the page asks for."""

    bench: Bench
    card: Card
    serial: str
    stock: dict[str, str]
    labels: dict[str, str]
    photo: Path
    values: Mapping[str, str] = field(default_factory=lambda: VALUES)
    chance: random.Random = field(default_factory=lambda: random.Random(11))

    @property
    def page(self) -> Page:
        return self.bench.page

    def work(self, operation: Operation, side: str, doer: str) -> None:
        """One operation from the plate's scan to the doer's signature."""
        where = f"/stations/{operation.station}/"
        self.bench.sign_in(doer, where)
        self.page.goto(f"{self.bench.address}/axles/{self.serial}/operations/{operation.number}/{side or '-'}/")
        take = self.page.get_by_role("button", name=re.compile("^Take it up"))
        if take.count():
            with self.page.expect_navigation():
                self.page.keyboard.press("Enter")
        self.fill(operation)
        self.sign(doer)

    def fill(self, operation: Operation) -> None:
        """Everything the page asks for, until it says that all is entered."""
        self._parts()
        for _ in range(400):
            if self.page.locator("form.put").count() == 0:
                return
            self._one(operation)
        raise AssertionError(f"operation {operation.number} never ends: {self.page.url}")

    def _parts(self) -> None:
        panel = self.page.locator(".panel", has=self.page.get_by_role("heading", name="Parts to scan"))
        for _ in range(30):
            if not panel.count():
                return
            open_rows = panel.locator("li").filter(has_not_text="done").all()
            if not open_rows:
                return
            text = open_rows[0].inner_text()
            aside = re.search(r"in the kit: ([^,\n]+)", text)
            name = text.split("\n")[0]
            mark = aside[1].strip() if aside else self._from_stock(name)
            self.bench.scan(self.labels[mark])
            wrong = self.page.locator("#f-scan-error")
            if wrong.count():
                raise AssertionError(f"scanned {mark} for {name}: {wrong.inner_text()}")

    def _from_stock(self, name: str) -> str:
        fitting = [kind for kind in self.stock if name.startswith(kind)]
        if not fitting:
            raise LookupError(f"no stock is known for “{name}”")
        return self.stock[max(fitting, key=len)]

    def _one(self, operation: Operation) -> None:
        form = self.page.locator("form.put")
        photo = form.locator("input[name=photo_name]")
        if photo.count():
            form.locator("input[type=file]").set_input_files(self.photo)
            self.bench.sends(lambda: self.bench.press(form.get_by_role("button", name="Keep this photo")))
            return
        code = form.locator("input[name=characteristic]").get_attribute("value") or ""
        position = form.locator("input[name=position]").get_attribute("value") or ""
        asked = self.card.characteristic(code)
        if self._needs_gauge(asked):
            return
        self._enter(form, asked, position)

    def _needs_gauge(self, asked: Asked) -> bool:
        """Scan the gauge, or the ring, that the page asks for; one scan at a time."""
        form = self.page.locator("form.put")
        if asked.needs_setting and form.locator("input[name=ring]").get_attribute("value") != self._ring(asked):
            self.bench.scan(label(ScanKind.GAUGE, self._ring(asked)))
            return True
        chosen = form.locator("input[name=gauge]").get_attribute("value") or ""
        wanted = self._gauge(asked)
        if asked.gauge_kind and chosen != wanted:
            self.bench.scan(label(ScanKind.GAUGE, wanted))
            return True
        return False

    def _gauge(self, asked: Asked) -> str:
        figure = Decimal(self._figure(asked, "")) if asked.kind in (Kind.MEASURED, Kind.GIVEN) else Decimal(0)
        rows = [row for row in GAUGES if row[1] == asked.gauge_kind]
        for mark, _, _, unit, _, low, high, _ in rows:
            if unit == asked.unit and (not low or Decimal(low) <= figure) and (not high or figure <= Decimal(high)):
                return mark
        return rows[0][0] if rows else ""

    def _ring(self, asked: Asked) -> str:
        near = asked.low or asked.high or Decimal(0)
        rings = [(mark, Decimal(size)) for mark, kind, *_, size in GAUGES if kind == RING_OF_KIND]
        return min(rings, key=lambda ring: abs(ring[1] - near))[0]

    def _enter(self, form: Locator, asked: Asked, position: str) -> None:
        if asked.kind in (Kind.MEASURED, Kind.GIVEN, Kind.COUNTED):
            figure = self._figure(asked, position)
            fixed = form.locator("#f-value").get_attribute("data-fixed") or ""
            typed = figure.removeprefix(fixed) if fixed and figure.startswith(fixed) else figure
            self.bench.sends(lambda: self.bench.type_in(typed))
        elif asked.kind is Kind.TEXT:
            self.page.keyboard.type(self._given(asked, position) or "as marked")
            self.bench.sends(lambda: self.bench.press(form.get_by_role("button", name="Enter")))
        else:
            first = "now" if asked.kind is Kind.TIME else (asked.accepted or answers(asked))[0]
            word = self._given(asked, position) or first
            self.bench.sends(lambda: self.bench.press(form.locator(f'button[name=value][value="{word}"]')))

    def _figure(self, asked: Asked, position: str) -> str:
        given = self._given(asked, position)
        if given is not None:
            return given
        steps = [Decimal(row[4]) for row in GAUGES if row[1] == asked.gauge_kind and row[3] == asked.unit and row[4]]
        digit = max([Decimal(1).scaleb(-asked.decimals), *steps[:1]])
        return middle(asked, self.chance, digit)

    def _given(self, asked: Asked, position: str) -> str | None:
        return self.values.get(f"{asked.code} {position}".strip(), self.values.get(asked.code))

    def sign(self, code: str) -> None:
        """The signature with the PIN."""
        self.bench.press(self.page.locator("summary.key-sign"))
        self.page.locator("#f-pin").focus()
        with self.page.expect_navigation():
            self.bench.type_in(PINS[code])

    def sign_second(self, operation: Operation, side: str, doer: str, beside: bool) -> str:
        """The hold, or the signature beside the first, by somebody else."""
        assert beside or operation.hold is not None
        roles = operation.beside if beside else operation.hold.by  # type: ignore[union-attr]
        names = persons_with(roles)
        if ANY_SECOND_PERSON in roles:
            names = ["wenzel", *names]
        signer = next(name for name in names if name != doer)
        self.bench.sign_in(signer, f"/axles/{self.serial}/operations/{operation.number}/{side or '-'}/")
        self.sign(signer)
        return signer
