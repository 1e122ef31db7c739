"""Makers' papers and deliveries: what came on which slip, and which paper covers it. Nothing kept is ever replaced."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from datetime import date, datetime

from builds.actions.attaching import keep_file
from builds.actions.identities import TAKES_IN, identity
from builds.errors import AlreadyThere, LooksAlike
from builds.models import Delivered, Delivery, Paper, PaperFor, PaperKind, Scan
from shop import entries
from shop.clock import shop_day
from shop.errors import Refusal
from shop.files import clean_document
from shop.models import Item, ItemKind, Person, Supplier
from shop.permissions import require_role
from shop.record.act import Act, act
from shop.record.who import Who

LONGEST_NUMBER = 80
LONGEST_NOTE = 200


@dataclass(frozen=True)
class NewDelivery:
    """What stands on the packing slip."""

    slip: str
    supplier: Supplier
    came_on: date
    note: str = ""


@dataclass(frozen=True)
class Named:
    """A maker's paper by its number. `scan`: the file as it came, or nothing yet. `shared`: it names others too."""

    maker: Supplier
    number: str
    kind: str
    scan: bytes = b""
    shared: bool = False


def take_delivery(*, delivery: NewDelivery, by: Who, now: datetime | None = None) -> Delivery:
    """A packing slip stands once per supplier; what is taken in afterwards names it."""
    who = identity(ItemKind.DELIVERY, delivery.slip, maker=delivery.supplier.code)
    with act("delivery.came", subject=who.item.subject, by=by, now=now) as a:
        today = shop_day(a.now)
        require_role(by, TAKES_IN, today)
        if delivery.came_on > today:
            raise Refusal("The day it came lies ahead. Type the day on the packing slip.", field="came_on")
        entries.day(delivery.came_on, "day it came", field="came_on")
        note = " ".join(delivery.note.split())
        if len(note) > LONGEST_NOTE:
            raise Refusal(f"The note is longer than {LONGEST_NOTE} characters. Shorten it.", field="note")
        if Item.objects.filter(kind=who.kind, maker=who.maker, mark=who.mark).exists():
            raise AlreadyThere(
                f"Packing slip {who.mark} of {delivery.supplier} is here already. Go on there, or read it again.",
                field="slip",
            )
        item = a.create(Item, kind=who.kind, sort="", maker=who.maker, mark=who.mark)
        a.note(supplier=delivery.supplier.code, came_on=str(delivery.came_on))
        return a.create(
            Delivery, item=item, supplier=delivery.supplier, came_on=delivery.came_on, note=note,
            person=_person(by), at=a.now,
        )  # fmt: skip


def bring(a: Act, delivery: Delivery | None, item: Item) -> None:
    """Note that the thing came with this delivery, where it came with one."""
    if delivery is not None:
        a.create(Delivered, delivery=delivery, item=item)


def cover(a: Act, named: Named, item: Item) -> Paper:
    """The paper covers the thing. A paper that already covers something else of the same sort is asked about once:
    one certificate may list two heats (nothing forbids it), but then each has values of its own under its number."""
    number = number_of(named)
    paper = Paper.objects.filter(maker=named.maker, number=number).first()
    if paper is None:
        paper = _new_paper(a, named, number)
    elif paper.kind != named.kind:
        raise Refusal(
            f"{number} of {named.maker} is here as type {paper.kind}, not {named.kind}. Read the paper again.",
            field="certificate_type",
        )
    others = Item.objects.filter(papers__paper=paper, kind=item.kind, sort=item.sort).exclude(mark=item.mark)
    marks = sorted(others.values_list("mark", flat=True))
    if marks and item.kind == ItemKind.HEAT and not named.shared:
        raise LooksAlike(
            f"Certificate {number} already stands for heat {' and '.join(marks[:3])}. One certificate may name several"
            f" heats: keep it only if it states {item.mark} with values of its own.",
            field="certificate",
        )
    if not PaperFor.objects.filter(paper=paper, item=item).exists():
        a.create(PaperFor, paper=paper, item=item)
    if named.scan:
        _keep_scan(a, paper, named.scan)
    return paper


def add_paper(*, item: Item, named: Named, compared: bool, by: Who, now: datetime | None = None) -> Paper:
    """A further paper for what is here, or a scan of one. The values on record are not touched by it."""
    with act("paper.added", subject=item.subject, also=(subject_of(named),), by=by, now=now) as a:
        require_role(by, TAKES_IN, shop_day(a.now))
        known = Paper.objects.filter(covers__item=item, number=number_of(named), maker=named.maker)
        if item.kind == ItemKind.HEAT and not compared and not known.exists():
            raise Refusal(
                "Compare every value of the new paper with those on record. Where one differs, have it put right with"
                " a reason, or stop the heat by a red tag; say then that they were compared.",
                field="compared",
            )
        paper = cover(a, named, item)
        a.note(paper=paper.number, kind=paper.kind, compared=compared)
        return paper


def number_of(named: Named) -> str:
    """The paper's number as it is kept. Raises Refusal for none, or for one that cannot be printed."""
    return entries.line(named.number, "number of the certificate", longest=LONGEST_NUMBER, field="certificate")


def subject_of(named: Named) -> str:
    """The paper's own chain: of two terminals that enter it in the same second one goes first."""
    return f"paper:{named.maker.code}/{number_of(named)}"


def _new_paper(a: Act, named: Named, number: str) -> Paper:
    if named.kind not in PaperKind.values:
        raise Refusal("Say which type of certificate came: 2.1, 2.2, 3.1 or 3.2.", field="certificate_type")
    return a.create(Paper, maker=named.maker, number=number, kind=named.kind, person=_person(a.by), at=a.now)


def _keep_scan(a: Act, paper: Paper, content: bytes) -> None:
    """Looked through before it is kept, and kept once by its fingerprint. Raises BadFile."""
    clean, content_type = clean_document(content)
    sha256 = hashlib.sha256(clean).hexdigest()
    keep_file(sha256, clean, content_type)
    if not Scan.objects.filter(paper=paper, sha256=sha256).exists():
        a.create(Scan, paper=paper, sha256=sha256, person=_person(a.by), at=a.now)


def _person(by: Who) -> Person:
    if by.person is None:
        raise Refusal("Nobody is signed in. Sign in first.")
    return by.person
