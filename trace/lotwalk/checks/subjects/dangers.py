"""What may have hurt somebody: what was put together that must never meet, and mixes so acid that gas came off."""

from collections.abc import Iterator

from lotwalk.checks.evidence import RecordsEvidence
from lotwalk.checks.records import Records
from lotwalk.finding import Finding
from lotwalk.judge.case import Case
from lotwalk.judge.dangers.chemicals import dangers
from lotwalk.judge.dangers.residue import too_strong
from lotwalk.values.roles import Role

_NAMING = (Role.TOOK, Role.MADE, Role.ABOUT)


def findings(records: Records) -> Iterator[Finding]:
    """Yield what each entry was found to tell when it was recorded, as the book stands now."""
    evidence = records.share(RecordsEvidence)
    poured = {name for name, kind in records.kinds.things.items() if kind.farm_wide_types}
    for record in records.all:
        named = (records.thing(code) for code in record.version.codes(*_NAMING))
        if any(thing and thing.kind in poured for thing in named):
            case = Case(record, (), evidence, records.rules)
            yield from dangers(case)
            yield from too_strong(case, records.kind(record).verdict or "")
