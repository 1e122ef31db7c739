"""From a scan to the one item it names."""

from __future__ import annotations

import pytest

from shop.errors import Refusal
from shop.models import Item, ItemKind, find_item
from shop.record.act import act
from shop.record.who import SYSTEM

pytestmark = pytest.mark.django_db


def item(kind: ItemKind, mark: str, maker: str = "") -> Item:
    with act("item.made", subject=f"{kind}:{maker}/{mark}", by=SYSTEM) as a:
        return a.create(Item, kind=kind, maker=maker, mark=mark)


def test_label_and_typed_mark_find_it() -> None:
    gauge = item(ItemKind.GAUGE, "G-014")
    assert find_item(ItemKind.GAUGE, "~G:G-014") == gauge
    assert find_item(ItemKind.GAUGE, " g-014 ") == gauge


def test_o_for_zero_is_accepted_when_one_mark_fits() -> None:
    axle = item(ItemKind.AXLE, "TBK-25-0143-D")
    assert find_item(ItemKind.AXLE, "TBK-25-O143-D") == axle
    assert find_item(ItemKind.AXLE, "tbk-25-ol43-d".replace("l", "i")) == axle


def test_an_exact_mark_stands_before_a_look_alike() -> None:
    item(ItemKind.PART, "A0")
    exact = item(ItemKind.PART, "AO")
    assert find_item(ItemKind.PART, "AO") == exact


def test_two_look_alikes_are_named() -> None:
    item(ItemKind.PART, "A0-I")
    item(ItemKind.PART, "AO-1")
    with pytest.raises(Refusal, match=r"A0-I or AO-1"):
        find_item(ItemKind.PART, "A0-1")


def test_two_makers_are_named_and_the_maker_decides() -> None:
    item(ItemKind.PART, "77", maker="PELLANBY")
    wanted = item(ItemKind.PART, "77", maker="ASHGROMMET")
    with pytest.raises(Refusal, match=r"ASHGROMMET/77 and part PELLANBY/77"):
        find_item(ItemKind.PART, "~P:77")
    assert find_item(ItemKind.PART, "~P:ASHGROMMET/77") == wanted


@pytest.mark.parametrize(
    ("scanned", "said"),
    [
        ("~G:G-014", "You scanned gauge G-014; an axle is expected here"),
        ("G-014", "G-014 is a gauge; an axle is expected here"),
        ("~A:TBK-25-0143-D", "No axle has the serial TBK-25-0143-D"),
        ("TBK-25-0143-X", "check character does not fit"),
        ("TBK-25-0143", "lacks its check character"),
        ("nothing", "not an axle serial"),
        ("105", "Scan the label of an axle"),
        ("", "Scan the label of an axle"),
        ("~B:SECRETBADGE", "You scanned a badge; an axle is expected"),
    ],
)
def test_what_is_no_axle_is_refused_by_name(scanned: str, said: str) -> None:
    item(ItemKind.GAUGE, "G-014")
    with pytest.raises(Refusal, match=said) as refused:
        find_item(ItemKind.AXLE, scanned)
    assert "SECRETBADGE" not in refused.value.text


def test_several_kinds_may_be_expected() -> None:
    lot = item(ItemKind.LOT, "PB-5521")
    assert find_item([ItemKind.PART, ItemKind.LOT], "PB-5521") == lot
    with pytest.raises(Refusal, match="a part or a lot is expected"):
        find_item([ItemKind.PART, ItemKind.LOT], "PB-9999")
