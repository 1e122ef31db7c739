"""Signing keys: public halves in a register kept for ever, private halves in files that only this
installation reads.

They are apart from the Django key and outlive it. The register is part of the record: each key's beginning
and end is an act on the subject ``key:<name>``.
"""

from __future__ import annotations

import os
from datetime import datetime
from pathlib import Path

from cryptography.hazmat.primitives.asymmetric import ec, ed25519
from cryptography.hazmat.primitives.serialization import (
    Encoding,
    NoEncryption,
    PrivateFormat,
    PublicFormat,
    load_pem_private_key,
    load_pem_public_key,
)
from django.conf import settings
from django.utils import timezone

from shop.errors import Refusal
from shop.record.act import act
from shop.record.models import SigningKey
from shop.record.who import Who

Private = ed25519.Ed25519PrivateKey | ec.EllipticCurvePrivateKey
LEDGER, CERTIFICATE = SigningKey.Purpose.LEDGER, SigningKey.Purpose.CERTIFICATE


def make_key(purpose: str, *, by: Who, now: datetime | None = None) -> SigningKey:
    """Make a key, keep its private half in a new file, and put it in force; the one in force until now
    ends."""
    at = now or timezone.now()
    name = f"{purpose}-{at:%Y%m%dT%H%M%S}Z"
    private: Private = (
        ed25519.Ed25519PrivateKey.generate() if purpose == LEDGER else ec.generate_private_key(ec.SECP256R1())
    )
    with act("key.made", subject=f"key:{name}", by=by, now=now, also=(f"key:{purpose}",)) as a:
        for old in SigningKey.objects.filter(purpose=purpose, valid_to=None):
            a.update(old, valid_to=a.now)
        made = a.create(SigningKey, name=name, purpose=purpose, public=_public_text(private), valid_from=a.now)
        a.note(purpose=purpose, public=made.public)
        _keep(name, private)
    return made


def in_force(purpose: str) -> SigningKey:
    """The key that signs now; a Refusal says how to make one."""
    found = SigningKey.objects.filter(purpose=purpose, valid_to=None).first()
    if found is None:
        raise Refusal(f"There is no key for {purpose} yet. Make one: manage.py make_key {purpose}")
    return found


def private_half(key: SigningKey) -> Private:
    """The private half from its file; a Refusal when the file is not there or belongs to another key."""
    path = _path(key.name)
    if not path.is_file():
        raise Refusal(f"The private half of the key {key.name} is not in the folder of keys on this machine.")
    private = load_pem_private_key(path.read_bytes(), password=None)
    if not isinstance(private, Private) or _public_text(private) != key.public:
        raise Refusal(f"The file of the key {key.name} holds another key.")
    return private


def public_bytes(key: SigningKey) -> bytes:
    """The 32 raw bytes of an Ed25519 public key, as signed notes name it."""
    public = load_pem_public_key(key.public.encode())
    if not isinstance(public, ed25519.Ed25519PublicKey):
        raise Refusal(f"The key {key.name} does not sign notes.")
    return public.public_bytes(Encoding.Raw, PublicFormat.Raw)


def _public_text(private: Private) -> str:
    public = private.public_key().public_bytes(Encoding.PEM, PublicFormat.SubjectPublicKeyInfo)
    return public.decode("ascii")


def _path(name: str) -> Path:
    return Path(settings.KEYS_DIR) / f"{name}.pem"


def _keep(name: str, private: Private) -> None:
    """Written once, readable by the owner only, and on the disk before the key is in force."""
    path = _path(name)
    path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    text = private.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, NoEncryption())
    descriptor = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    with os.fdopen(descriptor, "wb") as file:
        file.write(text)
        file.flush()
        os.fsync(file.fileno())
