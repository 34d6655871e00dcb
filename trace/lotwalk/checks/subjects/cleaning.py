"""Cleanings that do not count, and things used again without one."""

from collections import defaultdict
from collections.abc import Iterator, Sequence

from lotwalk.checks.contacts import Contacts, History, judged, lots_made
from lotwalk.checks.records import Records, by_time
from lotwalk.checks.subjects.gone import Gone
from lotwalk.finding import Cause, Finding, finding
from lotwalk.judge.words import listed, many, sentence
from lotwalk.ledger.entry import Entry
from lotwalk.ledger.verdict import Reason, ReasonKind
from lotwalk.values.roles import Role

BETWEEN_CROPS = "sanitising.between_crops"
EACH_DAY = "sanitising.each_day"
AFTER_RETURN = "sanitising.after_return"

_FURTHER: tuple[tuple[tuple[ReasonKind, ...], str], ...] = (
    (("residue",), "too-strong"),
    (("unshown", "note"), "not-shown"),
)
"""What a verdict says besides that something failed: the sorts of reason, and the finding's name."""

_SANITISING = "sanitising"
"""The judge of mixes."""
_CONDITIONS = {"temperature": "temperature", "ph": "pH"}
"""The fields of what a strength depends on, and how they are called."""
_NOTED = "a note on the test: no limit is broken"
_JUDGED = "the product's label, else the rule set's numbers for its active ingredient"


def findings(records: Records) -> Iterator[Finding]:
    """Yield what is wrong with cleanings: what failed, was too strong or lacks a number, and what was not done."""
    contacts = records.share(Contacts)
    yield from _verdicts(records, contacts)
    yield from used_unclean(records)
    yield from _after_return(records, contacts)


def used_unclean(records: Records) -> Iterator[Finding]:
    """Yield the uses of things that were not cleaned since the one before."""
    contacts = records.share(Contacts)
    yield from _between_crops(records, contacts)
    yield from _each_day(records, contacts)


def _verdicts(records: Records, contacts: Contacts) -> Iterator[Finding]:
    judging = [name for name in records.kinds.names if records.kinds[name].verdict]
    for record in records.of_kinds(judging):
        items = [code for code in record.version.judged.failed if code in contacts.of]
        left = [code for code in items if not _mended(contacts.of[code], record)]
        if left:
            told = [one for one in record.version.judged.because("break") if _concerns(one, left)]
            yield finding(
                "not-clean",
                (record.name,),
                about=(record.name, *left),
                text=f"{listed(left)} {many(left, 'does', 'do')} not count as clean after {record.name} ({record.at}):"
                f" {_sentences(told)}.",
                do=_do(contacts, left, record, _act(told, records.now)),
                basis=_JUDGED,
                span=record.span,
                cause=_cleaning(records, contacts, record),
            )
        for kinds, check in _FURTHER:
            told = [one for kind in kinds for one in record.version.judged.because(kind) if _of_items(one, contacts)]
            if told:
                about = [code for one in told for code in one.codes or sorted(judged(record))]
                left_on = record.version.judged.residue(record.name, record.at) if "residue" in kinds else None
                text, do = left_on or (
                    f"{record.name} ({record.at}): {_sentences(told)}.",
                    f"{_act(told, records.now)}.",
                )
                of_mixes = records.kind(record).verdict == _SANITISING
                yield finding(
                    check,
                    (record.name,),
                    about=(record.name, *dict.fromkeys(about)),
                    text=text,
                    do=do,
                    basis=_JUDGED if of_mixes else _NOTED,
                    span=record.span,
                    cause=_unwritten(record, told) if of_mixes else _noted(told, about),
                )


def _unwritten(record: Entry, told: Sequence[Reason]) -> Cause | None:
    """What is not shown of a mix comes of what is never written down with its strength."""
    missing = [name for name in _CONDITIONS if record.values.get(name) is None]
    if not missing or not any(one.kind == "unshown" for one in told):
        return None
    what = " and no ".join(_CONDITIONS[name] for name in missing)
    return Cause(
        ("unwritten", *missing),
        "A strength is written without what it counts by.",
        f"Write the {what.replace(' no ', ' the ')} with each reading.",
    )


def _noted(told: Sequence[Reason], about: Sequence[str]) -> Cause | None:
    """What is worth knowing of a test comes of what was tested, where that is one thing."""
    if len(set(about)) != 1:
        return None
    return Cause(("noted", about[0]), f"{told[0].text.partition(':')[0]}.", f"{sentence(told[0].do)}.")


def _do(contacts: Contacts, left: Sequence[str], record: Entry, act: str) -> str:
    """The one thing to do: about the items while they can still be cleaned first, else about what was put on them."""
    used = [code for code in left if contacts.of[code].soiled_after(record)]
    waiting = [code for code in left if code not in used]
    decide = f"decide what becomes of what {listed(used or left)} {many(used or left, 'was', 'were')} used for since"
    if waiting:
        are = many(waiting, "is", "are")
        return f"{act}, before {listed(waiting)} {are} used{f', and {decide}' if used else ''}."
    return (
        f"{decide[:1].upper()}{decide[1:]}, and record that as a corrective action about not-clean:{record.name};"
        f" clean {many(left, 'it', 'them')} if that was not done since."
    )


def _mended(history: History, record: Entry) -> bool:
    """Whether the item was cleaned after all before anything was put on it."""
    after = history.soiled_after(record)
    return history.cleaned_between(record, after.record if after else None) is not None


def _concerns(reason: Reason, codes: Sequence[str]) -> bool:
    return not reason.codes or bool(set(reason.codes) & set(codes))


def _of_items(reason: Reason, contacts: Contacts) -> bool:
    return any(code in contacts.of for code in reason.codes) or not reason.codes


def _sentences(told: Sequence[Reason]) -> str:
    return "; ".join(one.text for one in told) or "its checks did not pass"


def _act(told: Sequence[Reason], now: int) -> str:
    """The first thing to do by now, as a sentence without its full stop."""
    acts = [one.act(now) for one in told if one.do]
    act = acts[0] if acts else "clean them again"
    return act[:1].upper() + act[1:]


def _between_crops(records: Records, contacts: Contacts) -> Iterator[Finding]:
    """What a crop was put on without a clean break since the one before."""
    kinds = records.rules.words(BETWEEN_CROPS)
    bearing = {(told.record.seq, told.code) for told in records.telling("bears")}
    found: dict[int, list[tuple[str, Entry]]] = defaultdict(list)
    entries: dict[int, Entry] = {}
    for code, history in contacts.of_kinds(kinds):
        for use in history.soils:
            if (use.record.seq, code) in bearing and (before := next(history.before(use), None)):
                found[use.record.seq].append((code, before.record))
                entries[use.record.seq] = use.record
    for seq, items in found.items():
        record, codes = entries[seq], [code for code, _ in items]
        lots = lots_made(record)
        since = max((before for _, before in items), key=lambda one: one.end)
        why = _why(contacts, items, record)
        yield finding(
            "no-clean-break",
            (record.name,),
            about=(record.name, *lots, *codes),
            text=f"{listed(lots) if lots else record.name} ({record.at}) went onto {listed(codes)} with no clean"
            f" break since {many(codes, 'it was', 'they were')} last in use ({since.name}, {since.at}); {why}.",
            do=f"Decide what becomes of {listed(lots) if lots else 'what was put on them'} and of what came of"
            f" {many(lots, 'it', 'them')}, and write that down as a corrective action about"
            f" no-clean-break:{record.name}.",
            basis=records.basis(BETWEEN_CROPS),
            span=record.span,
            cause=_tried(records, contacts, items, record)
            or Cause(
                ("no-clean-break", record.name),
                "Something was put on what was not cleaned since its last use.",
                "Decide what becomes of it and what came of it.",
                (record.name,),
                f"{listed(lots) if lots else record.name} on {listed(codes)}, last in use {since.at} ({since.name}).",
                alone=True,
            ),
        )


def _why(contacts: Contacts, items: Sequence[tuple[str, Entry]], record: Entry) -> str:
    """Why there is none: a cleaning that failed, one whose time is not known well enough, or none at all."""
    told: dict[str, list[str]] = defaultdict(list)
    for code, last in items:
        tries = contacts.of[code].tries(last, record)
        bad = [one for one in tries if code in one.version.judged.failed]
        if bad:
            why = f"{bad[-1].name} ({bad[-1].at}) did not pass"
        elif tries:
            why = f"{tries[-1].name} passed, but its time ({tries[-1].at}) does not show that it lies between"
        else:
            why = "no sanitising is recorded"
        told[why].append(code)
    if len(told) == 1:
        return next(iter(told))
    return "; ".join(f"{listed(codes)}: {why}" for why, codes in told.items())


def _tried(records: Records, contacts: Contacts, items: Sequence[tuple[str, Entry]], record: Entry) -> Cause | None:
    """What it comes of that items were not clean at a use: the last cleaning in between that did not count."""
    tried = [(entry, code) for code, last in items for entry in contacts.of[code].tries(last, record)]
    if not tried:
        return None
    entry, code = max(tried, key=lambda one: by_time(one[0]))
    if code in entry.version.judged.failed:
        return _cleaning(records, contacts, entry)
    return Cause(
        ("time-not-shown", entry.name),
        f"{entry.name} passed, but its time ({entry.at}) does not show that it came between two uses.",
        f"Amend {entry.name} with its hour if a slip tells it. Else decide on each lot and what came of it.",
        (entry.name,),
    )


def _cleaning(records: Records, contacts: Contacts, record: Entry) -> Cause:
    """A cleaning that does not count, as the cause of all that was done with its items since."""
    gone = records.share(Gone)
    failed = [code for code in record.version.judged.failed if code in contacts.of]
    left = [gone.by(code, record) for code in failed]
    if left and (last := left[-1]) and all(left):
        return gone.cause(last)
    told = [one for one in record.version.judged.because("break") if _concerns(one, failed)]
    return Cause(
        ("not-cleaned", record.name),
        "A cleaning does not count.",
        "Decide on each lot and what came of it. Clean again what was not cleaned since: --all says how.",
        (record.name,),
        f"{record.at}: {_sentences(told)}.",
        alone=True,
    )


def _each_day(records: Records, contacts: Contacts) -> Iterator[Finding]:
    """Tools that worked on crops or food on a later day with no clean break since."""
    for code, history in contacts.of_kinds(records.rules.words(EACH_DAY)):
        working = [use for use in history.soils if not use.assumed and _works(use.record)]
        at_work = History([*working, *history.breaks])
        for use in working:
            before = (one.record for one in at_work.before(use))
            last = next((one for one in before if records.date(one.end) < records.date(use.record.start)), None)
            if last:
                cause = _tried(records, contacts, [(code, last)], use.record)
                yield finding(
                    "tool-not-clean",
                    (code, use.record.name),
                    about=(code, use.record.name, *lots_made(use.record)),
                    text=f"{code} was used in {use.record.name} ({use.record.at}) with no clean break since"
                    f" {last.name} ({last.at}).",
                    do=f"Sanitise {code} before its next use, and see that it is done after each day's work.",
                    basis=records.basis(EACH_DAY),
                    span=use.record.span,
                    cause=cause or _not_daily(code),
                )


def _not_daily(code: str) -> Cause:
    return Cause(
        ("not-daily", code),
        "A tool worked on a later day with no clean break since the day before.",
        "Sanitise it before its next use, and see that it is done after each day's work. Decide on the lots.",
        (code,),
        alone=True,
    )


def _works(record: Entry) -> bool:
    """Whether an entry works on a crop or on food: it makes a lot, or handles one in place."""
    return any(use.role in (Role.MADE, Role.HANDLED) for use in record.version.uses)


def _after_return(records: Records, contacts: Contacts) -> Iterator[Finding]:
    """What came back from a customer and was not sanitised since."""
    kinds = records.rules.words(AFTER_RETURN)
    back: dict[tuple[int, bool], list[str]] = defaultdict(list)
    entries: dict[int, Entry] = {}
    for told in records.telling("home"):
        history = contacts.of.get(told.code, History(()))
        after = history.soiled_after(told.record)
        if told.thing.kind in kinds and not history.cleaned_between(told.record, after.record if after else None):
            back[told.record.seq, after is not None].append(told.code)
            entries[told.record.seq] = told.record
    for (seq, used), codes in back.items():
        record = entries[seq]
        yield finding(
            "back-not-clean",
            (record.name, "used" if used else "kept"),
            about=(record.name, *codes),
            text=f"{listed(codes)} came back on {record.at} ({record.name}) and {many(codes, 'was', 'were')}"
            f" {'used again' if used else 'not'}{' without being' if used else ''} sanitised since.",
            do=f"Wash and sanitise {many(codes, 'it', 'them')} before {many(codes, 'it goes', 'they go')} out again.",
            basis=records.basis(AFTER_RETURN),
            span=record.span,
            severity="major" if used else "minor",
        )
