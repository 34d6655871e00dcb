"""What was asked in a recall, in the words in which it was written down, and what was not believed."""

from lotwalk.pages.tracing.desk import Desk
from lotwalk.pages.tracing.flow import Flow
from lotwalk.recall.answer import Answer
from lotwalk.recall.words.common import (
    at_words,
    code_list,
    delivered_totals,
    doubt_words,
    silence_words,
    size_words,
    total_words,
    written_words,
)
from lotwalk.recall.words.facts import fact_words, people_words

ASKED = "What was asked"


def add_asked(flow: Flow, desk: Desk, answer: Answer) -> None:
    """Place what was asked about, in the words in which it was written down, and what was not believed."""
    flow.heading(ASKED)
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
    for line in (*fact_words(answer.found, desk.kinds), *filter(None, [people_words(answer.found)]), *told):
        flow.words(line)
    flow.words(f"The widest scope, whichever candidate it was: {size_words(answer.found)}.")
    for total in delivered_totals(answer.balance):
        flow.words(total_words(total, desk.units))
