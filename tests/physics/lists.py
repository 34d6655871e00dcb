"""What the farm in the model does not do, and why: what is not followed, what is not built yet, what is found wrong.

The random farms leave these acts out. Take a line out of NOT_YET or FOUND, and they are drawn like any other.
"""

NOT_FOLLOWED = (
    "clean mats that lie on a rack, and get wet or dirty there after they were dried on it",
    "drips and splashes from a crop onto the rack, the bench or the batch beside it",
    "bare hands that go from batch to batch, or from lot to lot, where no tool is named",
    "air, dust, insects and pests that nobody wrote down as an incident",
    "a dirty scoop, or seed swept up, in the sack of a bought seed lot that the next sowing is taken from",
    "the rest of a box of bags that was handled with a dirty lot",
    "water that runs back out of a tank or hose into its source, unless an incident names it",
    "a cover that is put over two batches in one entry, and lies on both from then on",
    "what happens to lent crates and trays while they are with a customer",
    "a cover or tray that was taken off a growing batch and laid aside, with no word",
    "what a bath that is strong enough still carries, onto what comes out of it clean",
    "germs through a closed package, from the crate that it stands in or into it",
    "whatever else nobody wrote",
)
"""Ways that germs can go and that a record book accepts not to follow: no field holds them, or nobody wrote them."""

NOT_YET: dict[str, str] = {
    "filled on top": "a crate is filled while another lot still lies in it",
    "incident at a rack": "an incident names a rack and no lots: it reached the batches that stood there",
    "incident into water": "an incident gets into a water source",
    "tipped out": "a lot is tipped out on a bench, a part of it is packed and the rest is put back",
    "part not said": "fewer trays are cut than stand, and nobody writes that the batch is not finished",
    "sold again": "what came back is held and sold again under its own code",
    "found soiled": "an item is found to be soiled after its dip, with no other use since",
    "span on a sheet in order": "an entry of several days stands on a sheet that attests its order",
}
"""What is to be followed and is not built yet: an act each."""

FOUND: dict[str, str] = {
    "two crops on one mat": "a batch is sown on a mat on which another still grows, or two lots lie in one crate. What"
    " gets onto the one, and not with seed or water, is followed onto the mat only when something takes or touches it"
    " later",
    "dip after a use of several days": "a thing is washed, used, and dipped unwashed. When it was used is not written"
    " to the minute, so the old washing counts: the dip passes, and what was on it does not get into the bath",
    "hot water in a tub not named": "things go through hot water that is not hot enough, or unwashed; where no tub is"
    " named the usual one is not taken as touched, and nothing counts as silent",
    "washing typed on a wrong day": "a washing is typed on a day on which a lot lay in the thing, which seems emptied"
    " so, and is put right; what took the lot later on is not filed anew",
    "mix spilt": "a mix in which dirty things were is spilt: what they left in it gets onto what the incident names",
}
"""What the model found that the program gets wrong: an act each. Each has its smallest sheet in test_left_out.py."""


def left_out(act: str) -> bool:
    """Return whether an act is not drawn."""
    return act in NOT_YET or act in FOUND
