"""From a scan or a typed mark to the things that carry it: a ring and a pinion may share one."""

from __future__ import annotations

from collections.abc import Sequence

from builds.errors import UnknownMark
from shop.codes import look_alikes, parse_scan
from shop.models import Item, ItemKind


def find_items(scan: str, *, kinds: Sequence[ItemKind]) -> list[Item]:
    """Everything of these kinds with the scanned mark; else written maker/mark; else a look-alike.

    Of look-alikes (O for 0, I for 1) more than one mark is a doubt, and a doubt finds nothing.
    """
    read = parse_scan(scan)
    mark = read.mark if read is not None else " ".join(scan.upper().split())
    if not mark:
        raise UnknownMark("Nothing was scanned. Scan the mark, or type it.", field="scan")
    any_kind = read is None or read.kind is None or read.typed
    wanted = [kind.value for kind in kinds if any_kind or (read and read.kind and read.kind.value == kind.value)]
    return marked(wanted, mark)


def marked(kinds: Sequence[str], mark: str) -> list[Item]:
    """Everything of these kinds with the mark; else written maker/mark; else a look-alike without a doubt."""
    items = Item.objects.filter(kind__in=kinds).order_by("pk")
    found = list(items.filter(mark=mark))
    if not found and "/" in mark:
        maker, _, rest = mark.partition("/")
        found = list(items.filter(maker__iexact=maker.strip(), mark=rest.strip()))
    if not found:
        alike = list(items.filter(mark__in=look_alikes(mark)))
        found = alike if len({item.mark for item in alike}) == 1 else []
    return found


def describe(item: Item) -> str:
    """What it is, in words for a sentence: its sort or kind, mark, maker."""
    what = item.sort.replace("_", " ") or str(item.get_kind_display())
    what = f"lot of {what}" if item.kind == ItemKind.LOT and item.sort else what
    return f"{what} {item.mark}" + (f" of {item.maker}" if item.maker else "")
