"""Packs that hold an allergen which their product does not declare."""

from collections.abc import Iterator

from lotwalk.checks.evidence import RecordsEvidence
from lotwalk.checks.records import Records
from lotwalk.finding import Finding
from lotwalk.judge.case import Case
from lotwalk.judge.dangers.allergens import PACKED, Crops, allergens, is_pack


def findings(records: Records) -> Iterator[Finding]:
    """Yield what was told of each packing when it was recorded, as the book stands now."""
    evidence = records.share(RecordsEvidence)
    crops = Crops(evidence)
    kinds = [records.kinds[name] for name in records.kinds.names]
    packing = [kind.name for kind in kinds if kind.notice == PACKED or "product" in kind.fields]
    for record in records.of_kinds(packing):
        if is_pack(record, records.kind(record).notice):
            yield from allergens(Case(record, (), evidence, records.rules), crops)
