"""The first page of a recall report: the answer, what was asked, and what was not believed."""

from lotwalk.ledger.read.things import things_of
from lotwalk.pages.tracing.case import Case, Closely
from lotwalk.pages.tracing.desk import Desk
from lotwalk.pages.tracing.flow import Flow
from lotwalk.recall.words.common import (
    at_words,
    box_words,
    code_list,
    count,
    delivered_totals,
    doubt_words,
    silence_words,
    size_words,
    total_words,
    written_words,
)
from lotwalk.recall.words.facts import fact_words, people_words

_UNSURE = (
    "These are candidates on the evidence in this book, not findings. Whether to recall, what, and what to say is"
    " decided with the local regulator: ring them first."
)


def add_answer(flow: Flow, desk: Desk, case: Case, closely: Closely | None) -> None:
    """Place the answer in a frame: how large the scope is, how much of it is still here, and what to do now."""
    scope = case.scope
    told = [*filter(None, [box_words(case.found)]), f"{_which(case)}: {size_words(scope)}."]
    if case.scope is not case.found:
        told.append(f"The widest scope, whichever candidate it was: {size_words(case.found)}.")
    told += fact_words(case.found, desk.kinds)
    if not_followed := people_words(case.found):
        told.append(not_followed)
    told += [total_words(one, desk.units) for one in delivered_totals(case.balance)]
    if closely:
        first = closely.rows[0]
        explains = f"it would explain {first.explains} of {len(case.found.asked)}"
        many = f"of {count(len(case.found.candidates), 'candidate cause')}"
        ranked = "since it tested positive" if first.positive else "as investigators rank"
        why = "chosen to be looked at" if case.cause else f"ranked first, {ranked}"
        told.append(f"{closely.code} is {why}, {many}: {explains}.")
    told.append(_UNSURE)
    flow.framed(told)


def _which(case: Case) -> str:
    parts = []
    if case.cause:
        parts.append(f"what {case.cause} reaches")
    if case.ring:
        parts.append(f"ring {case.ring} and closer")
    return f"The scope chosen ({', '.join(parts)})" if parts else "The widest scope, whichever candidate it was"


def add_asked(flow: Flow, desk: Desk, case: Case) -> None:
    """Place what was asked about, in the words in which it was written down, and what was not believed."""
    flow.heading("What was asked")
    about = case.about(desk.connection)
    made = desk.makers(case.codes)
    for one in case.found.asked:
        kind = desk.kinds.things[one.kind].title
        stands_for = [code for code in about[one.code] if code != one.code]
        version = made.get(one.code)
        entry = f", {version.name} of {at_words(version, desk.zone)}" if version else ""
        flow.words(f"{kind} {one.code}{entry}{f', for {code_list(stands_for)}' if stands_for else ''}", bold=True)
        if one.lots:
            got = code_list([thing.code for thing in things_of(desk.connection, one.lots)])
            flow.words(f"Of that it starts from {got}.", indent=10)
        if version and one.code != one.customer:
            fields = desk.kinds[version.kind].fields
            for name, field in fields.items():
                if name in version.fields and version.fields[name] != one.code:
                    flow.words(f"{field.title}: {written_words(version.fields[name], field)}", indent=10)
        for sentence in one.words():
            flow.words(sentence, indent=10)
    told = doubt_words(case.found, case.narrower, case.distrusted)
    believed = [name for name in case.believed if name.upper() not in case.found.needless]
    if believed:
        told.append(f"Believed although recorded late, as asked: {', '.join(believed)}.")
    if case.through:
        told.append(f"Walked through {' and '.join(case.through)} too, as asked.")
    told += silence_words(case.found.silent)
    for line in told:
        flow.words(line)
