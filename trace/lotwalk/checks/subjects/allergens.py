"""Packs that hold an allergen which their product does not declare."""

from collections.abc import Iterator

from lotwalk.checks.evidence import RecordsEvidence
from lotwalk.checks.records import Records
from lotwalk.finding import Finding, finding
from lotwalk.judge.case import Case
from lotwalk.judge.dangers.allergen_list import allergen_list
from lotwalk.judge.dangers.allergens import PACKED, Crops, allergens, is_pack


def findings(records: Records) -> Iterator[Finding]:
    """Yield what was told of each packing when it was recorded, as the book stands now."""
    evidence = records.share(RecordsEvidence)
    crops = Crops(evidence)
    kinds = [records.kinds[name] for name in records.kinds.names]
    packing = [kind.name for kind in kinds if kind.notice == PACKED or "product" in kind.fields]
    packs = [one for one in records.of_kinds(packing) if is_pack(one, records.kind(one).notice)]
    if packs and (shipped := allergen_list(records.rules).shipped):
        yield _without_list(records, shipped)
    for record in packs:
        yield from allergens(Case(record, (), evidence, records.rules), crops)


def _without_list(records: Records, shipped: str) -> Finding:
    title = records.rules.title
    return finding(
        "no-allergen-list",
        (),
        about=(),
        text=f"The rule set in force ({title}) has no list of crops that carry an allergen: it is from before there"
        f" was one. Packs are held against the list of `{shipped}` that comes with this program.",
        do="Look whether that is the list of your country, and take a rule set that has one: `lotwalk record farm"
        f" --rules {shipped}` with the farm's other settings.",
        basis=f"the rule set {shipped}, allergens",
    )
