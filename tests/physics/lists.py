"""What the farm in the model does not do, and why: what is not followed, what is not built yet, what is found wrong.

The random farms leave these acts out. Take a line out of NOT_YET or FOUND, and they are drawn like any other.
"""

from lotwalk.recall.not_followed import not_followed

NOT_FOLLOWED = tuple(one.line for one in not_followed())
"""Ways that germs can go and that a record book accepts not to follow, as each recall says."""

LEFT_OUT: dict[str, str] = {
    "filled on top": "a crate is filled while another lot still lies in it: onto the one below",
    "two crops on one mat": "a batch is sown on a mat on which another still grows, and is bad in itself",
}
"""What could be drawn and is not: of what is not followed, two acts that a random farm would do again and again."""

NOT_YET: dict[str, str] = {}
"""What is to be followed and is not built yet: an act each."""

FOUND: dict[str, str] = {}
"""What the model found that the program gets wrong: an act each. Each has its smallest sheet in test_left_out.py."""


def left_out(act: str) -> bool:
    """Return whether an act is not drawn."""
    return act in LEFT_OUT or act in NOT_YET or act in FOUND
