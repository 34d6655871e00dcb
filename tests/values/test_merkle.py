import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.trees import consistency_proof, inclusion_proof, root_of

from lotwalk.values.merkle import (
    EMPTY_ROOT,
    HASH_SIZE,
    Peaks,
    consistency_parts,
    inclusion_parts,
    leaf_hash,
    node_hash,
    root_of_part,
    verify_consistency,
    verify_inclusion,
)

LEAVES = [leaf_hash(str(number).encode()) for number in range(200)]
SIZES = st.integers(1, 200)


def grown(size):
    peaks = Peaks()
    for leaf in LEAVES[:size]:
        peaks = peaks.append(leaf)
    return peaks


@given(st.integers(0, 200))
def test_peaks_know_the_root_that_all_leaves_give(size):
    peaks = grown(size)
    assert peaks.size == size
    assert peaks.root() == root_of(LEAVES[:size])
    assert len(peaks.hashes) == bin(size).count("1")


@given(st.integers(0, 200))
def test_peaks_come_back_from_their_bytes_and_go_on(size):
    peaks = grown(size)
    again = Peaks.from_bytes(size, peaks.to_bytes())
    assert again == peaks
    assert again.append(LEAVES[0]).root() == root_of([*LEAVES[:size], LEAVES[0]])


@pytest.mark.parametrize(("size", "length"), [(3, 32), (4, 64), (1, 0), (0, 32), (2, 31), (-1, 32)])
def test_bytes_of_another_tree_are_refused(size, length):
    with pytest.raises(ValueError):
        Peaks.from_bytes(size, bytes(length))


@given(st.data())
def test_each_leaf_is_shown_to_be_in_the_tree_and_nothing_else_is(data):
    size = data.draw(SIZES)
    index = data.draw(st.integers(0, size - 1))
    root = root_of(LEAVES[:size])
    proof = inclusion_proof(LEAVES[:size], index)
    assert verify_inclusion(LEAVES[index], index, size, proof, root)

    assert not verify_inclusion(leaf_hash(b"other"), index, size, proof, root)
    assert not verify_inclusion(LEAVES[index], index, size, proof, leaf_hash(b"other"))
    assert not verify_inclusion(LEAVES[index], index, size, [*proof, root], root)
    assert not verify_inclusion(LEAVES[index], size, size, proof, root)
    assert not verify_inclusion(LEAVES[index], -1, size, proof, root)
    if proof:
        assert not verify_inclusion(LEAVES[index], index, size, proof[:-1], root)
        broken = data.draw(st.integers(0, len(proof) - 1))
        changed = [*proof[:broken], leaf_hash(b"other"), *proof[broken + 1 :]]
        assert not verify_inclusion(LEAVES[index], index, size, changed, root)
        elsewhere = data.draw(st.integers(0, size - 1).filter(lambda other: other != index))
        assert not verify_inclusion(LEAVES[index], elsewhere, size, proof, root)


@given(st.data())
def test_an_older_tree_is_shown_to_be_the_start_of_a_newer_one(data):
    new = data.draw(SIZES)
    old = data.draw(st.integers(0, new))
    old_root, new_root = root_of(LEAVES[:old]), root_of(LEAVES[:new])
    proof = consistency_proof(LEAVES[:new], old)
    assert verify_consistency(old, new, old_root, new_root, proof)

    assert not verify_consistency(old, new, leaf_hash(b"other"), new_root, proof)
    assert not verify_consistency(old, new, old_root, new_root, [*proof, new_root])
    if 0 < old < new:
        assert not verify_consistency(old, new, old_root, leaf_hash(b"other"), proof)
        assert not verify_consistency(old, new, old_root, new_root, proof[:-1])
        assert not verify_consistency(old, new, old_root, new_root, [])
        assert not verify_consistency(new, old, new_root, old_root, proof)
        broken = data.draw(st.integers(0, len(proof) - 1))
        changed = [*proof[:broken], leaf_hash(b"other"), *proof[broken + 1 :]]
        assert not verify_consistency(old, new, old_root, new_root, changed)


@given(st.data())
def test_no_proof_joins_a_tree_to_one_with_an_edited_past(data):
    new = data.draw(st.integers(2, 200))
    old = data.draw(st.integers(1, new - 1))
    edited = data.draw(st.integers(0, old - 1))
    forged = [*LEAVES[:edited], leaf_hash(b"edited"), *LEAVES[edited + 1 : new]]
    proof = consistency_proof(forged, old)
    assert not verify_consistency(old, new, root_of(LEAVES[:old]), root_of(forged), proof)


def test_trees_of_one_size_agree_only_when_they_are_the_same():
    one, other = root_of(LEAVES[:5]), root_of(LEAVES[1:6])
    assert verify_consistency(5, 5, one, one, [])
    assert not verify_consistency(5, 5, one, other, [])
    assert verify_consistency(0, 0, EMPTY_ROOT, EMPTY_ROOT, [])
    assert not verify_consistency(0, 0, EMPTY_ROOT, one, [])
    assert not verify_consistency(6, 5, one, other, [])


@given(st.data())
def test_the_root_of_each_part_of_a_proof_follows_from_two_neighbours(data):
    size = data.draw(SIZES)
    old, index = data.draw(st.integers(1, size)), data.draw(st.integers(0, size - 1))
    for low, high in [*inclusion_parts(index, size), *consistency_parts(old, size)]:
        assert root_of_part((low, high), grown(high - 1), LEAVES[high - 1]) == root_of(LEAVES[low:high])


def test_a_leaf_cannot_be_passed_off_as_a_node():
    left, right = LEAVES[:2]
    assert leaf_hash(left + right) != node_hash(left, right)
    assert len(node_hash(left, right)) == HASH_SIZE


def test_proofs_for_leaves_that_are_not_there_cannot_be_asked_for():
    for call in (
        lambda: inclusion_proof(LEAVES[:4], 4),
        lambda: inclusion_proof([], 0),
        lambda: consistency_proof([], 1),
    ):
        with pytest.raises(IndexError):
            call()
