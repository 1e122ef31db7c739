"""The Merkle tree over all events. Pure arithmetic after RFC 6962 section 2.1 and RFC 9162 section 2.1;
SHA-256.

A leaf is hashed as ``SHA-256(00 | entry)``, a node as ``SHA-256(01 | left | right)``; the first byte keeps a
node from ever passing for a leaf. There are two ways to the root on purpose: ``Range`` grows with each leaf,
``root`` follows the definition from the top; a checkpoint is signed only when both agree.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

SIZE = 32


class ProofError(ValueError):
    """The proof does not show what it claims."""


def leaf_hash(entry: bytes) -> bytes:
    return hashlib.sha256(b"\x00" + entry).digest()


def node_hash(left: bytes, right: bytes) -> bytes:
    return hashlib.sha256(b"\x01" + left + right).digest()


def _split(size: int) -> int:
    """The largest power of two smaller than ``size``."""
    return 1 << ((size - 1).bit_length() - 1)


def root(leaves: Sequence[bytes]) -> bytes:
    """MTH of RFC 6962 over leaf hashes, from the top down by the definition."""
    if not leaves:
        return hashlib.sha256(b"").digest()
    return _subtree(leaves, 0, len(leaves))


def _subtree(leaves: Sequence[bytes], start: int, end: int) -> bytes:
    if end - start == 1:
        return leaves[start]
    middle = start + _split(end - start)
    return node_hash(_subtree(leaves, start, middle), _subtree(leaves, middle, end))


@dataclass
class Range:
    """The complete subtrees along the right edge: all that is needed to go on adding leaves."""

    size: int = 0
    edge: list[bytes] = field(default_factory=list)

    def add(self, leaf: bytes) -> None:
        """Add one leaf hash; two complete subtrees of one height become one of the next."""
        node, size = leaf, self.size
        while size & 1:
            node = node_hash(self.edge.pop(), node)
            size >>= 1
        self.edge.append(node)
        self.size += 1

    def extend(self, leaves: Iterable[bytes]) -> None:
        for leaf in leaves:
            self.add(leaf)

    def root(self) -> bytes:
        if not self.edge:
            return hashlib.sha256(b"").digest()
        node = self.edge[-1]
        for left in reversed(self.edge[:-1]):
            node = node_hash(left, node)
        return node


def inclusion_proof(leaves: Sequence[bytes], index: int) -> list[bytes]:
    """PATH of RFC 6962 section 2.1.1, from the leaf up. IndexError for a leaf that is not there."""
    if not 0 <= index < len(leaves):
        raise IndexError(f"leaf {index} is not in a tree of {len(leaves)}")
    proof: list[bytes] = []
    start, end = 0, len(leaves)
    while end - start > 1:
        middle = start + _split(end - start)
        if index < middle:
            proof.append(_subtree(leaves, middle, end))
            end = middle
        else:
            proof.append(_subtree(leaves, start, middle))
            start = middle
    return proof[::-1]


def verify_inclusion(leaf: bytes, index: int, size: int, proof: Sequence[bytes], claimed: bytes) -> None:
    """RFC 9162 section 2.1.3.2; raises ProofError unless the leaf stands at this index under this root."""
    if not 0 <= index < size:
        raise ProofError(f"leaf {index} cannot be in a tree of {size}")
    position, last, node = index, size - 1, leaf
    for step in proof:
        if len(step) != SIZE:
            raise ProofError("a hash of the proof has the wrong length")
        if last == 0:
            raise ProofError("the proof is too long")
        if position & 1 or position == last:
            node = node_hash(step, node)
            while not position & 1 and position:
                position, last = position >> 1, last >> 1
        else:
            node = node_hash(node, step)
        position, last = position >> 1, last >> 1
    if last:
        raise ProofError("the proof is too short")
    if node != claimed:
        raise ProofError("the proof leads to another root")


def consistency_proof(leaves: Sequence[bytes], old: int) -> list[bytes]:
    """PROOF of RFC 6962 section 2.1.2: that the first ``old`` leaves were only added to."""
    if not 0 < old <= len(leaves):
        raise IndexError(f"no proof from {old} to {len(leaves)}")
    return _consistency(leaves, 0, len(leaves), old, whole=True)


def _consistency(leaves: Sequence[bytes], start: int, end: int, old: int, *, whole: bool) -> list[bytes]:
    if old == end - start:
        return [] if whole else [_subtree(leaves, start, end)]
    middle = start + _split(end - start)
    if start + old <= middle:
        return [*_consistency(leaves, start, middle, old, whole=whole), _subtree(leaves, middle, end)]
    rest = _consistency(leaves, middle, end, start + old - middle, whole=False)
    return [*rest, _subtree(leaves, start, middle)]


def verify_consistency(old: int, new: int, proof: Sequence[bytes], old_root: bytes, new_root: bytes) -> None:
    """RFC 9162 section 2.1.4.2; raises ProofError unless the new tree only adds to the old one."""
    if not 0 < old <= new:
        raise ProofError(f"nothing leads from size {old} to size {new}")
    if any(len(step) != SIZE for step in (*proof, old_root, new_root)):
        raise ProofError("a hash of the proof has the wrong length")
    if old == new:
        if proof or old_root != new_root:
            raise ProofError("two trees of one size must be the same tree")
        return
    if not proof:
        raise ProofError("the proof is empty")
    steps = list(proof) if old & (old - 1) else [old_root, *proof]
    position, last = old - 1, new - 1
    while position & 1:
        position, last = position >> 1, last >> 1
    before = after = steps[0]
    for step in steps[1:]:
        if last == 0:
            raise ProofError("the proof is too long")
        if position & 1 or position == last:
            before, after = node_hash(step, before), node_hash(step, after)
            while not position & 1 and position:
                position, last = position >> 1, last >> 1
        else:
            after = node_hash(after, step)
        position, last = position >> 1, last >> 1
    if last:
        raise ProofError("the proof is too short")
    if before != old_root or after != new_root:
        raise ProofError("the proof leads to other roots")
