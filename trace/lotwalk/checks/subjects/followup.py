"""What was left open: complaints and faults that nobody mended, positive samples, calls in vain, the exercise."""

from collections.abc import Iterator, Sequence

from lotwalk.checks.records import Records, Told
from lotwalk.finding import Cause, Due, Finding, finding
from lotwalk.judge.words import listed
from lotwalk.ledger.entry import Entry
from lotwalk.science.results import NOT_SHOWN, names_a_germ, outcome
from lotwalk.values.codes import fold
from lotwalk.values.roles import Role

EXERCISE = "recall.exercise_every"
MEND = "records.mended_within"
CALL = "recall.called_again_within"

_MENDED = "US 21 CFR 112.50(b)(7) for water, and good practice for the rest: what went wrong is mended and closed"
_SAMPLED = "no result of a germ that must not be there stands without a decision"
_PROMISED = "the day written in the action itself"
_FINISH = "Do what it says, have somebody look whether it worked, and amend {action} with the day of closing."


def findings(records: Records) -> Iterator[Finding]:
    """Yield what asks for an act that nobody has finished."""
    late = [one for one in _actions(records) if one[1] and one[1] < records.today and not _closed(records, one[0])]
    known = [*_to_mend(records, late), *_samples(records, late)]
    yield from known
    yield from _late_actions(records, late, known)
    yield from _calls(records)
    yield from _exercise(records)


def dues(records: Records) -> Iterator[Due]:
    """Yield the day by which each open fault, action, call and the next exercise is to be seen to."""
    every, calls, mend = (records.seconds(key) for key in (EXERCISE, CALL, MEND))
    actions = list(_actions(records))
    named = {code for action, _ in actions for code in _about(records, action)}
    for record in records.entries_telling("to_mend"):
        if mend is not None and not {fold(one) for one in _called(record)} & named:
            title = records.kind(record).title
            yield Due(
                records.date(record.end + mend),
                tuple(dict.fromkeys((_name(record), record.name))),
                f"{title} {_name(record)} of {record.at} has no corrective action",
                f"Find the cause, mend it, and record that as a corrective action about {_name(record)}.",
                records.basis(MEND),
            )
    for action, day in actions:
        if day and not _closed(records, action):
            yield Due(
                day,
                (action.name,),
                f"Corrective action {action.name} about {listed(_written(records, action))}",
                _FINISH.format(action=action.name),
                _PROMISED,
            )
    for told in _unanswered(records):
        if calls is not None:
            text = f"{told.code} was not reached on {told.record.at} ({told.record.name})"
            by = records.date(told.record.end + calls)
            yield Due(by, (told.code, told.record.name), text, f"Call {told.code} again.", records.basis(CALL))
    if every is not None:
        done = records.entries_telling("practised")
        first = records.all[0] if records.all else None
        since = done[-1] if done else first
        if since:
            text = (
                f"A recall was last practised on {since.at}"
                if done
                else f"No recall was practised since the book began on {records.date(since.start)}"
            )
            do = "Take a delivery, find all that shares a cause with it, and record how long it took."
            yield Due(records.date(since.end + every), (), text, do, records.basis(EXERCISE))


def _to_mend(records: Records, late: Sequence[tuple[Entry, str]]) -> Iterator[Finding]:
    for record in records.entries_telling("to_mend"):
        title, name = records.kind(record).title, _name(record)
        said = next((str(record.values[one]) for one in ("description", "result") if record.values.get(one)), "")
        ill = record.values.get("type") == "illness"
        subject = [str(record.values[one]) for one in ("type", "topic") if record.values.get(one)]
        yield finding(
            "to-mend",
            (name,),
            about=(name, *([record.name] if name != record.name else [])),
            text=f"{title} {name} of {record.at}{f' ({subject[0]})' if subject else ''} has no closed corrective"
            f" action yet{f': {said}' if said else ''}{'' if said.endswith('.') else '.'}",
            do=f"Find the cause, mend it, and record that as a corrective action about {name}, with the day of"
            " closing.",
            basis=_MENDED,
            span=record.span,
            closers=(name, record.name),
            cause=_cause(
                records,
                ("unmended", name),
                "No action about it is closed.",
                f"{title} of {records.date(record.start)}{f', {subject[0]}' if subject else ''}",
                "Find out why, mend it, and record that.",
                _called(record),
                (name, record.name),
                late,
            ),
            severity="critical" if ill else "major",
        )


def _cause(
    records: Records,
    parts: tuple[str, ...],
    text: str,
    detail: str,
    do: str,
    named: Sequence[str],
    own: tuple[str, ...],
    late: Sequence[tuple[Entry, str]],
) -> Cause:
    """What went wrong, with the actions about it (by one of these names) that are late; `own` are no lots of it."""
    mine = [(action, day) for action, day in late if {fold(one) for one in named} & _about(records, action)]
    told = "".join(f"; {action.name} due {day}" for action, day in mine)
    return Cause(parts, text, do, (*own, *(action.name for action, _ in mine)), f"{detail}{told}.", alone=True)


def _samples(records: Records, late: Sequence[tuple[Entry, str]]) -> Iterator[Finding]:
    for told in records.telling("examined"):
        record = told.record
        # Papers and judged tests have checks of their own.
        if record.version.verdict or any(use.role is Role.NAMES for use in record.version.uses):
            continue
        result, test = str(record.values.get("result") or ""), str(record.values.get("test") or "")
        says = outcome(result, test)
        if says == "found":
            sampled = [one.code for one in records.telling("examined") if one.record is record]
            yield finding(
                "sample-positive",
                (told.code, record.name),
                about=(told.code, record.name),
                text=f"The sample of {told.code} of {record.at} ({record.name}) found what must not be there:"
                f" {f'{test}, ' if test else ''}{result}.",
                do=f"Put {told.code} and all that it could concern on hold (lotwalk recall {told.code}), and record"
                f" what was decided as a corrective action about {record.name}.",
                basis=_SAMPLED,
                span=record.span,
                closers=(record.name, told.code),
                cause=_cause(
                    records,
                    ("found-in-sample", record.name),
                    f"Found in a sample of {listed(sampled)}: {f'{test}, ' if test else ''}{result}.",
                    f"Sample {record.name} of {records.date(record.start)}",
                    f"Hold it and all that it could concern (lotwalk recall {sampled[0]}).",
                    [record.name, *sampled, f"found-in-sample:{record.name}"],
                    (record.name,),
                    late,
                ),
            )
        elif says == "not shown" or (result and says == "unclear" and names_a_germ(test)):
            of = f"The result of the sample of {told.code} of {record.at} ({record.name})"
            text = f"{of} neither finds nor denies: {result}."
            do = f"Amend {record.name} to say it in the laboratory's words, such as not detected in 25 g."
            if says == "not shown":
                text = f"{of} is no negative: {f'{test}, ' if test else ''}{result} {NOT_SHOWN}."
                do = f"Ask the laboratory for a test for presence in 25 g of {told.code}, and record its result."
            yield finding(
                "sample-unclear",
                (told.code, record.name),
                about=(told.code, record.name),
                text=text,
                do=do,
                basis=_SAMPLED,
                span=record.span,
                closers=(record.name,),
                severity="major" if says == "not shown" else "minor",
            )


def _actions(records: Records) -> Iterator[tuple[Entry, str]]:
    """Corrective actions by time, each with the day by which it was to be done, or an empty text."""
    for record in records.of_kinds(records.kinds.telling("mended")):
        yield record, str(record.values.get("due") or "")


def _closed(records: Records, action: Entry) -> bool:
    """Whether the action was done. A day yet to come when it was written is an intention."""
    closed = action.values.get("closed")
    return isinstance(closed, str) and closed <= records.date(max(action.recorded_at, action.end))


def _written(records: Records, action: Entry) -> list[str]:
    fields = [one.name for one in records.kind(action).fields.values() if "finding" in one.things]
    found: list[str] = []
    for name in fields:
        value = action.values.get(name)
        found += [value] if isinstance(value, str) else [str(one) for one in value] if isinstance(value, list) else []
    return found


def _about(records: Records, action: Entry) -> set[str]:
    return {fold(code) for code in _written(records, action)}


def _late_actions(records: Records, late: Sequence[tuple[Entry, str]], known: Sequence[Finding]) -> Iterator[Finding]:
    for action, day in late:
        about = _written(records, action)
        named = _about(records, action)
        yield finding(
            "action-late",
            (action.name,),
            about=(action.name, *about),
            text=f"The corrective action {action.name} of {action.at} about {listed(about)} was due on {day} and is not"
            " closed.",
            do=_FINISH.format(action=action.name),
            basis=_PROMISED,
            span=(records.begins(day), records.now),
            cause=next((one.cause for one in known if named & _closing(one)), None),
        )


def _unanswered(records: Records) -> list[Told]:
    """Calls in which a customer was not reached, and after which nobody reached them about the same."""
    told = records.telling("told")
    out: list[Told] = []
    for number, one in enumerate(told):
        if one.scope.get("reached") is not False:
            continue
        later = [other for other in told[number + 1 :] if other.code == one.code and _same(one, other)]
        # Of several calls in vain the last is the one to be followed.
        if not later:
            out.append(one)
    return out


def _same(one: Told, other: Told) -> bool:
    """Whether two calls were about the same complaint, or do not say about which."""
    first, second = (_codes(told.scope.get("complaint")) for told in (one, other))
    return not first or not second or bool(first & second)


def _codes(value: object) -> set[str]:
    return (
        {fold(str(one)) for one in value}
        if isinstance(value, list)
        else {fold(value)}
        if isinstance(value, str)
        else set()
    )


def _calls(records: Records) -> Iterator[Finding]:
    for told in _unanswered(records):
        record = told.record
        about = [use.code for use in record.version.uses if use.field == "complaint"]
        yield finding(
            "not-reached",
            (told.code, record.name),
            about=(told.code, record.name),
            text=f"{told.code} was not reached in the calls about {listed(about) if about else 'a recall'}"
            f" ({record.name} of {record.at}) and not called again.",
            do=f"Call {told.code} again, or go there, and record it.",
            basis=records.basis(CALL),
            span=record.span,
            closers=(record.name,),
            cause=Cause(
                ("not-reached", told.code, record.name),
                "Not reached, and not called again.",
                "Call again, or go there, and record it.",
                detail=f"{told.code}, {record.at}, about {listed(about) if about else 'a recall'}.",
                alone=True,
            ),
        )


def _exercise(records: Records) -> Iterator[Finding]:
    every, done = records.seconds(EXERCISE), records.entries_telling("practised")
    since = done[-1] if done else records.all[0] if records.all else None
    if every is None or since is None or records.date(since.end + every) >= records.today:
        return
    text = f"A recall was last practised on {since.at} ({since.name})" if done else "No recall was ever practised"
    yield finding(
        "exercise-late",
        (since.name,),
        about=(since.name,) if done else (),
        text=f"{text}{'' if done else f' since the book began on {records.date(since.start)}'}.",
        do="Take a delivery, find all that shares a cause with it, and record how long it took (lotwalk recall).",
        basis=records.basis(EXERCISE),
        span=(since.end + every, records.now),
    )


def _closing(finding: Finding) -> set[str]:
    """The folded names by which an action is about a finding."""
    return {fold(one) for one in (finding.id, finding.comes_of, *finding.closers)}


def _called(record: Entry) -> list[str]:
    """What a corrective action may name for an entry that asks for one: its names, its finding, and what that is of."""
    name = _name(record)
    return [*_names(record), f"to-mend:{name}", f"unmended:{name}"]


def _names(record: Entry) -> list[str]:
    """What a corrective action may name for an entry: its number, and the thing that it made."""
    made = [use.code for use in record.version.uses if use.role is Role.MADE]
    return [record.name, *made]


def _name(record: Entry) -> str:
    return _names(record)[-1]
