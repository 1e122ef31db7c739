"""A gear set brought into place at the screen: what the two stories share, whatever the cut and wherever the shims."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from playwright.sync_api import Locator, Page, expect

from builds.models import Axle, KitLine, Visit
from builds.scenario.driver import Builder
from builds.scenario.values import VALUES
from measurements.bench.answer import Answer
from measurements.models import Advised, Reading
from shop.codes import ScanKind
from tests.browser.hands import Bench, Hands, label
from tests.browser.refused.walk import Walk, enter
from tests.shopfloor import SMALLEST_PNG

DOER, LEAD, INSPECTOR = "rusk", "ingrith", "calla"


@dataclass
class Setting:
    """One axle at the assembly bench, worked by one assembler; nothing but pages from here on."""

    walk: Walk
    axle: Axle
    photo: Path

    @classmethod
    def brought_to(cls, walk: Walk, number: int, folder: Path, **values: str) -> Setting:
        """An axle whose operations before this one are done by the actions."""
        photo = folder / "photo.png"
        photo.write_bytes(SMALLEST_PNG)
        builder: Builder = walk.floor.builder(walk.floor.axle(), **values)
        builder.kit()
        builder.run(until=number)
        walk.clock.move_to(max(builder.now, datetime.now(UTC)))
        return cls(walk, builder.axle, photo)

    @property
    def labels(self) -> dict[str, str]:
        """The label of every part that is set aside for this axle."""
        parts = KitLine.objects.filter(axle=self.axle).values_list("part__kind", "part__mark")
        return {mark: label(ScanKind(kind), mark) for kind, mark in parts}

    @property
    def bench(self) -> Bench:
        return self.walk.bench("AX")

    @property
    def page(self) -> Page:
        return self.bench.page

    def hands(self, values: Mapping[str, str]) -> Hands:
        card = self.walk.floor.revision.card
        return Hands(self.bench, card, self.axle.serial, {}, self.labels, self.photo, VALUES | values)

    def takes_up(self, number: int) -> None:
        self.walk.take_up(self.bench, DOER, self.axle, number)

    def fills(self, number: int, **values: str) -> None:
        """Everything that the page still asks for; `c270_b_drive` is 270.b at drive."""
        named = {_code(key): text for key, text in values.items()}
        self.hands(named).fill(self.walk.floor.revision.card.operation(number))

    def opens(self, code: str) -> None:
        self.bench.press_on(self.page.locator(f'a.feature[href*="characteristic={code}"]'))

    def types(self, *texts: str, gauge: str = "") -> None:
        if gauge:
            self.bench.scan(label(ScanKind.GAUGE, gauge))
        for text in texts:
            enter(self.bench, text)

    def ends_this_try(self, words: str) -> None:
        self.bench.press_on(self.page.get_by_role("button", name=words))

    def sets_down(self, note: str) -> None:
        self.bench.press(self.page.get_by_text("Set down here"))
        self.page.locator("#f-set-down-note").fill(note)
        self.bench.press_on(self.page.get_by_role("button", name="Set it down"))

    def signs(self) -> None:
        self.hands({}).sign(DOER)

    def does(self, number: int, **values: str) -> None:
        """Taken up, filled and signed, with the hold where there is one."""
        self.takes_up(number)
        self.fills(number, **values)
        self.signs()
        if self.walk.floor.revision.card.operation(number).hold is not None:
            self.bench.sign_in(INSPECTOR, self.walk.at(self.axle, number))
            self.hands({}).sign(INSPECTOR)

    def sent_back(self, number: int, words: str) -> None:
        """The lead builder looks at the signed pass in the axle file and does not sign it."""
        self.bench.sign_in(LEAD, f"/axles/{self.axle.serial}/")
        self.bench.press_on(self.page.locator(f'a[href="?back={number}%2F"]'))
        self.page.locator("#f-back-reason").fill(words)
        self.bench.press_on(self.page.get_by_role("button", name="Send it back"))

    def advice(self, title: str) -> Locator:
        return self.page.locator(".panel.advice").filter(has=self.page.get_by_role("heading", name=title))

    def says(self, title: str, words: str) -> None:
        expect(self.advice(title).locator(".says")).to_contain_text(words)

    def passes(self) -> list[int]:
        """The number of each pass from the trial backlash to the last look, in the order they were begun."""
        visits = Visit.objects.filter(axle=self.axle, operation__number__gte=250, operation__number__lte=300)
        return list(visits.order_by("pk").values_list("operation__number", flat=True))

    def kept(self, code: str) -> list[str]:
        rows = Reading.objects.filter(sheet__visit_links__visit__axle=self.axle, characteristic__code=code)
        return list(rows.order_by("pk").values_list("typed", flat=True))

    def advised(self, name: str) -> list[str]:
        """The last answer of each pass that has one, as kept."""
        rows = Advised.objects.filter(sheet__visit_links__visit__axle=self.axle, name=name).order_by("pk")
        last = dict(rows.values_list("sheet__visit_links__visit", "answer"))
        return [Answer.from_json(text).says for text in last.values()]


def _code(key: str) -> str:
    number, letter, *position = key.removeprefix("c").split("_")
    return f"{number}.{letter} {' '.join(position)}".strip()
