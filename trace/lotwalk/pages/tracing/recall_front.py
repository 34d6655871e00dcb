"""The first page of a recall report: the answer, what was asked, and what was not believed."""

from lotwalk.pages.tracing.desk import Desk
from lotwalk.pages.tracing.flow import Flow
from lotwalk.recall.answer import Answer
from lotwalk.recall.one_cause.closely import Closely
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


def add_answer(flow: Flow, desk: Desk, answer: Answer, closely: Closely | None) -> None:
    """Place the answer in a frame: how large the scope is, how much of it is still here, and what to do now."""
    scope = answer.scope
    told = [*filter(None, [box_words(answer.found)]), f"{_which(answer)}: {size_words(scope)}."]
    if answer.scope is not answer.found:
        told.append(f"The widest scope, whichever candidate it was: {size_words(answer.found)}.")
    told += fact_words(answer.found, desk.kinds)
    if not_followed := people_words(answer.found):
        told.append(not_followed)
    told += [total_words(one, desk.units) for one in delivered_totals(answer.balance)]
    if closely:
        first = closely.rows[0]
        explains = f"it would explain {first.explains} of {len(answer.found.asked)}"
        many = f"of {count(len(answer.found.candidates), 'candidate cause')}"
        ranked = "since it tested positive" if first.positive else "by what it explains and what else it reached"
        why = "chosen to be looked at" if answer.question.cause else f"ranked first, {ranked}"
        told.append(f"{closely.cause} is {why}, {many}: {explains}.")
    told.append(_UNSURE)
    flow.framed(told)


def _which(answer: Answer) -> str:
    parts = []
    if answer.question.cause:
        parts.append(f"what {answer.question.cause} reaches")
    if answer.question.level:
        parts.append(f"level {answer.question.level} and closer")
    return f"The scope chosen ({', '.join(parts)})" if parts else "The widest scope, whichever candidate it was"


def add_asked(flow: Flow, desk: Desk, answer: Answer) -> None:
    """Place what was asked about, in the words in which it was written down, and what was not believed."""
    flow.heading("What was asked")
    made = desk.makers(answer.codes)
    for one in answer.found.asked:
        kind = desk.kinds.things[one.kind].title
        stands_for = [code for code in answer.stands_for[one.code] if code != one.code]
        version = made.get(one.code)
        entry = f", {version.name} of {at_words(version, desk.zone)}" if version else ""
        flow.words(f"{kind} {one.code}{entry}{f', for {code_list(stands_for)}' if stands_for else ''}", bold=True)
        if one.lots:
            flow.words(f"Of that it starts from {code_list(answer.meant[one.code])}.", indent=10)
        if version and one.code != one.customer:
            fields = desk.kinds[version.kind].fields
            for name, field in fields.items():
                if name in version.fields and version.fields[name] != one.code:
                    flow.words(f"{field.title}: {written_words(version.fields[name], field)}", indent=10)
        for sentence in one.words():
            flow.words(sentence, indent=10)
    told = doubt_words(answer.found, answer.narrower, answer.question.distrust)
    believed = [name for name in answer.question.believe if name.upper() not in answer.found.needless]
    if believed:
        told.append(f"Believed although recorded late, as asked: {', '.join(believed)}.")
    if answer.question.through:
        told.append(f"Walked through {' and '.join(answer.question.through)} too, as asked.")
    told += silence_words(answer.found.silent)
    for line in told:
        flow.words(line)
