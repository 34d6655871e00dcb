"""Appending a batch: resolve, judge, hash, store; all of it or nothing.

The life of an entry: checked by its kind, resolved against the things known so far, judged once all of its batch is
known, hashed onto the log, stored. An earlier verdict that the batch changes is filed as a version of its own.
"""

from collections import defaultdict
from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace

from sqlalchemy import Connection, insert, select, text

from lotwalk.errors import Problem, Refused
from lotwalk.finding import urgency
from lotwalk.kinds.library import Kinds
from lotwalk.kinds.model import Checked, Mention
from lotwalk.ledger import record
from lotwalk.ledger.bearing.bed import Bed
from lotwalk.ledger.bearing.filing import REASON as BORNE
from lotwalk.ledger.bearing.filing import borne_otherwise
from lotwalk.ledger.bearing.ground import Ground
from lotwalk.ledger.bearing.leftovers import REASON as LEFT
from lotwalk.ledger.bearing.leftovers import leave, left_otherwise, told_of_leftovers
from lotwalk.ledger.bearing.taking import take
from lotwalk.ledger.bearing.touching import handle, told_there
from lotwalk.ledger.evidence import BookEvidence
from lotwalk.ledger.model import Amendment, File, Pending, Receipt, Settings, SheetRef, UseRow
from lotwalk.ledger.read.spellings import at_once
from lotwalk.ledger.write.consequences import consequences
from lotwalk.ledger.write.derive import SHARING, derived, shared
from lotwalk.ledger.write.judging import Judging, judge_pending, notices_on
from lotwalk.ledger.write.names import Names
from lotwalk.ledger.write.rejudging import rejudged
from lotwalk.ledger.write.resolve import Resolver
from lotwalk.ledger.write.retyping import REASON, retyped
from lotwalk.ledger.write.standing import Standing
from lotwalk.store import tables
from lotwalk.store.engine import insert_rows
from lotwalk.store.nodes import node_of
from lotwalk.store.sql import in_force, select_keys, select_listed
from lotwalk.values.canonical import canonical
from lotwalk.values.merkle import Peaks, leaf_hash
from lotwalk.values.roles import Role
from lotwalk.values.times import DAY, show_when

"""Seconds. So far ahead a time may be: clocks differ, and so do zones."""


@dataclass(frozen=True, slots=True)
class Incoming:
    """One checked entry with its attached files, the amendment where it replaces another, and the settings it sets."""

    checked: Checked
    files: tuple[File, ...] = ()
    amendment: Amendment | None = None
    sheet: SheetRef | None = None
    line: int = 0
    sets: Settings | None = None


@dataclass(slots=True)
class Batch:
    """One append in one transaction. `settings` are those in force, or those that the first entry sets."""

    connection: Connection
    kinds: Kinds
    settings: Settings
    judging: Judging
    now: int
    typed_by: str
    salts: Sequence[bytes]

    def append(
        self,
        incoming: Sequence[Incoming],
        *,
        again: bool = False,
        problems: Sequence[Problem] = (),
        unread: Collection[str] = (),
        named: Sequence[Mention] = (),
    ) -> list[Receipt]:
        """Store the entries. Returns a receipt for each, then one for each earlier entry that was filed anew.

        `problems` are those already found in entries that could not be checked, `unread` the codes that those would
        have made, and `named` the things that they name, which are looked up all the same. Raises Refused with every
        problem; then nothing was written.
        """
        size, peaks = _end_of_log(self.connection)
        names = Names(self.connection, self.kinds)
        amended = {one.amendment.seq for one in incoming if one.amendment}
        standing = Standing(self.connection, names, self.kinds, amended)
        self._prefetch(incoming, names, standing)
        resolver = Resolver(names, self.kinds, standing, size, unread)
        evidence = BookEvidence(self.connection, self.kinds, names, self.now)
        pendings: list[Pending] = []
        found = list(problems)
        for number, one in enumerate(incoming, size + 1):
            resolver.lookup.last_entry = number - 1
            pending, wrong = self._resolve(number, one, resolver)
            found += wrong
            standing.note(pending)
            pendings.append(pending)
        ground = Ground(self.connection, self.kinds, names, standing, amended)
        ground.see(pendings)
        found += take(ground, pendings)
        for pending in pendings:
            evidence.add(pending)
        for pending in pendings:
            if leave(pending, evidence):
                evidence.add_again(pending)
        found += [problem for mention in named for problem in resolver.unknown(mention)]
        notices, alike = self._alike(pendings)
        found += [] if again else alike
        if found:
            raise Refused(sorted(found, key=lambda one: one.line))
        bed = Bed(ground, evidence, self.judging.keeps)
        bed.see(pendings)
        left = left_otherwise(pendings, ground, evidence, size + len(pendings))
        for pending in left:
            evidence.add(pending)
            notices[pending.seq].append(f"filed anew, since {LEFT}")
        borne = borne_otherwise([*pendings, *left], bed, evidence, size + len(pendings) + len(left))
        for pending in borne:
            evidence.add(pending)
            notices[pending.seq].append(f"filed anew, since {BORNE}")
        for pending in [*pendings, *left, *borne]:
            judge_pending(pending, self.judging, evidence)
        spelled = at_once(self.connection, self.kinds, pendings, amended)
        for pending in pendings:
            told = [*self._at_once(pending, evidence), *spelled.get(pending.seq, ())]
            notices[pending.seq] = [*told, *notices[pending.seq]]
            if pending.checked.at.start > self.now + DAY:
                notices[pending.seq].append(self._to_come(pending))
        stored = [*pendings, *left, *borne]
        stored += rejudged(stored, ground, self.judging, evidence, size + len(stored))
        followed = retyped(stored, self.judging, evidence, size + len(stored))
        for pending in followed:
            notices[pending.seq].append(f"filed anew, since {REASON}")
        stored += followed
        for seq, told in consequences(pendings, stored[len(pendings) :], self.judging, evidence).items():
            notices[seq] = sorted([*notices[seq], *told], key=urgency)
        handle(bed, stored)
        for pending in stored:
            notices[pending.seq] += told_there(self.kinds, pending)
        self._store(stored, names, peaks)
        return [Receipt(f"E{pending.number}", pending.verdict, tuple(notices[pending.seq])) for pending in stored]

    def file(self, pendings: Sequence[Pending]) -> list[Receipt]:
        """Store further versions of stored entries, numbered after the newest entry. Returns a receipt for each."""
        _, peaks = _end_of_log(self.connection)
        self._store(pendings, Names(self.connection, self.kinds), peaks)
        return [Receipt(f"E{pending.number}", pending.verdict) for pending in pendings]

    def _at_once(self, pending: Pending, evidence: BookEvidence) -> list[str]:
        """What is to be said of an entry before all else, the worst first."""
        told = list(notices_on(pending, self.judging, evidence))
        checked = pending.checked
        residue = pending.verdict and pending.verdict.residue(f"E{pending.number}", checked.at.written)
        told += [" ".join(residue)] if residue else []
        told += told_of_leftovers(pending, evidence)
        return sorted(told, key=urgency)

    def _to_come(self, pending: Pending) -> str:
        """What to say of a time that is still to come: a slip, most likely of the year, or a clock that is wrong."""
        today = show_when(self.now - self.now % 60, self.now - self.now % 60 + 59, self.settings.zone)
        return (
            f"its time, {pending.checked.at.written}, is still to come by this computer's clock ({today}); amend it if"
            " that is a slip"
        )

    def _prefetch(self, incoming: Sequence[Incoming], names: Names, standing: Standing) -> None:
        codes = {code for one in incoming for mention in one.checked.mentions for code in mention.codes}
        names.fetch(codes)
        taken = (
            thing
            for one in incoming
            for mention in one.checked.mentions
            if mention.amount is not None or mention.packs is not None or mention.field.stands
            for code in mention.codes
            if (thing := names.find(code))
        )
        standing.fetch(taken)

    def _resolve(self, seq: int, one: Incoming, resolver: Resolver) -> tuple[Pending, list[Problem]]:
        amended = one.amendment.seq if one.amendment else None
        if one.amendment and one.amendment.void:
            return Pending(
                seq,
                one.checked,
                [],
                [],
                [],
                (),
                record.alike(one.checked),
                (),
                one.files,
                one.sheet,
                one.line,
                one.amendment,
            ), []
        resolved = resolver.resolve(one.checked, amended)
        pending = Pending(
            seq,
            one.checked,
            resolved.uses,
            resolved.judged,
            resolved.following,
            resolved.silent,
            record.alike(one.checked),
            tuple(sorted(resolved.refs)),
            one.files,
            one.sheet,
            one.line if one.sheet else 0,
            one.amendment,
            sets=one.sets,
        )
        return pending, [replace(problem, line=problem.line or one.checked.line) for problem in resolved.problems]

    def _alike(self, pendings: Sequence[Pending]) -> tuple[dict[int, list[str]], list[Problem]]:
        """Notices on entries alike inside the batch, and problems for those alike to earlier ones in force."""
        notices: dict[int, list[str]] = defaultdict(list)
        fresh = [pending for pending in pendings if not pending.amendment]
        seen: dict[str, Pending] = {}
        for pending in fresh:
            other = seen.setdefault(pending.alike, pending)
            if other is not pending:
                notices[pending.seq].append(f"alike to E{other.seq} in the same batch; both were taken")
        sql = (
            "SELECT e.alike, e.first FROM {listed} JOIN entry e ON e.alike = j.value"
            f" WHERE e.void = 0 AND {in_force()}"
        )
        problems = [
            Problem(
                f"this {seen[key].checked.kind.title.lower()} is already in the book as E{first}",
                "`again: yes` (on a sheet) or --again if it really happened twice",
                line=seen[key].checked.line,
            )
            for key, first in select_listed(self.connection, sql, list(seen))
        ]
        return notices, problems

    def _store(self, pendings: Sequence[Pending], names: Names, peaks: Peaks) -> None:
        names.insert()
        self._store_files(pendings)
        prior = self._digests([p.amendment.seq for p in pendings if p.amendment])
        for pending in pendings:
            self._share(pending, names)
        entries: list[tuple[object, ...]] = []
        uses: list[tuple[object, ...]] = []
        for pending, salt in zip(pendings, self._salts(len(pendings)), strict=True):
            value = record.build(
                pending,
                self.settings,
                recorded_at=self.now,
                typed_by=self.typed_by,
                salt=salt,
                prior=prior.get(pending.amendment.seq, "") if pending.amendment else "",
            )
            content = canonical(value)
            digest = leaf_hash(content)
            prior[pending.seq] = digest.hex()
            peaks = peaks.append(digest)
            entries.append(_entry_row(pending, content.decode(), digest, peaks, self.now))
            uses.extend(use_rows(pending))
        insert_rows(self.connection, tables.entry, entries)
        insert_rows(self.connection, tables.use, uses)
        insert_rows(self.connection, tables.ref, [(p.seq, first) for p in pendings for first in p.refs])

    def _share(self, pending: Pending, names: Names) -> None:
        """Add the uses by which an entry shares a mix with its other loads, now that its verdict is known."""
        mixes = {use.thing.code: use.thing for use in pending.uses if use.role in SHARING}
        if not any(map(names.is_bath, mixes)):
            return
        told = shared([use.use() for use in pending.uses], pending.verdict, names.is_bath)
        pending.uses = [
            *pending.uses,
            *(UseRow(Role.SHARED, mixes[use.code], use.field, part=use.part) for use in told),
        ]

    def _salts(self, count: int) -> Sequence[bytes]:
        from secrets import token_bytes

        return self.salts[:count] if self.salts else [token_bytes(16) for _ in range(count)]

    def _store_files(self, pendings: Sequence[Pending]) -> None:
        for file in (file for pending in pendings for file in pending.files if file.content is not None):
            store_attachment(self.connection, file)

    def _digests(self, seqs: Sequence[int]) -> dict[int, str]:
        sql = "SELECT e.seq, e.digest FROM {listed} JOIN entry e ON e.seq = j.value"
        return {seq: bytes(digest).hex() for seq, digest in select_keys(self.connection, sql, seqs)}


def store_attachment(connection: Connection, file: File) -> None:
    """Store a file's content under its digest, once, with the name that it had first."""
    table = tables.attachment
    known = connection.execute(select(table.c.digest).where(table.c.digest == file.digest)).first()
    if not known:
        connection.execute(
            insert(table),
            {"digest": file.digest, "name": file.name, "media_type": file.media_type, "content": file.content},
        )


def use_rows(pending: Pending) -> list[tuple[object, ...]]:
    """Return the rows of `use` for an entry, in the order of its columns."""
    rows: list[tuple[object, ...]] = []
    when = (pending.checked.at.start, pending.checked.at.end, pending.group, pending.line)
    told = [(use.role, use.thing.cls, use.part, use) for use in pending.uses if use.role is not None]
    for part, role, use, measured in derived(told):
        amount = format(use.amount, "f") if measured and use.amount is not None else None
        unit = use.unit if measured else None
        rows.append((node_of(pending.seq, part), role.stored, use.thing.id, *when, amount, unit, int(use.assumed)))
    return rows


def _entry_row(pending: Pending, content: str, digest: bytes, peaks: Peaks, now: int) -> tuple[object, ...]:
    checked = pending.checked
    amendment = pending.amendment
    return (
        pending.seq,
        pending.number,
        amendment.seq if amendment else None,
        int(bool(amendment and amendment.void)),
        checked.kind.name,
        checked.at.start,
        checked.at.end,
        now,
        pending.sheet.id if pending.sheet else None,
        pending.line,
        pending.verdict.judge if pending.verdict else 0,
        " ".join(pending.silent),
        pending.alike,
        content,
        digest,
        peaks.root(),
        peaks.to_bytes(),
    )


_LAST = text("SELECT seq, peaks FROM entry ORDER BY seq DESC LIMIT 1")


def _end_of_log(connection: Connection) -> tuple[int, Peaks]:
    row = connection.execute(_LAST).first()
    return (row[0], Peaks.from_bytes(row[0], bytes(row[1]))) if row else (0, Peaks(0, ()))
