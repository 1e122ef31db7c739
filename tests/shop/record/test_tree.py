"""The tree against published vectors.

Source of the leaf inputs, roots and proofs: repository transparency-dev/merkle at commit 417fb0c
(Apache-2.0), whose values are those of the RFC 6962 reference tests.
"""

from __future__ import annotations

import pytest

from shop.record.tree import (
    ProofError,
    Range,
    consistency_proof,
    inclusion_proof,
    leaf_hash,
    node_hash,
    root,
    verify_consistency,
    verify_inclusion,
)

INPUTS = [
    "",
    "00",
    "10",
    "2021",
    "3031",
    "40414243",
    "5051525354555657",
    "606162636465666768696a6b6c6d6e6f",
]
ROOTS = [
    "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855",
    "6e340b9cffb37a989ca544e6bb780a2c78901d3fb33738768511a30617afa01d",
    "fac54203e7cc696cf0dfcb42c92a1d9dbaf70ad9e621f4bd8d98662f00e3c125",
    "aeb6bcfe274b70a14fb067a5e5578264db0fa9b51af5e0ba159158f329e06e77",
    "d37ee418976dd95753c1c73862b9398fa2a2cf9b4ff0fdfe8b30cd95209614b7",
    "4e3bbb1f7b478dcfe71fb631631519a3bca12c9aefca1612bfce4c13a86264d4",
    "76e67dadbcdf1e10e1b74ddc608abd2f98dfb16fbce75277b5232a127f2087ef",
    "ddb89be403809e325750d3d263cd78929c2942b7942a34b77e122c9594a74c8c",
    "5dc9da79a70659a9ad559cb701ded9a2ab9d823aad2f4960cfe370eff4604328",
]
LEAVES = [
    "6e340b9cffb37a989ca544e6bb780a2c78901d3fb33738768511a30617afa01d",
    "96a296d224f285c67bee93c30f8a309157f0daa35dc5b87e410b78630a09cfc7",
    "0298d122906dcfc10892cb53a73992fc5b9f493ea4c9badb27b791b4127a7fe7",
    "07506a85fd9dd2f120eb694f86011e5bb4662e5c415a62917033d4a9624487e7",
    "bc1a0643b12e4d2d7c77918f44e0f4f79a838b6cf9ec5b5c283e1f4d88599e6b",
    "4271a26be0d8a84f0bd54c8c302e7cb3a3b5d1fa6780a40bcce2873477dab658",
    "b08693ec2e721597130641e8211e7eedccb4c26413963eee6c1e2ed16ffb1a5f",
    "46f6ffadd3d06a09ff3c5860d2755c8b9819db7df44251788c7d8e3180de8eb1",
]
PAIR_01, PAIR_23 = ROOTS[2], "5f083f0a1a33ca076a95279832580db3e0ef4584bdff1f54c8a360f50de3031e"
PAIR_45 = "0ebc5d3437fbe2db158b9f126a1d118e308181031d0a949f8dededebc558ef6a"
PAIR_67 = "ca854ea128ed050b41b35ffc1b87b8eb2bde461e9e3b5596ece6b9d5975a0ae0"
LEFT_4, RIGHT_4 = ROOTS[4], "6b47aaf29ee3c2af9af889bc1fb9254dabd31177f16232dd6aab035ca39bf6e4"

INCLUSION = [
    (0, 8, [LEAVES[1], PAIR_23, RIGHT_4]),
    (5, 8, [LEAVES[4], PAIR_67, LEFT_4]),
    (2, 3, [PAIR_01]),
    (1, 5, [LEAVES[0], PAIR_23, LEAVES[4]]),
]
CONSISTENCY = [
    (1, 8, [LEAVES[1], PAIR_23, RIGHT_4]),
    (6, 8, [PAIR_45, PAIR_67, LEFT_4]),
    (2, 5, [PAIR_23, LEAVES[4]]),
    (6, 7, [PAIR_45, LEAVES[6], LEFT_4]),
    (1, 1, []),
]


def raw(values: list[str]) -> list[bytes]:
    return [bytes.fromhex(value) for value in values]


LEAF_HASHES = raw(LEAVES)


def test_leaf_and_node_hashes() -> None:
    assert [leaf_hash(bytes.fromhex(entry)).hex() for entry in INPUTS] == LEAVES
    assert node_hash(LEAF_HASHES[2], LEAF_HASHES[3]).hex() == PAIR_23
    assert node_hash(LEAF_HASHES[6], LEAF_HASHES[7]).hex() == PAIR_67


@pytest.mark.parametrize("size", range(9))
def test_roots_by_both_ways(size: int) -> None:
    grown = Range()
    grown.extend(LEAF_HASHES[:size])
    assert root(LEAF_HASHES[:size]).hex() == ROOTS[size]
    assert grown.root().hex() == ROOTS[size]


def test_both_ways_agree_at_every_size() -> None:
    leaves = [leaf_hash(str(number).encode()) for number in range(300)]
    grown = Range()
    for size, leaf in enumerate(leaves, start=1):
        grown.add(leaf)
        assert grown.root() == root(leaves[:size])


@pytest.mark.parametrize(("index", "size", "proof"), INCLUSION)
def test_inclusion_proofs(index: int, size: int, proof: list[str]) -> None:
    assert [step.hex() for step in inclusion_proof(LEAF_HASHES[:size], index)] == proof
    verify_inclusion(LEAF_HASHES[index], index, size, raw(proof), bytes.fromhex(ROOTS[size]))


@pytest.mark.parametrize(("old", "new", "proof"), CONSISTENCY)
def test_consistency_proofs(old: int, new: int, proof: list[str]) -> None:
    assert [step.hex() for step in consistency_proof(LEAF_HASHES[:new], old)] == proof
    verify_consistency(old, new, raw(proof), bytes.fromhex(ROOTS[old]), bytes.fromhex(ROOTS[new]))


def test_every_leaf_of_every_small_tree_is_proved_and_no_other() -> None:
    leaves = [leaf_hash(str(number).encode()) for number in range(20)]
    for size in range(1, 21):
        top = root(leaves[:size])
        for index in range(size):
            proof = inclusion_proof(leaves[:size], index)
            verify_inclusion(leaves[index], index, size, proof, top)
            with pytest.raises(ProofError):
                verify_inclusion(leaves[(index + 1) % 20], index, size, proof, top)


def test_every_growth_of_a_small_tree_is_proved_and_no_other() -> None:
    leaves = [leaf_hash(str(number).encode()) for number in range(20)]
    for new in range(1, 21):
        for old in range(1, new + 1):
            proof, roots = consistency_proof(leaves[:new], old), (root(leaves[:old]), root(leaves[:new]))
            verify_consistency(old, new, proof, *roots)
            with pytest.raises(ProofError):
                verify_consistency(old, new, proof, leaf_hash(b"forged"), roots[1])


def spoiled(proof: list[bytes], top: bytes) -> list[list[bytes]]:
    """Each way to spoil a proof that the published tests use."""
    flipped = [
        [*proof[:place], bytes([step[0] ^ 8]) + step[1:], *proof[place + 1 :]] for place, step in enumerate(proof)
    ]
    garbage = leaf_hash(b"garbage")
    extra = [[*proof, b""], [*proof, garbage], [*proof, top], [b"", *proof], [garbage, *proof], [top, *proof]]
    return flipped + extra + [proof[:-1], proof[1:]]


@pytest.mark.parametrize(("index", "size", "proof"), INCLUSION)
def test_a_spoiled_inclusion_proof_is_refused(index: int, size: int, proof: list[str]) -> None:
    leaf, top, good = LEAF_HASHES[index], bytes.fromhex(ROOTS[size]), raw(proof)
    for bad in spoiled(good, top):
        with pytest.raises(ProofError):
            verify_inclusion(leaf, index, size, bad, top)
    for other in {
        (index - 1, size),
        (index + 1, size),
        (index ^ 2, size),
        (index, size * 2),
        (index, size // 2),
    }:
        with pytest.raises(ProofError):
            verify_inclusion(leaf, *other, good, top)
    for wrong in (b"", leaf_hash(b""), ROOTS[0].encode()):
        with pytest.raises(ProofError):
            verify_inclusion(leaf, index, size, good, wrong)


@pytest.mark.parametrize(("old", "new", "proof"), CONSISTENCY[:-1])
def test_a_spoiled_consistency_proof_is_refused(old: int, new: int, proof: list[str]) -> None:
    before, after, good = bytes.fromhex(ROOTS[old]), bytes.fromhex(ROOTS[new]), raw(proof)
    for bad in spoiled(good, after):
        with pytest.raises(ProofError):
            verify_consistency(old, new, bad, before, after)
    for sizes in {(old - 1, new), (old + 1, new), (old ^ 2, new), (old, new * 2), (old, new // 2)}:
        with pytest.raises(ProofError):
            verify_consistency(*sizes, good, before, after)
    for roots in ((after, before), (b"", after), (before, b"")):
        with pytest.raises(ProofError):
            verify_consistency(old, new, good, *roots)


def test_a_proof_from_nothing_is_refused() -> None:
    with pytest.raises(ProofError):
        verify_consistency(0, 8, [], bytes.fromhex(ROOTS[0]), bytes.fromhex(ROOTS[8]))
    with pytest.raises(IndexError):
        consistency_proof(LEAF_HASHES, 0)


def test_a_leaf_that_is_not_there_has_no_proof() -> None:
    for index in (-1, 8):
        with pytest.raises(IndexError):
            inclusion_proof(LEAF_HASHES, index)
