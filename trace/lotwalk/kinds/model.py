"""The closed set of immutable types that a kind file is read into, and that a checked entry becomes."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from typing import TypeAlias, Union
from zoneinfo import ZoneInfo

from lotwalk.values.roles import Role
from lotwalk.values.text import Written
from lotwalk.values.times import When
from lotwalk.values.units import Amount, Units

# Union, not a string with bars: other modules join this alias with `| None` when they are read.
Value: TypeAlias = Union[
    str,
    bool,
    int,
    Decimal,
    Amount,
    tuple[Amount, Amount],
    tuple[Decimal, Decimal],
    When,
    list[str],
    "list[dict[str, Value]]",
]
"""What a field's text was read as."""

Condition: TypeAlias = "str | Mapping[str, str | list[str | None] | None] | None"
"""`passes`, `fails`, a mapping that must hold in full, or None: always."""

LEAVES = "leaves"
"""The line of a condition of which the book decides: whether the entry left some of the lot. It names the facts by
which a later entry shows that."""

TAKEN = "taken"
"""Named there, whatever takes some of the lot later shows it."""


@dataclass(frozen=True, slots=True)
class RoleCase:
    """One case of `x-role`."""

    role: Role
    when: Condition = None


@dataclass(frozen=True, slots=True)
class Fact:
    """One line of `x-tells`."""

    name: str
    when: Condition = None


@dataclass(frozen=True, slots=True)
class Makes:
    """`x-makes`: exactly one of `kind`, `kind_from` (a field's value) and `kind_of` (a named thing's kind).

    `like` is the field that names the thing of which this is some, under a code of its own.
    """

    kind: str | None = None
    kind_from: str | None = None
    kind_of: str | None = None
    type_from: str | None = None
    type_of: str | None = None
    like: str | None = None


@dataclass(frozen=True, slots=True)
class With:
    """`x-with`: things of the `kinds` on which the named lot stands are used in `role` too."""

    role: Role
    kinds: tuple[str, ...]
    only: str | None = None


@dataclass(frozen=True, slots=True)
class Instead:
    """`x-instead`: things of the kinds `of` are replaced by the lots for which they stand, and named in `told`."""

    of: tuple[str, ...]
    told: str


@dataclass(frozen=True, slots=True)
class Shared:
    """`x-shared`: one thing named by two fields together."""

    kind: str
    by: tuple[str, str]
    role: Role


@dataclass(frozen=True, slots=True)
class FieldLimit:
    """One line of `x-limit`: what a form prints beside the field.

    `sense` is at_most, at_least, between, within or none_in, and `key` the rule set's limit, such as storage.warmest.
    Or `sense` is label, and `key` strength or contact: what the labels on record say. `of` says of what, where it needs
    saying.
    """

    sense: str
    key: str
    of: str = ""


@dataclass(frozen=True, slots=True)
class Field:
    """One field of a kind.

    `form` is `text`, `codes` (things named or made), `rows` (a list of objects with `fields`) or `files`.
    `read` says how the text is read: text, words, yes-no, date, at, count, number, numbers, amount, range, code,
    codes, trays or files. `called` are the fields beside a new code that say what people call it. `required`, `needs`
    (one of these groups of fields must be there) and `fields` of rows speak of one row. `length` bounds the characters
    of a text, `many` the members of a list, `bounds` a number (None: no bound).
    `usual` is the field of the place that fills silence, with things of the kinds in `usual_things` (none: all); where
    it is `usual_asked`, only if the judge says that something is asked there. What a field that `follows` names is not
    judged: its roles follow from the verdict on the rest. `there` are the fields whose racks and places say which lots
    are meant where the field names none.
    `common`: every kind has it. `read_out`: it stands on a package or a paper that travels, so a caller may read it
    out. `limits` and `lines`, how many lines a form gives it, are for printed forms.
    """

    name: str
    title: str
    description: str
    form: str
    read: str
    required: bool
    things: tuple[str, ...] = ()
    makes: Makes | None = None
    roles: tuple[RoleCase, ...] = ()
    amount: tuple[str | tuple[str, str], ...] = ()
    dimensions: tuple[str, ...] = ()
    usual: str | None = None
    usual_things: tuple[str, ...] = ()
    usual_asked: bool = False
    follows: bool = False
    stands: With | None = None
    there: tuple[str, ...] = ()
    instead: Instead | None = None
    facts: tuple[Fact, ...] = ()
    called: tuple[str, ...] = ()
    bounds: tuple[Decimal | None, Decimal | None] = (None, None)
    choices: tuple[str, ...] = ()
    pattern: str | None = None
    short: str | None = None
    fields: Mapping[str, "Field"] = field(default_factory=dict)
    needs: tuple[tuple[str, ...], ...] = ()
    length: tuple[int, int | None] = (0, None)
    many: tuple[int, int | None] = (0, None)
    common: bool = False
    read_out: bool = False
    limits: tuple[FieldLimit, ...] = ()
    lines: int = 1

    @property
    def says_silence(self) -> bool:
        """Whether naming nothing there is silence, whatever a judge says."""
        return self.usual is not None and not self.usual_asked

    @property
    def takes_none(self) -> bool:
        """Whether `none` may be written, since what is not said is taken to be what is usual, or what was there."""
        return bool(self.usual or self.there)


@dataclass(frozen=True, slots=True)
class Kind:
    """One kind of record. `text` is the file's text; `digest` its SHA-256 in hex.

    `fields` starts with the common at, by and place and ends with note and files; `needs` are groups of fields of
    which one must be there in full. `facts` are what the entry tells of itself, `order` pairs of dates of which the
    second is not before the first. `verdict` and `notice` name judges: of what an entry clears, and of what is said of
    it at once.
    """

    name: str
    title: str
    description: str
    fields: Mapping[str, Field]
    log: tuple[str, ...]
    asked: tuple[str, ...]
    verdict: str | None
    shared: Shared | None
    settings: bool
    own: bool
    text: str
    digest: str
    needs: tuple[tuple[str, ...], ...] = ()
    facts: tuple[Fact, ...] = ()
    notice: str | None = None
    order: tuple[tuple[str, str], ...] = ()

    def field_at(self, path: str) -> Field | None:
        """Return the field of a path such as `items` or `from[2].batch`, or None where there is none."""
        outer, row, inner = path.partition("[")
        field = self.fields.get(outer)
        return field.fields.get(inner.partition(".")[2]) if field and row else field

    @property
    def replaced(self) -> tuple[Field, ...]:
        """The fields in which something may be named that stands for others, and is replaced by those."""
        return tuple(one for one in self.fields.values() if one.instead)


@dataclass(frozen=True, slots=True)
class Setting:
    """What reading depends on: the farm's measures and its time zone."""

    units: Units
    zone: ZoneInfo


@dataclass(frozen=True, slots=True)
class ThingKind:
    """One kind of thing, from things.yaml.

    `bought`: it comes from outside (level 2). `farm_wide`: it reaches the whole farm (level 5), always or
    when its type is one of `farm_wide_types`. `counted`: it stands in a recall's list of lots. `not_washed_off` are the
    types that no washing undoes, `travels_with` those of which the cause may have come from what travelled in the same
    box, `not_carried_by_people` those that nobody brings by being ill. `bath`: things are dipped in it, one load after
    another. `vessel`: liquids are poured into it, and stay in it until it is emptied. `keeps`: lots stand on it or are
    kept there.
    """

    name: str
    title: str
    plural: str
    cls: str
    bought: bool = False
    farm_wide: bool = False
    farm_wide_types: tuple[str, ...] = ()
    counted: bool = True
    not_washed_off: tuple[str, ...] = ()
    travels_with: tuple[str, ...] = ()
    not_carried_by_people: tuple[str, ...] = ()
    bath: bool = False
    vessel: bool = False
    keeps: bool = False


@dataclass(frozen=True, slots=True)
class Mention:
    """The codes that one field (or one row's field) names or makes, with the roles they may take.

    `path` is `items` or `from[0].batch`, rows counted from 0; `scope` is the row's fields over the entry's, for
    conditions. `amount` is a canonical amount, or None. `packs` is a count of packs still to be converted by the lot's
    pack size. `with_only` are the codes to which `stands` is restricted, or None.
    """

    path: str
    field: Field
    codes: tuple[str, ...]
    scope: Mapping[str, Value]
    amount: Amount | None = None
    packs: int | None = None
    with_only: tuple[str, ...] | None = None
    line: int = 0


@dataclass(frozen=True, slots=True)
class Checked:
    """An entry that its kind understands, before anything is looked up in a ledger.

    `fields` is what was written, as plain text (without kind, at, by, files); `values` what those fields were read
    as. `none` in a field with `x-usual` is read as an empty list. `silent` are the code fields with `x-usual` that
    named nothing and did not say `none`. `zone` is the time zone in which its times were read.
    """

    kind: Kind
    at: When
    by: tuple[str, ...]
    place: str | None
    fields: Mapping[str, Written]
    values: Mapping[str, Value]
    mentions: tuple[Mention, ...]
    files: tuple[str, ...]
    silent: tuple[str, ...]
    zone: ZoneInfo
    line: int = 0
