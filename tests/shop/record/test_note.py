"""Signed notes, checkpoints and proofs.

Sources: the note vector is from the C2SP repository at commit 5ba5ee8 (signed-note); the Ed25519 seeds are
vectors 1 to 3 of RFC 8032 section 7.1 (constants from memory, confirmed by execution).
"""

from __future__ import annotations

import base64

import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from shop.record import tree
from shop.record.note import Checkpoint, NoteError, Proof, Verifier, open_note, sign
from shop.record.tree import ProofError

VKEY = "example.com/foo+530d903a+AekyeRrm56hApGFkyQR4ZCbV54Id2LKaANYcrnKv3U2k"
SIGNATURE = "Uw2QOkn8srV1yJGh2VYRlL1Tnagv1YEq6TfXppzi2ONncAlTgK7Ztg1ERYNZXsYjOBH3mFXmRKuwHjG1Yu72IneyaQM="
NOTE = f"This is an example message.\n\n— example.com/foo {SIGNATURE}\n"
NAME = "shop.example/ledger"
PRIVATE = Ed25519PrivateKey.from_private_bytes(bytes(range(32)))
OTHER = Ed25519PrivateKey.from_private_bytes(bytes(range(1, 33)))
KNOWN = [Verifier.of(NAME, PRIVATE)]


def test_the_published_note_opens() -> None:
    assert open_note(NOTE, [Verifier.read(VKEY)]) == "This is an example message.\n"
    assert str(Verifier.read(VKEY)) == VKEY


@pytest.mark.parametrize(
    ("seed", "public", "message", "signature"),
    [
        (
            "9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60",
            "d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a",
            "",
            "e5564300c360ac729086e2cc806e828a84877f1eb8e5d974d873e06522490155"
            "5fb8821590a33bacc61e39701cf9b46bd25bf5f0595bbe24655141438e7a100b",
        ),
        (
            "4ccd089b28ff96da9db6c346ec114e0f5b8a319f35aba624da8cf6ed4fb8a6fb",
            "3d4017c3e843895a92b70aa74d1b7ebc9c982ccf2ec4968cc0cd55f12af4660c",
            "72",
            "92a009a9f0d4cab8720e820b5f642540a2b27b5416503f8fb3762223ebdb69da"
            "085ac1e43e15996e458f3613d0f11d8c387b2eaeb4302aeeb00d291612bb0c00",
        ),
        (
            "c5aa8df43f9f837bedb7442f31dcb7b166d38535076f094b85ce3a2e0b4458f7",
            "fc51cd8e6218a1a38da47ed00230f0580816ed13ba3303ac5deb911548908025",
            "af82",
            "6291d657deec24024827e69c3abe01a30ce548a284743a445e3680d7db5ac3ac"
            "18ff9b538d16f290ae67f760984dc6594a7c15e9716ed28dc027beceea1ec40a",
        ),
    ],
)
def test_ed25519_vectors(seed: str, public: str, message: str, signature: str) -> None:
    private = Ed25519PrivateKey.from_private_bytes(bytes.fromhex(seed))
    assert Verifier.of("v", private).public.hex() == public
    assert private.sign(bytes.fromhex(message)).hex() == signature


def test_what_is_signed_opens_under_its_key_only() -> None:
    note = sign("one\ntwo\n", NAME, PRIVATE)
    assert open_note(note, KNOWN) == "one\ntwo\n"
    with pytest.raises(NoteError, match="no known key"):
        open_note(note, [Verifier.of(NAME, OTHER)])
    with pytest.raises(NoteError, match="no known key"):
        open_note(note, [])


def test_unknown_signatures_are_passed_over_and_bad_known_ones_refuse_the_note() -> None:
    note = sign("one\n", NAME, PRIVATE)
    strange = sign("one\n", "elsewhere.example", OTHER).rpartition("\n\n")[2]
    assert open_note(note + strange, KNOWN) == "one\n"
    bad = base64.b64encode(KNOWN[0].key_id + bytes(64)).decode()
    with pytest.raises(NoteError, match="is bad"):
        open_note(note + f"— {NAME} {bad}\n", KNOWN)


def test_one_changed_letter_refuses_the_note() -> None:
    note = sign("one\ntwo\n", NAME, PRIVATE)
    for place, letter in enumerate(note):
        changed = note[:place] + ("x" if letter != "x" else "y") + note[place + 1 :]
        with pytest.raises(NoteError):
            open_note(changed, KNOWN)


@pytest.mark.parametrize("text", ["", "no newline", "a\n\nb\n", "a\tb\n", "\n\n"])
def test_what_is_no_note_is_not_signed(text: str) -> None:
    with pytest.raises(NoteError):
        sign(text, NAME, PRIVATE)


@pytest.mark.parametrize("note", ["", "text\n", "text\n\n", "text\n\nno dash\n", NOTE[:-1], NOTE.replace("—", "-")])
def test_malformed_notes_are_refused(note: str) -> None:
    with pytest.raises(NoteError):
        open_note(note, [Verifier.read(VKEY)])


@pytest.mark.parametrize(
    "vkey", ["", "a+b", VKEY.replace("530d903a", "530d903b"), VKEY[:-4], VKEY.replace("+Ae", "+Be")]
)
def test_malformed_verifier_keys_are_refused(vkey: str) -> None:
    with pytest.raises(NoteError):
        Verifier.read(vkey)


def test_a_checkpoint_reads_back() -> None:
    made = Checkpoint("shop.example/ledger", 8, bytes(32))
    assert str(made) == f"shop.example/ledger\n8\n{'A' * 43}=\n"
    assert Checkpoint.read(str(made)) == made


@pytest.mark.parametrize("size", ["-1", "08", "8 ", "+8", "", "٣"])
def test_a_size_is_a_plain_number(size: str) -> None:
    with pytest.raises(NoteError):
        Checkpoint.read(f"o\n{size}\n{'A' * 43}=\n")


ENTRIES = [f"entry {number}".encode() for number in range(5)]
LEAVES = [tree.leaf_hash(entry) for entry in ENTRIES]


def proof(index: int, extra: bytes = b"") -> Proof:
    checkpoint = sign(str(Checkpoint(NAME, 5, tree.root(LEAVES))), NAME, PRIVATE)
    return Proof(index, tuple(tree.inclusion_proof(LEAVES, index)), checkpoint, extra)


@pytest.mark.parametrize("extra", [b"", b"anything"])
def test_a_proof_reads_back_and_verifies(extra: bytes) -> None:
    for index, entry in enumerate(ENTRIES):
        made = Proof.read(str(proof(index, extra)))
        assert made == proof(index, extra)
        assert made.verify(entry, KNOWN).size == 5


def test_a_proof_has_the_published_shape() -> None:
    lines = str(proof(0)).split("\n")
    assert lines[:2] == ["c2sp.org/tlog-proof@v1", "index 0"]
    assert lines[2] == base64.b64encode(LEAVES[1]).decode()
    assert lines[5:7] == ["", NAME]


def test_a_proof_is_of_one_entry_at_one_place_under_one_key() -> None:
    with pytest.raises(ProofError):
        proof(0).verify(ENTRIES[1], KNOWN)
    with pytest.raises(ProofError):
        Proof(1, proof(0).hashes, proof(0).checkpoint).verify(ENTRIES[0], KNOWN)
    with pytest.raises(NoteError):
        proof(0).verify(ENTRIES[0], [Verifier.of(NAME, OTHER)])


@pytest.mark.parametrize(
    "text", ["", "c2sp.org/tlog-proof@v1\n\nx", "other\nindex 0\n\nx", "c2sp.org/tlog-proof@v1\nindex x\n\n"]
)
def test_malformed_proofs_are_refused(text: str) -> None:
    with pytest.raises(NoteError):
        Proof.read(text)
