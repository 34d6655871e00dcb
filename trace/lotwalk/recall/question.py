"""What a recall is asked: what it starts from, what is not believed, and by how much of the answer to call."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any
from zoneinfo import ZoneInfo

from lotwalk.errors import NotUnderstood
from lotwalk.recall.asking.buyer import Buyer
from lotwalk.recall.asking.period import period
from lotwalk.recall.words.common import LEVELS
from lotwalk.values.text import words
from lotwalk.values.times import read_date
from lotwalk.walk.walk import check_through

_LISTS = ("distrust", "believe", "through")


@dataclass(frozen=True, slots=True)
class Question:
    """What is asked of a recall, in the words in which people say it.

    `codes` are complaints, deliveries and lots: codes, ranges of them (`P-1..P-9`), or what a package or a paper says.
    A buyer who has none of them is a `customer` (code or name) with the days (`2026-03-02`) `since` and `until`, and
    a `crop` or product.

    `distrust` names clean breaks that are not believed: entries (`E12`), lots, kinds of record, `unshown`,
    `older-judge` or `all`. `believe` names entries that are believed although they were recorded late. `through` may
    hold `people` and `places`, which are then walked through as well. `with_the_box` takes in what travelled in one box
    with a product or a crop that was named.

    `level` (1 to 5) and `cause` (the code of a candidate) restrict the scope to call by; a cause is also looked at
    closely. `why` is a code, or the name of a customer, whose place in the answer is explained. `although_damaged`
    answers from a damaged book too: such an answer may leave lots and customers out. `on` is the day (`2026-03-02`)
    as of which things are in date, today where nothing is said.
    """

    codes: tuple[str, ...] = ()
    customer: str | None = None
    since: str | None = None
    until: str | None = None
    crop: str | None = None
    distrust: tuple[str, ...] = ()
    believe: tuple[str, ...] = ()
    through: tuple[str, ...] = ()
    with_the_box: bool = False
    level: int | None = None
    cause: str | None = None
    why: str | None = None
    although_damaged: bool = False
    on: str | None = None

    @classmethod
    def of(cls, codes: str | Iterable[str], **options: Any) -> "Question":
        """Return the question about one code or several. `options` are the other fields; a single word may stand for a
        list of one. Raises TypeError for an option that there is not."""
        lists: dict[str, Any] = {name: words(options[name]) for name in _LISTS if name in options}
        return cls(words(codes), **options | lists)

    def __post_init__(self) -> None:
        """Raise NotUnderstood for a level that there is not, and for what nothing can be walked through."""
        if self.level is not None and self.level not in LEVELS:
            raise NotUnderstood(f"level {self.level}", f"a level from {min(LEVELS)} to {max(LEVELS)}")
        check_through(self.through)

    def day(self, zone: ZoneInfo, now: int) -> date:
        """Return the day as of which things are in date, at a moment in epoch seconds."""
        return date.fromisoformat(read_date(self.on)) if self.on else datetime.fromtimestamp(now, zone).date()

    def buyer(self, zone: ZoneInfo) -> Buyer | None:
        """Return what is said of a buyer who lost the label. Raises NotUnderstood where half of it is said."""
        if self.customer is None:
            if self.since or self.until or self.crop:
                raise NotUnderstood("it is not said which customer", "--customer with a code or a name")
            if not self.codes:
                raise NotUnderstood("it is not said what it is about", "a code, or --customer with what they got")
            return None
        return Buyer(self.customer, self.crop, *period(zone, self.since, self.until, "day"))
