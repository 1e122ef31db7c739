"""Signed notes, checkpoints and inclusion proofs as text, in the forms that C2SP publishes. Pure.

A note is text that ends in a newline, an empty line, and signature lines ``— name base64(key id |
signature)``. A checkpoint is a note of origin, size and root. A proof is an index, the hashes from the leaf
to the root, and the checkpoint they lead to: all that somebody needs who holds one event and trusts one
public key.
"""

from __future__ import annotations

import base64
import binascii
import hashlib
from collections.abc import Sequence
from dataclasses import dataclass

from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey, Ed25519PublicKey
from cryptography.hazmat.primitives.serialization import Encoding, PublicFormat

from shop.record import tree

ED25519 = b"\x01"
DASH = "\u2014"
PROOF_HEADER = "c2sp.org/tlog-proof@v1"


class NoteError(ValueError):
    """The text is no such note, or no known key has signed it."""


@dataclass(frozen=True)
class Verifier:
    """A public key under a name: ``name+hex(key id)+base64(01 | key)``."""

    name: str
    public: bytes

    @property
    def key_id(self) -> bytes:
        return hashlib.sha256(self.name.encode() + b"\n" + ED25519 + self.public).digest()[:4]

    def __str__(self) -> str:
        return f"{self.name}+{self.key_id.hex()}+{_base64(ED25519 + self.public)}"

    @classmethod
    def read(cls, text: str) -> Verifier:
        parts = text.split("+", 2)
        if len(parts) != 3:
            raise NoteError("a verifier key has three parts")
        key = _bytes(parts[2])
        if key[:1] != ED25519 or len(key) != 33:
            raise NoteError("the key is not Ed25519")
        found = cls(_name(parts[0]), key[1:])
        if found.key_id.hex() != parts[1]:
            raise NoteError("the key id does not belong to the key")
        return found

    @classmethod
    def of(cls, name: str, private: Ed25519PrivateKey) -> Verifier:
        return cls(_name(name), private.public_key().public_bytes(Encoding.Raw, PublicFormat.Raw))


def sign(text: str, name: str, private: Ed25519PrivateKey) -> str:
    """The note: the text with one signature line."""
    if not text.endswith("\n") or "\n\n" in text or any(ord(letter) < 32 and letter != "\n" for letter in text):
        raise NoteError("a note is lines of plain text, none of them empty")
    signature = Verifier.of(name, private).key_id + private.sign(text.encode())
    return f"{text}\n{DASH} {name} {_base64(signature)}\n"


def open_note(note: str, known: Sequence[Verifier]) -> str:
    """The text of a note that at least one known key has signed. Signatures of unknown keys are passed over;
    a bad one under a known key refuses the whole note."""
    text, gap, tail = note.rpartition("\n\n")
    if not gap or not tail.endswith("\n"):
        raise NoteError("the text is no signed note")
    signed, good = text + "\n", False
    for line in tail[:-1].split("\n"):
        dash, _, rest = line.partition(" ")
        name, _, encoded = rest.partition(" ")
        if dash != DASH or not name or not encoded:
            raise NoteError("a signature line is malformed")
        raw = _bytes(encoded)
        for verifier in known:
            if verifier.name == name and verifier.key_id == raw[:4]:
                _check(verifier, raw[4:], signed)
                good = True
    if not good:
        raise NoteError("no known key has signed this note")
    return signed


def _check(verifier: Verifier, signature: bytes, text: str) -> None:
    try:
        Ed25519PublicKey.from_public_bytes(verifier.public).verify(signature, text.encode())
    except InvalidSignature as error:
        raise NoteError(f"the signature of {verifier.name} is bad") from error


@dataclass(frozen=True)
class Checkpoint:
    """The state of a log at one size."""

    origin: str
    size: int
    root: bytes

    def __str__(self) -> str:
        return f"{self.origin}\n{self.size}\n{_base64(self.root)}\n"

    @classmethod
    def read(cls, text: str) -> Checkpoint:
        lines = text.split("\n")
        if len(lines) < 4 or not lines[0] or lines[-1]:
            raise NoteError("a checkpoint has an origin, a size and a root")
        root = _bytes(lines[2])
        if len(root) != tree.SIZE:
            raise NoteError("the root is no SHA-256")
        return cls(lines[0], _decimal(lines[1]), root)


@dataclass(frozen=True)
class Proof:
    """One leaf under a signed checkpoint (C2SP tlog-proof). ``extra`` is carried along and never trusted."""

    index: int
    hashes: tuple[bytes, ...]
    checkpoint: str
    extra: bytes = b""

    def __str__(self) -> str:
        lines = [PROOF_HEADER]
        if self.extra:
            lines.append(f"extra {_base64(self.extra)}")
        lines += [f"index {self.index}", *map(_base64, self.hashes)]
        return "\n".join(lines) + "\n\n" + self.checkpoint

    @classmethod
    def read(cls, text: str) -> Proof:
        head, gap, checkpoint = text.partition("\n\n")
        lines = head.split("\n")
        if not gap or lines[0] != PROOF_HEADER:
            raise NoteError("the text is no tlog-proof")
        extra = b""
        if len(lines) > 1 and lines[1].startswith("extra "):
            extra = _bytes(lines.pop(1).removeprefix("extra "))
        if len(lines) < 2 or not lines[1].startswith("index "):
            raise NoteError("the proof names no index")
        return cls(_decimal(lines[1].removeprefix("index ")), tuple(map(_bytes, lines[2:])), checkpoint, extra)

    def verify(self, entry: bytes, known: Sequence[Verifier]) -> Checkpoint:
        """The checkpoint under which the entry stands; raises NoteError or ProofError when it does not."""
        found = Checkpoint.read(open_note(self.checkpoint, known))
        tree.verify_inclusion(tree.leaf_hash(entry), self.index, found.size, self.hashes, found.root)
        return found


def _name(text: str) -> str:
    if not text or "+" in text or any(letter.isspace() for letter in text):
        raise NoteError(f"{text!r} is no name for a key")
    return text


def _decimal(text: str) -> int:
    if not text.isascii() or not text.isdigit() or (len(text) > 1 and text[0] == "0"):
        raise NoteError(f"{text!r} is no plain number")
    return int(text)


def _base64(raw: bytes) -> str:
    return base64.b64encode(raw).decode("ascii")


def _bytes(text: str) -> bytes:
    try:
        raw = base64.b64decode(text, validate=True)
    except (binascii.Error, ValueError) as error:
        raise NoteError("the base64 is malformed") from error
    if _base64(raw) != text:
        raise NoteError("the base64 is not in its one plain form")
    return raw
