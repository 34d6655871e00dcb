"""Seed that was sown: its pathogen test on file, in force and of this very lot, and whether it was treated."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from lotwalk.checks.lots import Lots
from lotwalk.checks.records import Records, Told
from lotwalk.checks.subjects.certificates import Paper, papers
from lotwalk.finding import Cause, Finding, Severity, finding
from lotwalk.judge.words import listed, names_one_of
from lotwalk.ledger.entry import Entry
from lotwalk.science.results import NOT_SHOWN, outcome
from lotwalk.values.roles import Role

TESTS = "papers.seed_tests"
FIT = "papers.seed_fit_treatments"
UNFIT = "papers.seed_unfit_treatments"
MISSING = "seed-paper"


def findings(records: Records) -> Iterator[Finding]:
    """Yield what is wrong with the papers of each seed lot that was sown, and every sowing of treated seed."""
    lots = records.share(Lots)
    sown: dict[str, list[Entry]] = {}
    for told in records.telling("sown"):
        for code in lots.bought(told.code):
            if told.record not in sown.setdefault(code, []):
                sown[code].append(told.record)
    soaked = {told.code for told in records.telling("sown")}
    wanted = records.rules.words(TESTS)
    known = [paper for paper in papers(records) if paper.type in wanted]
    treated = records.told_of("treated")
    for code, sowings in sorted(sown.items()):
        made = [one for sowing in sowings for one in lots.made_by(sowing)]
        batches = [one for one in made if one not in soaked]
        seed = _Sown(records, code, sowings, batches or made)
        mine = [paper for paper in known if paper.covers == code]
        if wanted:
            yield from _papers(seed, mine) if mine else [_missing(seed, known)]
        for told in treated.get(code, ()):
            yield from _treated(records, lots, told, sowings)


@dataclass(frozen=True, slots=True)
class _Sown:
    """One bought lot of seed, the sowings that it went into, and the batches that they made."""

    records: Records
    code: str
    sowings: Sequence[Entry]
    batches: Sequence[str]

    @property
    def into(self) -> str:
        return f"sown from {self.sowings[0].at} on ({listed(self.batches)})"

    def finding(
        self,
        name: str,
        rest: Sequence[str],
        text: str,
        do: str,
        cause: Cause | None = None,
        severity: Severity | None = None,
    ) -> Finding:
        """A finding about the lot; what `rest` names stands in its id, or beside it."""
        span = (self.sowings[0].start, max(one.end for one in self.sowings))
        return finding(
            name,
            (self.code, *rest[:1]) if name != MISSING else (self.code,),
            about=(self.code, *rest),
            text=text,
            do=do,
            basis=self.records.basis(TESTS),
            span=span,
            closers=(self.code,),
            cause=cause,
            severity=severity,
        )

    def unheld(self, mine: Sequence[Paper]) -> list[Entry]:
        """The sowings on whose day no paper was in force."""
        days = [(one, self.records.date(one.start)) for one in self.sowings]
        return [one for one, day in days if not any(paper.holds_on(day) for paper in mine)]


def _papers(seed: _Sown, mine: Sequence[Paper]) -> Iterator[Finding]:
    for paper in mine:
        says = outcome(paper.result, f"{paper.type} {paper.test}")
        if says == "found":
            yield seed.finding(
                "seed-failed",
                (paper.code, *seed.batches),
                f"The paper {paper.code} says of {seed.code}: {paper.result}. It was {seed.into}.",
                f"Put {seed.code} and what grew of it on hold, and ask the supplier and the laboratory.",
                Cause(
                    ("seed-failed", paper.code),
                    f"The paper {paper.code} says of seed that was sown: {paper.result}.",
                    "Put the seed and what grew of it on hold, and ask the supplier and the laboratory.",
                    (paper.code,),
                ),
            )
        elif says != "not found":
            told = f"says {paper.result!r}, which does not plainly deny a germ" if paper.result else "names no result"
            if says == "not shown":
                told = f"says {paper.result!r}; that {NOT_SHOWN}"
            yield seed.finding(
                "seed-result",
                (paper.code,),
                f"The paper {paper.code} of {seed.code} {told}. It was {seed.into}.",
                f"Write the result into {paper.code} as the laboratory put it, such as not detected in 25 g.",
            )
    out = seed.unheld(mine)
    if mine and out:
        paper, day = mine[-1], seed.records.date(out[0].start)
        late = all(other.issued > day for other in mine)
        why = f"was not yet issued ({paper.issued})" if late else f"had run out ({paper.expires})"
        yield seed.finding(
            "seed-paper-date",
            (out[0].name, paper.code, *(one.name for one in out[1:])),
            f"{seed.code} was sown on {out[0].at} ({out[0].name}), when its paper {paper.code} {why}.",
            f"Sow nothing of {seed.code} without a paper in force, and ask the supplier for one of that time.",
            severity="minor" if late else "major",
        )


def _missing(seed: _Sown, known: Sequence[Paper]) -> Finding:
    """No paper names the lot. One may name the same lot of the supplier by another code, or another lot of theirs."""
    same, others = _alike(seed.records, seed.code, known)
    if same:
        paper = same[0]
        return seed.finding(
            MISSING,
            (paper.code, paper.covers),
            f"No paper names {seed.code}, {seed.into}. {paper.code} names {paper.covers}, the supplier's same lot.",
            f"Amend {paper.code} so that it covers {seed.code} too, if the number on the bag is that on the paper.",
            severity="minor",
        )
    text = f"{seed.code} was {seed.into} without a paper of a pathogen test."
    if others:
        told = " and ".join(f"{paper.code} is of {paper.covers}" for paper in others[:2])
        text += f" {told}, another lot of that supplier, and says nothing of this one."
    return seed.finding(
        MISSING,
        tuple(paper.code for paper in others[:2]),
        text,
        f"Ask the supplier for the test of this lot, and record it as a certificate that covers {seed.code}.",
        Cause(
            (MISSING, seed.code),
            "Seed was sown without a paper of a pathogen test.",
            "Ask the supplier for the test of this lot, and record it as a certificate that covers it.",
            tuple(paper.code for paper in others[:2]),
            f"From {seed.sowings[0].at} on: {listed(seed.batches)}.",
            alone=True,
        ),
    )


def _alike(records: Records, code: str, known: Sequence[Paper]) -> tuple[list[Paper], list[Paper]]:
    """Papers of other codes: of the same lot of the supplier, and of other lots of the same crop from that supplier."""
    mine = _origin(records, code)
    same: list[Paper] = []
    others: list[Paper] = []
    for paper in known:
        theirs = _origin(records, paper.covers)
        if mine["lot"] and mine["lot"] == theirs["lot"]:
            same.append(paper)
        elif mine["supplier"] == theirs["supplier"] and mine["crop"] == theirs["crop"]:
            others.append(paper)
    return same, others


def _origin(records: Records, code: str) -> Mapping[str, object]:
    """Where a lot came from: the shared thing that stands for the supplier's own lot, the supplier, and the crop."""
    thing, made = records.thing(code), records.maker(code)
    uses = made.version.uses if made else ()
    shared = records.kind(made).shared if made else None
    took = [records.thing(use.code) for use in uses if use.role is Role.TOOK]
    return {
        "lot": {one.code for one in took if one and shared and one.kind == shared.kind},
        "supplier": {use.code for use in uses if use.role is Role.FROM},
        "crop": thing.type if thing else None,
    }


def _treated(records: Records, lots: Lots, told: Told, sowings: Sequence[Entry]) -> Iterator[Finding]:
    treatment = str(told.scope.get("treatment") or "")
    fit = names_one_of(treatment, records.rules.words(FIT))
    unfit = names_one_of(treatment, records.rules.words(UNFIT))
    if UNFIT not in records.rules.limits or (fit and not unfit):
        return
    for sowing in sowings:
        batches = lots.made_by(sowing)
        yield finding(
            "treated-seed",
            (told.code, sowing.name),
            about=(told.code, sowing.name, *batches),
            text=f"{listed(batches)} was sown on {sowing.at} ({sowing.name}) with {told.code}, of which the treatment"
            f" is written as {treatment!r}. "
            + ("Seed so treated is not for food." if unfit else "Nothing says that seed so treated is fit for food."),
            do=f"Sell nothing of {listed(batches)}; ask the supplier what is on the seed, and record what became of"
            f" it as a corrective action about {listed([*batches, told.code])}.",
            basis=_words_basis(records, UNFIT if unfit else FIT),
            span=sowing.span,
            closers=(told.code, sowing.name, *batches),
            cause=Cause(
                ("treated-seed", told.code),
                f"{told.code} was sown, and its treatment is written as {treatment!r}.",
                "Sell nothing of it; ask the supplier what is on the seed, and record what became of each lot.",
                (told.code,),
            ),
        )


def _words_basis(records: Records, key: str) -> str:
    """The rule without its long list of words."""
    limit = records.rules.limits.get(key)
    return f"{key}: {limit.source}" if limit else key
