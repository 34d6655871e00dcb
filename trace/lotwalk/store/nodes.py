"""Nodes: what the walk goes through. Each entry is one, or two where some of its items failed beside others."""


def seq_of(node: int) -> int:
    """Return the number of the version whose node this is."""
    return node >> 1


def part_of(node: int) -> int:
    """Return 1 for the part that failed beside what passed, else 0."""
    return node & 1


def node_of(seq: int, part: int = 0) -> int:
    """Return the node of a version's part."""
    return 2 * seq + part


def parts_of(seq: int) -> tuple[int, int]:
    """Return both nodes that a version can have."""
    return node_of(seq), node_of(seq, 1)


def whole(node: int) -> int:
    """Return the node of an entry's first part, in which a disbelieved entry is one again."""
    return node & ~1


def beside(node: int) -> int:
    """Return the node of the part that failed."""
    return node | 1
