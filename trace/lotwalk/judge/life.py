"""How long a mix and its product are good, and what was measured with something out of date."""

from lotwalk.judge.acts import Act, Step
from lotwalk.judge.case import Case, dates, named
from lotwalk.judge.label import Product
from lotwalk.ledger.entry import Entry
from lotwalk.values.times import When

FRESH = "make a fresh mix"


def life_of(case: Case, made: Entry) -> tuple[int, str] | None:
    """Return the last second (since 1970) of the life of a mix, and in words what ends it; None where nothing does."""
    discard = made.values.get("discard_at")
    if isinstance(discard, When):
        return discard.end, f"its discard time {discard.written}"
    life = case.rules.amount("sanitising.solution_life")
    if life is None:
        return None
    return (made.start + int(life.value)) // 60 * 60 + 59, f"the {life.written} that the rule set gives it"


def past_life(case: Case, made: Entry, at: Entry | None = None) -> str:
    """Return the end of its life that a mix was, or may have been, past at the entry's time; empty where it was not.

    `at` is another entry, whose time is asked about instead.
    """
    life = life_of(case, made)
    return life[1] if life and (at or case.entry).end > life[0] else ""


def check_life(case: Case, solution: str, made: Entry, *, again: bool) -> None:
    """Fail what is done with a solution before it was made, or after its life; `again`: items were dipped in it."""
    if case.entry.surely_before(made):
        text = f"{solution} was made or received after this, by {made.name}"
        case.fails(text, "correct the time of whichever is wrong")
    elif limit := past_life(case, made):
        case.fails(f"{solution} was, or may have been, past {limit}", Act(Step.FRESH, f"{FRESH}, read it", again))
    elif endless(case, made) and named(made, "product"):
        case.notes(f"{solution} has no time by which it is discarded", "write discard_at when it is mixed")


def endless(case: Case, made: Entry) -> bool:
    """Return whether neither the entry that mixed it nor the rule set says when a mix is discarded."""
    return made.values.get("discard_at") is None and case.rules.amount("sanitising.solution_life") is None


def out_of_date(case: Case, product: Product) -> str:
    """Return the date (ISO) on which a product expired before the entry's time; empty where it did not."""
    expires = product.receipt.values.get("expires")
    return expires if isinstance(expires, str) and dates(case.entry)[1] > expires else ""


def check_expiry(case: Case, product: Product, *, again: bool) -> None:
    """Fail a mix of a product out of date; `again`: items were dipped in it."""
    if expired := out_of_date(case, product):
        mend = Act(Step.FRESH, f"{FRESH} from a product in date, read it", again)
        case.fails(f"{product.code} was out of date since {expired}", mend)
    elif not isinstance(product.receipt.values.get("expires"), str):
        case.notes(f"{product.code} has no date of expiry on record", "write expires on its receipt")


def check_strips(case: Case) -> None:
    """Fail a reading that was made with something out of date."""
    if case.entry.values.get("reading") is None:
        return
    for code, expires in old_strips(case, case.entry):
        mend = Act(Step.READ, "read again with strips in date, and write that reading")
        case.fails(f"{code} was out of date since {expires}", mend)


def old_strips(case: Case, entry: Entry) -> list[tuple[str, str]]:
    """Return what an entry was measured with that was past its date, with that date."""
    old = []
    for code in named(entry, "with"):
        receipt = case.evidence.maker(code)
        expires = receipt.values.get("expires") if receipt else None
        if receipt and isinstance(expires, str) and dates(entry)[1] > expires:
            case.rests_on(receipt)
            old.append((code, expires))
    return old
