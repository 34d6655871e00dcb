"""Trees as RFC 9162 defines them, from all of their leaves at once. A ledger never has those in hand."""

from lotwalk.values.merkle import EMPTY_ROOT, consistency_parts, inclusion_parts, node_hash


def root_of(leaves):
    """The root of these leaves (2.1.1): left of the largest power of two that is less than their number, and right."""
    if len(leaves) < 2:
        return leaves[0] if leaves else EMPTY_ROOT
    left = 1
    while left * 2 < len(leaves):
        left *= 2
    return node_hash(root_of(leaves[:left]), root_of(leaves[left:]))


def inclusion_proof(leaves, index):
    return [root_of(leaves[low:high]) for low, high in inclusion_parts(index, len(leaves))]


def consistency_proof(leaves, old_size):
    return [root_of(leaves[low:high]) for low, high in consistency_parts(old_size, len(leaves))]
