"""What goes into the ledger and what comes out of it."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from zoneinfo import ZoneInfo

from lotwalk.finding import Finding
from lotwalk.kinds.model import Checked, Mention
from lotwalk.ledger.use import Use
from lotwalk.ledger.verdict import NO_VERDICT, Verdict
from lotwalk.values.roles import Role
from lotwalk.values.text import Written


@dataclass(frozen=True, slots=True)
class Settings:
    """The farm's settings in force, from the newest settings entry.

    `judge` is the number of the judge whose verdicts the book holds: older verdicts were held against it.
    """

    name: str
    location: str
    zone: ZoneInfo
    measures: str
    rules: str
    rules_digest: str
    judge: int


@dataclass(frozen=True, slots=True)
class Head:
    """The newest size and root of the log."""

    size: int
    root: bytes


@dataclass(frozen=True, slots=True)
class ThingRow:
    """A thing as stored."""

    id: int
    code: str
    kind: str
    cls: str
    type: str | None


@dataclass(slots=True)
class UseRow:
    """One use of a thing by an entry on its way in. `part` is 1 for what failed beside what passed, else 0.

    `role` is None while it waits for the verdict. `introduces` when this entry is what fixes the thing's kind.
    """

    role: Role | None
    thing: ThingRow
    field: str
    amount: Decimal | None = None
    unit: str | None = None
    assumed: bool = False
    part: int = 0
    introduces: bool = False

    def use(self) -> Use:
        """Return the use as the entry's text holds it, once its role is known."""
        assert self.role is not None, "the verdict has settled every role"
        kind, type_ = (self.thing.kind, self.thing.type or "") if self.introduces else (None, None)
        return Use(self.role, self.thing.code, self.field, self.amount, self.unit, self.assumed, kind, type_, self.part)


@dataclass(frozen=True, slots=True)
class File:
    """An attached file: its digest (SHA-256, hex), cleaned name, media type and content (None: already stored)."""

    digest: str
    name: str
    media_type: str
    content: bytes | None


@dataclass(frozen=True, slots=True)
class SheetRef:
    """The sheet that an entry stands on; `id` is its key in the database."""

    id: int
    digest: str
    name: str
    in_order: bool


@dataclass(frozen=True, slots=True)
class Amendment:
    """What an entry replaces: the version's number (`seq`), the entry's, why, by whom, on what evidence.

    `zone` and `measures` are those in which its content is read: of the version, not of the farm as it is by now.
    """

    seq: int
    number: int
    because: str
    zone: str
    measures: str
    by: tuple[str, ...] = ()
    void: bool = False
    evidence: tuple[int, ...] = ()


@dataclass(slots=True)
class Pending:
    """An entry on its way in: checked, resolved against the ledger, not yet judged or hashed.

    `sets` are the settings in force from it on, where it is one that changes them.
    """

    seq: int
    checked: Checked
    uses: list[UseRow]
    judged: list[tuple[UseRow, Mention]]
    following: list[tuple[UseRow, Mention]]
    silent: tuple[str, ...]
    alike: str
    refs: tuple[int, ...] = ()
    files: tuple[File, ...] = ()
    sheet: SheetRef | None = None
    line: int = 0
    amendment: Amendment | None = None
    verdict: Verdict | None = None
    sets: Settings | None = None

    @property
    def number(self) -> int:
        """The number by which people name this entry."""
        return self.amendment.number if self.amendment else self.seq

    @property
    def group(self) -> int:
        """The attested sheet, or 0."""
        return self.sheet.id if self.sheet and self.sheet.in_order else 0


@dataclass(frozen=True, slots=True)
class Receipt:
    """What the ledger says of one entry it took in: its name (`E12`), the verdict if it was judged, notices.

    `findings` are those of the checks that the entry brings about and that can still be acted on, the gravest first;
    `older` counts those of an entry that is older, of which nothing is left: they are for a look over the whole book.
    `changed` says, of an amendment, field by field what it changed.
    """

    name: str
    verdict: Verdict | None = None
    notices: tuple[str, ...] = ()
    findings: tuple[Finding, ...] = ()
    older: int = 0
    changed: str = ""


@dataclass(frozen=True, slots=True)
class Version:
    """One version of an entry, as stored. `number` is that of the entry's first version, `seq` that of this one.

    `fields` is what was written, `read` the amounts and times that the book understood, by field. `form` is the form of
    its hashed text.
    """

    seq: int
    number: int
    amends: int | None
    void: bool
    kind: str
    at: str
    start: int
    end: int
    recorded_at: int
    typed_by: str
    by: tuple[str, ...]
    place: str | None
    fields: Mapping[str, Written]
    read: Mapping[str, Sequence[str | int]]
    uses: tuple[Use, ...]
    because: str
    amended_by: tuple[str, ...]
    evidence: tuple[str, ...]
    verdict: Verdict | None
    zone: str
    measures: str
    sheet: str | None
    line: int
    files: tuple[File, ...]
    digest: bytes
    rules: str
    silent: tuple[str, ...] = field(default=())
    form: int = 1

    @property
    def name(self) -> str:
        """The entry's name: `E` and its number."""
        return f"E{self.number}"

    @property
    def judged(self) -> Verdict:
        """The verdict; one that names nothing where the entry was not judged."""
        return self.verdict or NO_VERDICT

    def codes(self, *roles: Role) -> list[str]:
        """Return the codes of the things that the entry uses in these roles, in its order."""
        return [use.code for use in self.uses if use.role in roles]
