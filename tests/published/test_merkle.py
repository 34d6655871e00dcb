"""The Merkle tree against what others published.

Sources:

- google/certificate-transparency, cpp/merkletree/merkle_tree_test.cc: kInputs, kSHA256Roots, kSHA256Paths and
  kSHA256Proofs (its leaves are counted from 1, ours from 0).
- RFC 6962, section 2.1.3, and RFC 9162, section 2.1.5: the example tree of seven leaves.
- pymerkle, an independent implementation.
"""

import pymerkle
import pytest
from tests.trees import consistency_proof, inclusion_proof, root_of

from lotwalk.values.merkle import (
    EMPTY_ROOT,
    Peaks,
    leaf_hash,
    node_hash,
    verify_consistency,
    verify_inclusion,
)

EMPTY = "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"
INPUTS = ["", "00", "10", "2021", "3031", "40414243", "5051525354555657", "606162636465666768696a6b6c6d6e6f"]
ROOTS = [
    "6e340b9cffb37a989ca544e6bb780a2c78901d3fb33738768511a30617afa01d",
    "fac54203e7cc696cf0dfcb42c92a1d9dbaf70ad9e621f4bd8d98662f00e3c125",
    "aeb6bcfe274b70a14fb067a5e5578264db0fa9b51af5e0ba159158f329e06e77",
    "d37ee418976dd95753c1c73862b9398fa2a2cf9b4ff0fdfe8b30cd95209614b7",
    "4e3bbb1f7b478dcfe71fb631631519a3bca12c9aefca1612bfce4c13a86264d4",
    "76e67dadbcdf1e10e1b74ddc608abd2f98dfb16fbce75277b5232a127f2087ef",
    "ddb89be403809e325750d3d263cd78929c2942b7942a34b77e122c9594a74c8c",
    "5dc9da79a70659a9ad559cb701ded9a2ab9d823aad2f4960cfe370eff4604328",
]
# Leaf (from 1), size of the tree, path.
PATHS = [
    (1, 1, []),
    (
        1,
        8,
        [
            "96a296d224f285c67bee93c30f8a309157f0daa35dc5b87e410b78630a09cfc7",
            "5f083f0a1a33ca076a95279832580db3e0ef4584bdff1f54c8a360f50de3031e",
            "6b47aaf29ee3c2af9af889bc1fb9254dabd31177f16232dd6aab035ca39bf6e4",
        ],
    ),
    (
        6,
        8,
        [
            "bc1a0643b12e4d2d7c77918f44e0f4f79a838b6cf9ec5b5c283e1f4d88599e6b",
            "ca854ea128ed050b41b35ffc1b87b8eb2bde461e9e3b5596ece6b9d5975a0ae0",
            "d37ee418976dd95753c1c73862b9398fa2a2cf9b4ff0fdfe8b30cd95209614b7",
        ],
    ),
    (3, 3, ["fac54203e7cc696cf0dfcb42c92a1d9dbaf70ad9e621f4bd8d98662f00e3c125"]),
    (
        2,
        5,
        [
            "6e340b9cffb37a989ca544e6bb780a2c78901d3fb33738768511a30617afa01d",
            "5f083f0a1a33ca076a95279832580db3e0ef4584bdff1f54c8a360f50de3031e",
            "bc1a0643b12e4d2d7c77918f44e0f4f79a838b6cf9ec5b5c283e1f4d88599e6b",
        ],
    ),
]
# Old size, new size, proof.
PROOFS = [
    (1, 1, []),
    (
        1,
        8,
        [
            "96a296d224f285c67bee93c30f8a309157f0daa35dc5b87e410b78630a09cfc7",
            "5f083f0a1a33ca076a95279832580db3e0ef4584bdff1f54c8a360f50de3031e",
            "6b47aaf29ee3c2af9af889bc1fb9254dabd31177f16232dd6aab035ca39bf6e4",
        ],
    ),
    (
        6,
        8,
        [
            "0ebc5d3437fbe2db158b9f126a1d118e308181031d0a949f8dededebc558ef6a",
            "ca854ea128ed050b41b35ffc1b87b8eb2bde461e9e3b5596ece6b9d5975a0ae0",
            "d37ee418976dd95753c1c73862b9398fa2a2cf9b4ff0fdfe8b30cd95209614b7",
        ],
    ),
    (
        2,
        5,
        [
            "5f083f0a1a33ca076a95279832580db3e0ef4584bdff1f54c8a360f50de3031e",
            "bc1a0643b12e4d2d7c77918f44e0f4f79a838b6cf9ec5b5c283e1f4d88599e6b",
        ],
    ),
]
LEAVES = [leaf_hash(bytes.fromhex(data)) for data in INPUTS]


def test_the_empty_tree_has_the_published_root():
    assert EMPTY_ROOT.hex() == root_of([]).hex() == Peaks().root().hex() == EMPTY


@pytest.mark.parametrize("size", range(1, 9))
def test_each_tree_has_the_published_root_built_whole_or_leaf_by_leaf(size):
    peaks = Peaks()
    for leaf in LEAVES[:size]:
        peaks = peaks.append(leaf)
    assert root_of(LEAVES[:size]).hex() == peaks.root().hex() == ROOTS[size - 1]


@pytest.mark.parametrize(("leaf", "size", "path"), PATHS)
def test_inclusion_proofs_are_the_published_paths(leaf, size, path):
    proof = inclusion_proof(LEAVES[:size], leaf - 1)
    assert [step.hex() for step in proof] == path
    assert verify_inclusion(LEAVES[leaf - 1], leaf - 1, size, proof, bytes.fromhex(ROOTS[size - 1]))


@pytest.mark.parametrize(("old", "new", "expected"), PROOFS)
def test_consistency_proofs_are_the_published_ones(old, new, expected):
    proof = consistency_proof(LEAVES[:new], old)
    assert [step.hex() for step in proof] == expected
    assert verify_consistency(old, new, bytes.fromhex(ROOTS[old - 1]), bytes.fromhex(ROOTS[new - 1]), proof)


def test_the_example_tree_of_seven_leaves_in_the_rfc():
    a, b, c, d, e, f, j = LEAVES[:7]
    g, h, i = node_hash(a, b), node_hash(c, d), node_hash(e, f)
    k, last = node_hash(g, h), node_hash(i, j)
    tree = LEAVES[:7]
    assert root_of(tree) == node_hash(k, last)
    assert inclusion_proof(tree, 0) == [b, h, last]
    assert inclusion_proof(tree, 3) == [c, g, last]
    assert inclusion_proof(tree, 4) == [f, j, k]
    assert inclusion_proof(tree, 6) == [i, k]
    assert consistency_proof(tree, 3) == [c, d, g, last]
    assert consistency_proof(tree, 4) == [last]
    assert consistency_proof(tree, 6) == [i, j, k]


@pytest.mark.parametrize("size", [1, 2, 3, 7, 8, 9, 31, 64, 100])
def test_an_independent_implementation_computes_the_same(size):
    theirs = pymerkle.InmemoryTree(algorithm="sha256")
    data = [f"entry {number}".encode() for number in range(size)]
    for one in data:
        theirs.append_entry(one)
    ours = [leaf_hash(one) for one in data]
    assert root_of(ours) == theirs.get_root()
    for old in range(1, size + 1):
        assert root_of(ours[:old]) == theirs.get_root(old)
        # Their paths start with the leaf itself.
        assert [ours[old - 1], *inclusion_proof(ours, old - 1)] == theirs.prove_inclusion(old, size).path
        proof = consistency_proof(ours, old)
        assert verify_consistency(old, size, theirs.get_root(old), theirs.get_root(size), proof)
