"""Lay events down in the tree and sign its size and root.

A log never signs two statements that do not agree: before signing, the root is computed a second time, from
the stored bytes and from the top of the tree, and every earlier checkpoint must lie inside the new tree.
"""

from __future__ import annotations

from datetime import datetime
from urllib.parse import urlsplit

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from django.conf import settings
from django.db import transaction
from django.utils import timezone

from shop.record import chain, keys, note, tree
from shop.record.heads import lock_heads
from shop.record.models import Checkpoint, Event, Leaf

#: The lock of the tree: one process lays leaves at a time. No event ever stands under this name.
TREE = "ledger:tree"
BATCH = 2000


class Inconsistent(Exception):
    """What is stored does not agree with itself or with what was signed before. Nothing was signed."""


def lay_leaves() -> int:
    """Give every event that has no leaf yet the next index, in the order of their numbers; gives the tree's
    size.

    Events of different subjects may be committed out of the order of their numbers; a late one simply gets a
    later leaf.
    """
    while True:
        with transaction.atomic():
            lock_heads([TREE])
            size = _size()
            found = list(
                Event.objects.filter(leaf=None).order_by("id").values_list("id", "content", "previous", "hash")[:BATCH]
            )
            for event_id, content, previous, digest in found:
                if chain.link(bytes(previous), bytes(content)) != bytes(digest):
                    raise Inconsistent(f"event {event_id} was changed: its bytes do not give its hash")
            Leaf.objects.bulk_create(
                Leaf(index=size + place, event_id=event_id, hash=tree.leaf_hash(bytes(content)))
                for place, (event_id, content, _, _) in enumerate(found)
            )
        if len(found) < BATCH:
            return size + len(found)


def _size() -> int:
    last = Leaf.objects.order_by("-index").values_list("index", flat=True).first()
    return 0 if last is None else last + 1


def sign_checkpoint(now: datetime | None = None) -> Checkpoint | None:
    """Lay new leaves and sign the tree; None when nothing was added since the last checkpoint."""
    size = lay_leaves()
    last = Checkpoint.objects.order_by("-size").first()
    if size == 0 or (last is not None and last.size == size):
        return None
    root = agreed_root(size)
    key = keys.in_force(keys.LEDGER)
    private = keys.private_half(key)
    if not isinstance(private, Ed25519PrivateKey):
        raise Inconsistent(f"the key {key.name} is no Ed25519 key")
    name = origin(last)
    text = str(note.Checkpoint(name, size, root))
    with transaction.atomic():
        lock_heads([TREE])
        if Checkpoint.objects.filter(size__gte=size).exists():
            return None
        return Checkpoint.objects.create(
            size=size, root=root, note=note.sign(text, name, private), key=key, at=now or timezone.now()
        )


def origin(last: Checkpoint | None) -> str:
    """The log's own name: as it was first signed, whatever the address is called later."""
    if last is not None:
        return last.note.partition("\n")[0]
    return f"{urlsplit(settings.VERIFY_ADDRESS).netloc}/ledger"


def agreed_root(size: int) -> bytes:
    """The root of the first ``size`` leaves, by two ways that must agree, with every earlier checkpoint
    inside."""
    stored = Leaf.objects.filter(index__lt=size).order_by("index")
    signed = dict(Checkpoint.objects.filter(size__lte=size).values_list("size", "root"))
    grown = tree.Range()
    for digest in stored.values_list("hash", flat=True).iterator(chunk_size=BATCH):
        grown.add(bytes(digest))
        if grown.size in signed and bytes(signed[grown.size]) != grown.root():
            raise Inconsistent(f"the tree no longer holds what was signed at size {grown.size}")
    again = [
        tree.leaf_hash(bytes(content))
        for content in stored.values_list("event__content", flat=True).iterator(chunk_size=BATCH)
    ]
    if grown.size != size or len(again) != size or tree.root(again) != grown.root():
        raise Inconsistent(f"two ways to the root of the first {size} events do not agree")
    return grown.root()


def verifier(checkpoint: Checkpoint) -> note.Verifier:
    """The public key under which a checkpoint can be opened."""
    return note.Verifier(checkpoint.note.partition("\n")[0], keys.public_bytes(checkpoint.key))


def proof_of(event: Event) -> note.Proof | None:
    """That this event stands in the signed tree, as one text; None until the next checkpoint."""
    leaf = Leaf.objects.filter(event=event).first()
    if leaf is None:
        return None
    checkpoint = Checkpoint.objects.filter(size__gt=leaf.index).order_by("size").first()
    if checkpoint is None:
        return None
    below = Leaf.objects.filter(index__lt=checkpoint.size).order_by("index").values_list("hash", flat=True)
    hashes = [bytes(digest) for digest in below.iterator(chunk_size=BATCH)]
    return note.Proof(leaf.index, tuple(tree.inclusion_proof(hashes, leaf.index)), checkpoint.note)
