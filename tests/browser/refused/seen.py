"""An operation in hand at its station's screen: what is typed there, what the actions do beside it, what is told."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Locator, Page

from builds.models import Visit
from builds.reports.work import Place, work_of
from builds.scenario.driver import Builder
from shop.codes import ScanKind
from tests.browser.hands import Bench, label
from tests.browser.refused.walk import Walk, enter
from tests.browser.test_every_page import WCAG


@dataclass
class Seen:
    """An operation in hand, at its station's screen."""

    walk: Walk
    builder: Builder
    visit: Visit
    bench: Bench
    path: str

    @property
    def page(self) -> Page:
        return self.bench.page

    def panel(self, title: str) -> Locator:
        return self.page.locator(".panel.advice").filter(has=self.page.get_by_role("heading", name=title))

    def says(self, title: str) -> Locator:
        return self.panel(title).locator(".says")

    def opens(self, code: str) -> None:
        self.bench.press_on(self.page.locator(f'a.feature[href*="characteristic={code}"]'))

    def types(self, gauge: str, text: str) -> None:
        self.bench.scan(label(ScanKind.GAUGE, gauge))
        enter(self.bench, text)

    def enters(self, *values: tuple[str, ...]) -> None:
        """By the actions, then look again."""
        self.builder.now = datetime.now(UTC)
        for code, *texts in values:
            self.builder.enter_code(self.visit, code, *texts)
        self.looks()

    def places(self, code: str) -> list[Place]:
        return [found for found in work_of(self.visit).places if found.asked.code == code]

    def repeats(self, code: str, text: str, position: str | None = None) -> None:
        """A new try of it by the actions, at the first place unless another is named."""
        self.builder.now = datetime.now(UTC)
        place = next(found for found in self.places(code) if position in (None, found.position))
        self.builder.enter(self.visit, place, text, reason="put right")
        self.looks()

    def looks(self) -> None:
        """The clock has moved on: where the terminal has locked itself, the doer says again who is there."""
        assert self.builder.doer is not None
        self.walk.clock.move_to(max(self.builder.now, datetime.now(UTC)))
        self.bench.sign_in(self.builder.doer.code, self.path)

    def is_accessible(self, *, grounds: bool = True) -> None:
        """With every ground opened, unless something lies over them."""
        for summary in self.page.locator(".panel.advice summary").all() if grounds else ():
            summary.click()
        result = Axe().run(self.page, options=WCAG)
        assert [one["id"] for one in result.response["violations"]] == []

    def signs(self) -> None:
        self.builder.now = datetime.now(UTC)
        self.builder.fill(self.visit)
        self.builder.sign(self.visit)
        assert self.bench.complaints == []


def begin(walk: Walk, builder: Builder, station: str, key: str) -> Seen:
    """The axle brought to this operation and taken up by the actions; its doer signs in at the screen."""
    number, side = key.split("/")
    builder.now = max(builder.now, datetime.now(UTC))
    builder.run(until=int(number))
    visit = builder.begin(key)
    seen = Seen(walk, builder, visit, walk.bench(station), walk.at(builder.axle, int(number), side or "-"))
    seen.looks()
    return seen


def again(walk: Walk, builder: Builder, station: str, key: str) -> Seen:
    """The same operation, which the test before left in hand."""
    number, _ = key.split("/")
    visit = Visit.objects.filter(axle=builder.axle, operation__number=int(number)).latest("pk")
    seen = Seen(walk, builder, visit, walk.bench(station), walk.at(builder.axle, int(number)))
    seen.looks()
    return seen
