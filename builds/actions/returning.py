"""An axle, or word of it, comes back: what is said to be wrong, and what was found."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from django.db.models import Max

from builds.errors import NotReady
from builds.models import Axle, Finding, FindingWord, Fitted, Returned, ReturnPhoto, Shipment
from shop import entries
from shop.clock import shop_day
from shop.errors import Refusal
from shop.models import Role
from shop.permissions import require_role
from shop.record.act import act
from shop.record.who import Who

NUMBERS = "counter:returns"
TAKES_BACK = (Role.OFFICE, Role.QUALITY, Role.MANAGER, Role.INSPECTOR, Role.ENGINEER)
LONGEST = 400
LONGEST_NAME = 60


@dataclass(frozen=True)
class Said:
    """What the customer reports. `use`: hours or distance, in their words."""

    words: str
    came_on: date
    role: str = ""
    use: str = ""


def roles_in(axle: Axle) -> list[str]:
    """The roles of all that was ever fitted for this axle, in the order of their names."""
    return sorted(set(Fitted.objects.filter(axle=axle).values_list("role", flat=True)))


def take_return(*, axle: Axle, said: Said, by: Who, now: datetime | None = None) -> Returned:
    """Put a return on record. Refuses an axle that has not left: a fault in the house is a red tag."""
    came_on = entries.day(said.came_on, "day of the report", field="came_on")
    told = {
        "words": entries.line(said.words, "report", field="words", longest=LONGEST),
        "use": entries.line(said.use, "use", longest=120, may_be_empty=True),
    }
    with act("axle.returned", subject=axle.subject, by=by, now=now, also=(NUMBERS,)) as a:
        require_role(by, TAKES_BACK, shop_day(a.now))
        assert by.person is not None, "a role is held by a person"
        left = Shipment.objects.filter(axle=axle).order_by("shipped_at").first()
        if left is None:
            raise NotReady(f"{axle.serial} has not left the shop. A fault that is found here is a red tag.")
        _check_day(axle, came_on, shop_day(left.shipped_at), shop_day(a.now))
        if said.role and said.role not in roles_in(axle):
            raise Refusal(f"Nothing was fitted into {axle.serial} as {said.role}. Pick from the list.", field="role")
        number = (Returned.objects.aggregate(last=Max("number"))["last"] or 0) + 1
        a.note(number=number, words=told["words"], role=said.role)
        return a.create(
            Returned, number=number, axle=axle, role=said.role, came_on=came_on, person=by.person, at=a.now, **told
        )


def _check_day(axle: Axle, came_on: date, left: date, today: date) -> None:
    if came_on > today:
        raise Refusal(f"{came_on} lies ahead; today is {today}.", field="came_on")
    if came_on < left:
        raise Refusal(f"{axle.serial} left on {left}; it cannot have come back on {came_on}.", field="came_on")


def note_finding(*, returned: Returned, says: str, words: str, by: Who, now: datetime | None = None) -> Finding:
    """What was found on looking at it. A later finding counts; the earlier ones stay."""
    if says not in FindingWord.values:
        raise Refusal("Say what was found: a fault of the axle, not one, or not known.", field="says")
    found = entries.line(words, "finding", field="words", longest=LONGEST)
    with act("return.found", subject=returned.axle.subject, by=by, now=now) as a:
        require_role(by, TAKES_BACK, shop_day(a.now))
        assert by.person is not None, "a role is held by a person"
        a.note(number=returned.number, says=says, words=found)
        return a.create(Finding, returned=returned, says=says, words=found, person=by.person, at=a.now)


def add_return_photo(
    *, returned: Returned, name: str, sha256: str, by: Who, now: datetime | None = None
) -> ReturnPhoto:
    """A picture, already kept by its hash, of what came back; `name` says what it shows."""
    shows = entries.line(name, "photo's name", field="name", longest=LONGEST_NAME)
    with act("return.photo_added", subject=returned.axle.subject, by=by, now=now) as a:
        require_role(by, TAKES_BACK, shop_day(a.now))
        assert by.person is not None, "a role is held by a person"
        a.note(number=returned.number, name=shows, sha256=sha256)
        return a.create(ReturnPhoto, returned=returned, name=shows, sha256=sha256, person=by.person, at=a.now)
