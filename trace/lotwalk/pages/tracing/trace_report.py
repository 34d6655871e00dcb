"""The traceability report of one lot or delivery: back to what it came from, forward to whom it went, with papers."""

from collections.abc import Collection, Sequence
from typing import BinaryIO

from lotwalk.ledger.model import Version
from lotwalk.ledger.read.uses import makers
from lotwalk.pages.cautions import caution
from lotwalk.pages.maps.build import Builder, Subject
from lotwalk.pages.tracing.desk import Desk
from lotwalk.pages.tracing.document import Document
from lotwalk.pages.tracing.elements import add_elements, add_papers
from lotwalk.pages.tracing.flow import Column, Flow
from lotwalk.pages.tracing.grouped import add_groups
from lotwalk.pages.tracing.recall_report import Written
from lotwalk.recall.asking.asked import DELIVERY
from lotwalk.recall.response.delivered import delivered_of
from lotwalk.recall.traced import Begun
from lotwalk.recall.words.common import LEVELS, at_words, code_list, count, silence_words, written_words
from lotwalk.values.roles import Role
from lotwalk.walk.frontier import Frontier
from lotwalk.walk.model import BACK, FORWARD, INGREDIENT, Reached, Walk
from lotwalk.walk.walk import check_read, walk

SIGNATURES = ("Prepared by", "Reviewed by")
NAME = "trace"
TITLE = "Traceability report"
OURS = "It names other customers: for the farm and the regulator, and not to be handed to a customer."
_CAUTIONS = ("private-addresses", "cleaning-is-no-proof")
_MOST_APART = 20
"""So many things by ingredient are drawn one by one, whatever else is put together."""

_PATHS = {
    INGREDIENT: "By ingredient: it went into it, or came out of it.",
    "contact": "By contact only: the same item, water, bench or hands' work stood between.",
}


def write_trace(desk: Desk, asked: Begun, *, page_size: str = "", out: BinaryIO) -> Written:
    """Write the report as a PDF. It is printed at the time of the ledger's clock.

    Raises NotUnderstood for an unknown page size.
    """
    cautions = [(one.subject, one.says) for one in map(caution, _CAUTIONS)]
    kind = desk.kinds.things[asked.thing.kind]
    about = f"{kind.title} {asked.thing.code}"
    document = Document(NAME, desk.facts(TITLE, [about, OURS], cautions, SIGNATURES), page_size or desk.paper)
    flow = document.flow
    walks = [
        walk(desk.connection, way, asked.starts, doubt=asked.doubt, through=asked.through) for way in (BACK, FORWARD)
    ]
    back, forward = walks
    check_read(desk.connection, desk.kinds, asked.keys, walks)
    deliveries = _deliveries(desk, asked, forward)
    _add_answer(flow, desk, asked, back, forward)
    _add_record(flow, desk, asked)
    add_elements(flow, desk, _ingredient_makers(desk, asked, walks))
    files = add_papers(flow, desk, _vouched_for(desk, asked, back))
    _add_deliveries(flow, desk, deliveries)
    builder = Builder(desk.connection, desk.kinds, desk.zone)
    sure = {one.thing.code for found in walks for one in found.reached if one.link == INGREDIENT}
    along = frozenset(sure) if len(sure) <= _MOST_APART else frozenset()
    maps = []
    for way, title in ((BACK, f"{about}, back to all that it could have got something from"),
                       (FORWARD, f"{about}, forward to all that it could have passed something to")):  # fmt: skip
        frontier = Frontier(desk.connection, way, asked.doubt)
        frontier.run(asked.starts)
        subject = Subject(frozenset({asked.thing.code}), along=along, complaints=asked.complaints)
        drawn = builder.build(title, frontier, subject, document.fits)
        if len(drawn.boxes) > 1:
            document.add_map(drawn)
            maps.append(drawn)
    add_groups(flow, maps)
    _add_reached(flow, desk, "All that it could have got something from", back)
    _add_reached(flow, desk, "All that it could have passed something to", forward)
    document.close()
    pages = document.write(out, desk, title=f"{TITLE}: {about}", subject="Trace of one lot", files=files)
    return Written(TITLE, pages)


def _add_answer(flow: Flow, desk: Desk, asked: Begun, back: Walk, forward: Walk) -> None:
    thing = asked.thing
    kind = desk.kinds.things[thing.kind]
    name = desk.names([thing.code]).get(thing.code, "")
    told = [f"{kind.title} {thing.code}{f', {name}' if name and name != thing.code else ''}"]
    for found, words in ((back, "Back"), (forward, "Forward")):
        sure = [one for one in found.reached if one.link == INGREDIENT]
        further = [one for one in found.reached if one.link != INGREDIENT]
        told.append(f"{words}, by ingredient: {_counted(desk, sure) or 'nothing'}.")
        told.append(f"{words}, by contact only: {_counted(desk, further) or 'nothing'}.")
    told.append("This is what the book shows. It does not say that any of it is safe, or that any of it is not.")
    flow.framed(told)
    doubts = [f"Clean breaks not believed, as asked: {', '.join(asked.distrusted)}."] if asked.distrusted else []
    doubts += [f"Walked through {' and '.join(asked.through)} too, as asked."] if asked.through else []
    for line in (*doubts, *silence_words(_silent(back, forward))):
        flow.words(line)


def _silent(*walks: Walk) -> dict[str, int]:
    """The entries that named nothing where they could have; of two walks the larger number, since they overlap."""
    return {name: max(one.silent.get(name, 0) for one in walks) for found in walks for name in found.silent}


def _counted(desk: Desk, reached: Sequence[Reached]) -> str:
    kinds: dict[str, int] = {}
    for one in reached:
        kinds[one.thing.kind] = kinds.get(one.thing.kind, 0) + 1
    return ", ".join(
        count(number, kind.title.lower(), kind.plural.lower())
        for name, number in sorted(kinds.items())
        if (kind := desk.kinds.things[name])
    )


def _add_record(flow: Flow, desk: Desk, asked: Begun) -> None:
    """Place the entry that made it, as it was written."""
    flow.heading("What was written down of it")
    version = desk.makers([asked.thing.code]).get(asked.thing.code)
    if version is None:
        flow.words("No entry in force made or registered it.")
        return
    kind = desk.kinds[version.kind]
    by = f", by {', '.join(version.by)}" if version.by else ""
    flow.words(f"{kind.title} {version.name}, {at_words(version, desk.zone)}{by}", bold=True)
    for name, field in kind.fields.items():
        if name in version.fields:
            flow.words(f"{field.title}: {written_words(version.fields[name], field)}", indent=10)


def _ingredient_makers(desk: Desk, asked: Begun, walks: Sequence[Walk]) -> list[Version]:
    """The entries that made the lots by ingredient, back and forward, and what was asked."""
    keys = {
        one.thing.id for found in walks for one in found.reached if one.link == INGREDIENT and one.thing.cls == "lot"
    }
    found = makers(desk.connection, sorted(keys | set(asked.keys)))
    return list({version.seq: version for version in found.values()}.values())


def _vouched_for(desk: Desk, asked: Begun, back: Walk) -> list[int]:
    """What papers may vouch for: what is behind it by ingredient, and the partners that these came from."""
    keys = {one.thing.id for one in back.reached if one.link == INGREDIENT} | set(asked.keys)
    versions = makers(desk.connection, sorted(keys)).values()
    partners = [use.code for one in versions for use in one.uses if use.role is Role.FROM]
    return sorted(keys | set(desk.keys(partners)))


def _deliveries(desk: Desk, asked: Begun, forward: Walk) -> Collection[tuple[str, str, str, str]]:
    """The deliveries that it went into by ingredient: when, code, customer, what of it."""
    keys = [one.thing.id for one in forward.reached if one.thing.kind == DELIVERY and one.link == INGREDIENT]
    keys += [asked.thing.id] if asked.thing.kind == DELIVERY else []
    lots = {one.thing.id for one in forward.reached if one.link == INGREDIENT} | set(asked.keys)
    if asked.thing.kind == DELIVERY:
        uses = [use for one in makers(desk.connection, keys).values() for use in one.uses]
        lots |= set(desk.keys([use.code for use in uses]))
    found = delivered_of(desk.connection, keys, lots)
    rows = []
    for one in sorted(found.values(), key=lambda one: (one.start, one.code)):
        customer = desk.contact(one.customer).title if one.customer else ""
        rows.append((one.at, one.code, customer, "; ".join(map(desk.item, one.items))))
    return rows


def _add_deliveries(flow: Flow, desk: Desk, rows: Collection[tuple[str, str, str, str]]) -> None:
    flow.heading("Where it went, by ingredient")
    if not rows:
        flow.words("Nothing of it is in a delivery, on the evidence in this book.")
        return
    columns = (Column("When", 18), Column("Delivery", 12, bold=True), Column("Customer", 30), Column("Lots in it", 40))
    flow.grid(columns, rows)


def _add_reached(flow: Flow, desk: Desk, title: str, found: Walk) -> None:
    flow.heading(title)
    if not found.reached:
        flow.words("Nothing.")
    for link, words in _PATHS.items():
        some = [one for one in found.reached if one.link == link]
        if some:
            flow.words(words, bold=True)
            for level in sorted({one.level for one in some}):
                flow.words(f"Level {level}, {LEVELS[level]}:")
                for name in sorted({one.thing.kind for one in some if one.level == level}):
                    codes = sorted({one.thing.code for one in some if one.level == level and one.thing.kind == name})
                    kind = desk.kinds.things[name]
                    told = count(len(codes), kind.title.lower(), kind.plural.lower())
                    flow.words(f"{told}: {code_list(codes)}", indent=10)
