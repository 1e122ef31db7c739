"""The parts of a notice that its page shows: all of a small one, one page of the part that is asked of a great one."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from urllib.parse import urlencode

from builds.forms.notices import StepForm
from builds.reports.notices.brief import PER_PAGE, STATES, STOPPED, WHOLE, BriefView, Part, shown
from builds.reports.notices.standing import LineView
from shop.http import Asked
from shop.http.paging import page_asked, paged


@dataclass(frozen=True)
class Page:
    """Which lines the address asks for: of which part, in which state, from which page on."""

    part: str
    state: str
    number: int

    def query(self, **other: object) -> str:
        said = {"part": self.part, "state": self.state, "page": self.number} | other
        return urlencode({name: value for name, value in said.items() if value and (name, value) != ("page", 1)})


def page_of(request: Asked) -> Page:
    """What makes no sense in the address is as if it were not there."""
    asked = request.GET
    state = asked.get("state", "")
    return Page(
        asked.get("part", "")[:20],
        state if state in STATES else "",
        page_asked(request),
    )


@dataclass(frozen=True)
class ShownPart:
    """A part with the lines that are drawn of it: all, or one page; none where only its heading is. `pages`: (words,
    query) of the other pages; `states`: (words, query, whether it is this one)."""

    part: Part
    lines: list[LineView]
    form: StepForm | None
    pages: list[tuple[str, str]]
    states: list[tuple[str, str, bool]]
    query: str = ""

    @property
    def anchor(self) -> str:
        """Its heading on the page: a link to it leads there, past the parts before it."""
        return f"h-g{self.part.key}" if self.part.letter else f"h-{self.part.key}"


def parts_shown(view: BriefView, page: Page, form_of: Callable[[str], StepForm]) -> list[ShownPart]:
    """The parts in their order. A notice of few lines is shown whole, as long as no part of it is asked for."""
    whole = len(view.lines) <= WHOLE and not page.part
    found = []
    for part in view.parts:
        if not part.lines:
            found.append(ShownPart(part, [], None, [], []))
        elif not whole and part.key != page.part:
            found.append(ShownPart(part, [], None, [], [], urlencode({"part": part.key})))
        else:
            form = form_of(part.key) if part.key != STOPPED else None
            found.append(
                ShownPart(part, shown(view, part.lines), form, [], []) if whole else _one_page(view, part, page, form)
            )
    return found


def _one_page(view: BriefView, part: Part, page: Page, form: StepForm | None) -> ShownPart:
    lines = part.of_state(page.state)
    at = paged(len(lines), page.number, PER_PAGE, lambda number: page.query(page=number))
    states = [
        (words, page.query(state=state, page=1), state == page.state)
        for state, words in (("", f"all {len(part.lines)}"), ("open", f"{part.open} open"),
                             ("closed", f"{len(part.lines) - part.open} closed"))
    ]  # fmt: skip
    some = lines[at.first : at.end]
    return ShownPart(part, shown(view, some) if some else [], form, at.ways, states, page.query(page=at.number))
