"""The key data elements of a traced lot: a row for each entry that made it, or sent it on, and the papers in hand.

The elements are those of 21 CFR 1 subpart S (harvesting, packing, shipping, receiving, transformation), as a table.
"""

from collections.abc import Iterable, Mapping, Sequence

from lotwalk.ledger.model import Version
from lotwalk.ledger.read.uses import versions_using
from lotwalk.ledger.use import Use
from lotwalk.pages.pack.attached import Attached, files_of
from lotwalk.pages.tracing.desk import Desk
from lotwalk.pages.tracing.flow import Column, Flow
from lotwalk.recall.traceback.evidence import FACT
from lotwalk.recall.words.common import at_words, code_list, written_words
from lotwalk.values.roles import Role

ABOUT = (
    "Key data elements as 21 CFR 1 subpart S names them (restated, in part from memory). Enforcement is not to start"
    " before 20 July 2028; whether these greens are on the list, ask. A lot code is assigned where a food is first"
    " packed or transformed, never when it is sent. What the book does not hold is left empty."
)

MOST_ROWS = 150
"""So many rows are printed. What has more is no lot that went to a buyer, but water or supplies of the whole farm."""

_DOCUMENTS = ("document", "order", "supplier_lot", "printed")
_PRODUCT = ("name", "commodity", "variety", "pack_size", "pack_style")
_OWN = ("crop", "variety", "pack_size")
_PLACE = ("name", "address", "coordinates")
_PARTNER = ("name", "street", "city", "region", "postcode", "country", "phone")


def add_elements(flow: Flow, desk: Desk, versions: Iterable[Version]) -> None:
    """Place a row for each entry, in the order of time."""
    flow.heading("Key data elements, by ingredient")
    flow.words(ABOUT)
    columns = (
        Column("Event", 14, bold=True),
        Column("Date", 11),
        Column("Lot code", 14, bold=True),
        Column("Product description", 18),
        Column("Quantity and unit", 13),
        Column("Made of", 16),
        Column("Where", 17),
        Column("From or to", 20),
        Column("Reference", 12),
    )
    ordered = sorted(versions, key=lambda one: (one.start, one.end, one.seq))
    flow.grid(columns, [_row(desk, one) for one in ordered[:MOST_ROWS]], size=6.5)
    if len(ordered) > MOST_ROWS:
        flow.words(f"{len(ordered) - MOST_ROWS} later entries are left out; trace a lot or a delivery instead.")


def _row(desk: Desk, version: Version) -> tuple[str, ...]:
    made, took = _uses(version, Role.MADE), _uses(version, Role.TOOK)
    # What is sent keeps the code and the description under which it was packed; the delivery's own is a reference.
    sent = version.kind in desk.kinds.telling("delivered")
    of = [one for one in took if _is_sent(desk, version, one)] if sent else made
    codes = [one.code for one in of]
    references = [*(f"delivery {one.code}" for one in made if sent), *_documents(desk, version)]
    return (
        f"{desk.kinds[version.kind].title} {version.name}",
        at_words(version, desk.zone),
        "\n".join(codes) if sent else code_list(codes),
        _description(desk, version, codes),
        "\n".join(filter(None, (_amount(desk, one) for one in of))),
        "" if sent else "\n".join(f"{one.code} {_amount(desk, one)}".strip() for one in took),
        _where(desk, version),
        "\n".join(_partners(desk, version)),
        "\n".join(references),
    )


def _is_sent(desk: Desk, version: Version, use: Use) -> bool:
    """Whether what an entry took was delivered, and did not go around that."""
    field = desk.kinds[version.kind].field_at(use.field)
    return field is None or any(fact.name == "delivered" for fact in field.facts)


def _uses(version: Version, role: Role) -> list[Use]:
    return [use for use in version.uses if use.role is role]


def _amount(desk: Desk, use: Use) -> str:
    return "" if use.amount is None else desk.amount(use.amount, use.unit or "")


def _description(desk: Desk, version: Version, codes: Sequence[str]) -> str:
    """What the product's record says, or the entry itself, or else what the lot is called."""
    product = str(version.fields.get("product", ""))
    record = desk.values.maker(product) if product else {}
    told = [written_words(record[name]) for name in _PRODUCT if name in record]
    told = told or [written_words(version.fields[name]) for name in _OWN if name in version.fields]
    return ", ".join(dict.fromkeys(told)) or ", ".join(filter(None, dict.fromkeys(desk.names(codes).values())))


def _where(desk: Desk, version: Version) -> str:
    place = version.place
    if not place:
        return f"{desk.settings.name}, {desk.settings.location}"
    record = desk.values.maker(place)
    return ", ".join(dict.fromkeys(written_words(record[name]) for name in _PLACE if name in record)) or place


def _partners(desk: Desk, version: Version) -> Iterable[str]:
    for use in version.uses:
        if use.role in (Role.FROM, Role.TO):
            record = desk.values.maker(use.code)
            told = ", ".join(written_words(record[name]) for name in _PARTNER if name in record)
            yield f"{use.role.word} {told or use.code}"
    if "ship_to" in version.fields:
        yield f"delivered to {written_words(version.fields['ship_to'])}"


def _documents(desk: Desk, version: Version) -> Iterable[str]:
    fields = desk.kinds[version.kind].fields
    for name in _DOCUMENTS:
        if name in version.fields and name in fields:
            yield f"{fields[name].title.lower()} {written_words(version.fields[name])}"
    for file in version.files:
        yield f"file {file.name}"


def add_papers(flow: Flow, desk: Desk, things: Sequence[int]) -> list[Attached]:
    """Place the certificates and tests that name any of these things (database keys), and return the files with them.

    The files are numbered in the order in which they follow the report.
    """
    flow.heading("Papers and tests in hand", keep=110)
    named = versions_using(desk.connection, things, tuple(Role), desk.kinds.telling(FACT))
    versions = [one for _, one in sorted({one.seq: one for _, _, one in named}.items())]
    if not versions:
        flow.words("No certificate and no test in this book names what it was made of.")
        return []
    files: dict[str, Attached] = {}
    for version in versions:
        for file in files_of(version, desk.kinds, desk.zone):
            files.setdefault(file.digest, file)
    numbers = {digest: number for number, digest in enumerate(files, 1)}
    flow.words("They name a lot on the way by ingredient, its supplier or its water. Files follow by their number.")
    columns = (Column("Paper", 20, bold=True), Column("Date", 13), Column("What it says", 52), Column("Files", 20))
    flow.grid(columns, [_paper(desk, version, numbers) for version in versions])
    return list(files.values())


def _paper(desk: Desk, version: Version, numbers: Mapping[str, int]) -> tuple[str, ...]:
    kind = desk.kinds[version.kind]
    told = "; ".join(
        f"{field.title}: {written_words(version.fields[name], field)}"
        for name, field in kind.fields.items()
        if name in version.fields
    )
    files = "\n".join(f"{numbers[file.digest]}. {file.name}" for file in version.files)
    return f"{kind.title} {version.name}", at_words(version, desk.zone), told, files or "no file in the book"
