"""From a scan or a typed mark to the one item it names."""

from __future__ import annotations

from collections.abc import Sequence

from shop.codes import Scan, ScanKind, is_serial, look_alikes, parse_scan, verify_serial
from shop.errors import Refusal
from shop.models.items import Item, ItemKind


def find_item(expected: ItemKind | Sequence[ItemKind], scanned: str | Scan, *, field: str = "scan") -> Item:
    """The item a scan names; `expected` are the kinds that make sense here.

    O for 0 and I for 1 are accepted when exactly one existing mark then fits. Raises Refusal, naming what was
    scanned and what was expected.
    """
    kinds = [ItemKind(expected)] if isinstance(expected, str) else list(expected)
    wanted = _list([str(kind.label) for kind in kinds])
    scan = parse_scan(scanned) if isinstance(scanned, str) else scanned
    if scan is None:
        raise Refusal(f"Scan the label of {wanted}, or type its mark.", field=field)
    named = scan.kind.value if scan.kind is not None and not scan.typed else None
    if named is not None and scan.kind is not None and named not in kinds:
        raise Refusal(f"You scanned {_named(scan.kind, scan.mark)}; {wanted} is expected here.", field=field)
    looked_in = [kind for kind in kinds if named in (None, kind.value)]
    found = _marked(looked_in, scan.mark)
    if not found:
        raise Refusal(_unknown(scan, kinds, wanted), field=field)
    if len(found) > 1:
        raise Refusal(_ambiguous(scan.mark, found), field=field)
    return found[0]


def _marked(kinds: Sequence[ItemKind], mark: str) -> list[Item]:
    """Items with this mark; else written maker/mark; else with a mark that looks the same."""
    within = Item.objects.filter(kind__in=kinds)
    found = list(within.filter(mark=mark).order_by("maker"))
    if not found and "/" in mark:
        maker, _, rest = mark.partition("/")
        found = list(within.filter(maker__iexact=maker.strip(), mark=rest.strip()))
    if not found and (alike := look_alikes(mark)):
        found = list(within.filter(mark__in=alike).order_by("maker"))
    return found


def _unknown(scan: Scan, kinds: Sequence[ItemKind], wanted: str) -> str:
    if list(kinds) == [ItemKind.AXLE]:
        return _unknown_axle(scan.mark)
    others = Item.objects.filter(mark=scan.mark).exclude(kind__in=kinds)[:1]
    for other in others:
        return f"{scan.mark} is {_article(other.get_kind_display())}; {wanted} is expected here."
    return f"Nothing here is marked {scan.mark}; {wanted} is expected. Read it again, or have it received first."


def _unknown_axle(mark: str) -> str:
    if not is_serial(mark):
        other = Item.objects.filter(mark=mark).first()
        if other is not None:
            return f"{mark} is {_article(other.get_kind_display())}; an axle is expected here."
    try:
        serial = verify_serial(mark)
    except Refusal as refusal:
        return refusal.text
    return f"No axle has the serial {serial}. Read it again from the plate or the build card."


def _ambiguous(mark: str, found: Sequence[Item]) -> str:
    if len({item.mark for item in found}) > 1:
        names = _list(sorted({item.mark for item in found}))
        return f"{mark} could be {names}. Type it exactly as it is marked, with 0 and 1 as figures."
    names = _list([f"{item.get_kind_display()} {item.maker}/{item.mark}".strip() for item in found], "and")
    return f"Several are marked {mark}: {names}. Type the maker, a stroke and the mark."


def _named(kind: ScanKind, mark: str) -> str:
    """A badge's code is a secret and is not shown."""
    return "a badge" if kind is ScanKind.BADGE else f"{kind} {mark}"


def _list(words: Sequence[str], joint: str = "or") -> str:
    named = [word if any(letter.isupper() for letter in word) else _article(word) for word in words]
    return named[0] if len(named) == 1 else f"{', '.join(named[:-1])} {joint} {named[-1]}"


def _article(word: str) -> str:
    return f"{'an' if word[0].lower() in 'aeio' else 'a'} {word}"
