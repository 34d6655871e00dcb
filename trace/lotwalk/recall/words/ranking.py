"""How candidates are ranked, in words."""

from lotwalk.recall.words.common import count

ORDER = (
    "First comes what explains at least two in three of what was asked about, and of that what explains many and"
    " reaches few other deliveries, by few contacts. A contact is a step by which germs came through something shared"
    " or worked on, not as an ingredient; each weighs as much as one other delivery."
)
TOGETHER = (
    "What stands in one row explains as much and reaches the same deliveries, since one was made of the other or one"
    " cleaning bounds them."
)


def compared_words(candidates: int) -> str:
    """Return the caution beside a relative risk or a p: how many candidates were compared, and how they were chosen."""
    return (
        f"{count(candidates, 'candidate')} were compared, all chosen because they reach what was asked about: of so"
        " many some look striking by chance."
    )
