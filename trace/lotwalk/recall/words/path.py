"""A path of the walk told as a person would tell it: entry by entry, by time, each in a sentence or two."""

from collections.abc import Sequence
from zoneinfo import ZoneInfo

from lotwalk.kinds.library import Kinds
from lotwalk.ledger.model import Version
from lotwalk.recall.one_cause.detail import Step
from lotwalk.recall.traceforward.breaks_between import Attempt
from lotwalk.recall.words.common import at_words, code_list
from lotwalk.values.roles import Role

_CAME = {Role.CLEARED: Role.TOUCHED, Role.PLACE: Role.ABOUT}
"""How a path comes to an entry, where not by the role that stands there: what a disbelieved cleaning cleared was only
touched, and places were only there."""

_HARVESTED = "harvested"
"""What a kind of record tells of what was cut where it stood."""

_SENTENCES = {
    (Role.BY, Role.MADE): "{0} made {1}",
    (Role.BY, Role.TOUCHED): "{0} worked with {1}",
    (Role.BY, Role.TENDED): "{0} tended {1}",
    (Role.BY, Role.HANDLED): "{0} worked on {1}",
    (Role.BY, Role.CLEARED): "{0} cleaned {1}",
    (Role.TOOK, Role.MADE): "{0} went into {1}",
    (Role.TOOK, Role.TOUCHED): "{0} was used, and {1} was in contact with it",
    (Role.TOOK, Role.TENDED): "{0} was given to {1}",
    (Role.TOOK, Role.HANDLED): "{0} was used on {1}",
    (Role.TOOK, Role.CLEARED): "{1} was cleaned with {0}",
    (Role.DREW, Role.MADE): "water from {0} was used in making {1}",
    (Role.DREW, Role.TOUCHED): "water from {0} was in contact with {1}",
    (Role.DREW, Role.TENDED): "{1} was given water from {0}",
    (Role.DREW, Role.HANDLED): "{1} was worked on with water from {0}",
    (Role.DREW, Role.CLEARED): "{1} was rinsed with water from {0}",
    (Role.HANDLED, Role.MADE): "{0} was worked on when {1} was made",
    (Role.HANDLED, Role.TOUCHED): "{0} was worked on with {1}",
    (Role.HANDLED, Role.HANDLED): "{0} and {1} were worked on with the same tools",
    (Role.HANDLED, Role.TENDED): "{0} was worked on, and {1} tended, in one go",
    (Role.TOUCHED, Role.MADE): "{0} was in contact with what became {1}",
    (Role.TOUCHED, Role.TOUCHED): "{0} and {1} were both in it, so what was on the one could come to the other",
    (Role.TOUCHED, Role.TENDED): "{0} was in contact with {1}",
    (Role.TOUCHED, Role.HANDLED): "{1} was worked on with {0}",
    (Role.SHARED, Role.MADE): "what others left in {0} was in it when {1} was made",
    (Role.SHARED, Role.TOUCHED): "{1} was in the bath of {0}, and did not come out clean",
    (Role.SHARED, Role.TENDED): "{1} was given from the bath of {0}",
    (Role.SHARED, Role.HANDLED): "{1} was worked on with what was in {0}",
    (Role.TOUCHED, Role.SHARED): "{0} was in the bath of {1}, and did not come out clean",
    (Role.TOOK, Role.SHARED): "{0} was washed in {1}, and left there what it had on it",
    (Role.HANDLED, Role.SHARED): "{0} was worked on with what came into {1}",
    (Role.DREW, Role.SHARED): "water from {0} came into {1}",
    (Role.SHARED, Role.SHARED): "both {0} and {1} were in it",
    (Role.ABOUT, Role.MADE): "{0} was there when {1} was made",
}


class PathWords:
    """Words for paths."""

    def __init__(self, kinds: Kinds, zone: ZoneInfo) -> None:
        self.kinds = kinds
        self.zone = zone

    def head(self, step: Step) -> str:
        """Return when, what kind of record, which entry and by whom a step was."""
        version = step.version
        who = f", by {code_list(version.by)}" if version.by else ""
        return f"{at_words(version, self.zone)}, {self.title(version)} ({version.name}){who}"

    def lines(self, step: Step, number: int) -> list[str]:
        """Return what is to be said of one step, a sentence or two each. `number` is its place on the path."""
        lines = []
        if step.tried is not None:
            lines.append(self._uncut(step, step.tried, number - 1))
        for one in step.stood:
            since = f"{at_words(one.by, self.zone)} ({one.by.name})"
            lines.append(f"{one.lot} stood on {step.came} from {since} until then.")
        lines.append(f"{self._use(step)}.{self._assumed(step)}")
        if step.came in step.version.judged.failed:
            lines.append(f"That was no clean break for {step.came}: {reasons(step.version, step.came)}.")
        return lines

    def title(self, version: Version) -> str:
        """Return what kind of record an entry is, in a sentence."""
        return self.kinds[version.kind].title.lower()

    def _uncut(self, step: Step, tried: Sequence[Attempt], before: int) -> str:
        """Why the path is not cut between the step before and this one."""
        water = step.cls == "water-source"
        if not tried and water:
            return f"{step.came} was not tested in between: the book has no test of it after step {before}."
        if not tried:
            return f"{step.came} was not sanitised in between: the book has no cleaning of it after step {before}."
        return " ".join(self._attempt(step.came, one, water=water) for one in tried)

    def _attempt(self, code: str, one: Attempt, *, water: bool) -> str:
        what = f"{self.title(one.version)} of {at_words(one.version, self.zone)} ({one.version.name})"
        if not one.cleared:
            noun = "passing test" if water else "clean break"
            return f"The {what} does not count as a {noun} of {code}: {reasons(one.version, code)}."
        if not one.believed:
            return f"The {what} cleared {code}, but is not believed here."
        return f"The {what} cleared {code}, but nothing shows that it came between the two: its hour is not written."

    def _use(self, step: Step) -> str:
        came = _CAME.get(step.came_role, step.came_role)
        roles = (came, Role.CLEARED if step.went_role is Role.CLEARED_WATER else step.went_role)
        if roles == (Role.TOUCHED, Role.MADE) and step.stood and step.version.kind in self.kinds.telling(_HARVESTED):
            return f"{step.went} was cut from {step.came}"
        told = _SENTENCES.get(roles, "{0} and {1} were in it together").format(step.came, step.went)
        to = [use.code for use in step.version.uses if use.role is Role.TO]
        if roles == (Role.TOOK, Role.MADE) and to:
            told = f"{step.came} went out as {step.went}, to {code_list(to)}"
        return told[:1].upper() + told[1:]

    def _assumed(self, step: Step) -> str:
        if not step.assumed:
            return ""
        are = "is" if len(step.assumed) == 1 else "are"
        return f" The entry does not name {code_list(step.assumed)}, which {are} usual there, and so assumed."


def reasons(version: Version, code: str = "") -> str:
    """Return why an entry that was judged is no clean break, of one code or of all."""
    told = [reason.text for reason in version.judged.because("break", code)]
    return "; ".join(one[:1].lower() + one[1:] if one[1:2].islower() else one for one in told) or "it did not pass"
