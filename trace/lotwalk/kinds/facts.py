"""What entries may be evidence of: the names of the facts that kind files tell with `x-tells`, by who asks for them."""

JUDGED_FACTS = (
    "washed",
    "unclean",
    "bears",
    "carries",
    "becomes",
    "finished",
    "given_up",
    "gone",
    "back",
    "lent",
    "home",
    "measured",
    "tested",
    "mended",
)
"""What an entry may be evidence of, for the judges."""

BALANCE_FACTS = ("delivered", "disposed", "sampled", "returned", "counted", "sown", "harvested", "regrown")
"""What an entry may say of where a lot went and what grew of it, for the mass balance."""

CHECKED_FACTS = (
    "covered",
    "held",
    "released",
    "chilled",
    "taught",
    "excluded",
    "fit",
    "calibrated",
    "measured_with",
    "inspected",
    "assessed",
    "rooted",
    "treated",
    "told",
    "wets_food",
    "wets_surfaces",
    "emptied",
)
"""What an entry may say of a thing, for the checks."""

ENTRY_FACTS = ("to_mend", "practised", "reviews", "bare", "exemption", "sells_on")
"""What an entry may say of itself, for the checks."""

BEARING_FACTS = ("contains", "filled", "vacated")
"""What an entry may say of what lots stand on and in, beside `bears` and `finished`."""

RECALL_FACTS = ("examined",)
"""What an entry may say of a thing, for a recall."""

FACTS = (*JUDGED_FACTS, *BEARING_FACTS, *BALANCE_FACTS, *CHECKED_FACTS, *RECALL_FACTS)
"""What an entry may tell."""
