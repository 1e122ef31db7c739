"""The identity of a thing that comes in: its mark, unique per kind, part kind and maker, and its first place.

A mark that differs from a known one only by O for 0 or I for 1 is asked about once.
"""

from __future__ import annotations

from dataclasses import dataclass

from builds.errors import AlreadyThere, LooksAlike
from shop.codes import look_alikes, normalise_mark
from shop.errors import Refusal
from shop.models import Item, ItemKind, Place, Role, Where
from shop.record.act import Act

TAKES_IN = (Role.RECEIVER, Role.INSPECTOR)


@dataclass(frozen=True)
class Identity:
    """What makes a thing one of its own."""

    kind: ItemKind
    mark: str
    sort: str = ""
    maker: str = ""

    @property
    def item(self) -> Item:
        return Item(kind=self.kind, sort=self.sort, maker=self.maker, mark=self.mark)


def identity(kind: ItemKind, mark: str, *, sort: str = "", maker: str = "", longest: int = 40) -> Identity:
    clean = normalise_mark(mark)
    if not clean:
        raise Refusal("The mark is blank. Type what stands on it.", field="mark")
    if len(clean) > longest:
        raise Refusal(f"{clean} has {len(clean)} characters; our own marks have at most {longest}.", field="mark")
    return Identity(kind, clean, sort, maker)


def put_down(a: Act, who: Identity, where: Where, *, sure: bool) -> Item:
    """Make the item at its first place. Its subject is locked, so the same mark cannot be taken in twice."""
    same = Item.objects.filter(kind=who.kind, sort=who.sort, maker=who.maker)
    if same.filter(mark=who.mark).exists():
        raise AlreadyThere(f"{_named(who)} is already here. Look it up in the material drawer.", field="mark")
    alike = same.filter(mark__in=look_alikes(who.mark)).values_list("mark", flat=True)
    if alike and not sure:
        raise LooksAlike(
            f"{who.mark} differs from {' and '.join(alike)} only by O and 0 or I and 1. Look at the mark"
            " again; keep it only if both are really there.",
            field="mark",
        )
    item = a.create(Item, kind=who.kind, sort=who.sort, maker=who.maker, mark=who.mark)
    a.create(Place, item=item, where=where, since=a.now)
    return item


def within_one(one: str, other: str) -> bool:
    """Whether two marks differ by one character: another one, one more, one less, or two that changed places."""
    if one == other or abs(len(one) - len(other)) > 1:
        return False
    if len(one) != len(other):
        short, long = sorted((one, other), key=len)
        return any(long[:place] + long[place + 1 :] == short for place in range(len(long)))
    odd = [place for place, (left, right) in enumerate(zip(one, other, strict=True)) if left != right]
    if len(odd) == 1:
        return True
    first, *rest = odd
    return rest == [first + 1] and one[first] == other[first + 1] and one[first + 1] == other[first]


def _named(who: Identity) -> str:
    words = " ".join(word for word in (who.sort.replace("_", " ") or str(who.kind), who.mark) if word)
    return f"{words} of {who.maker}" if who.maker else words
