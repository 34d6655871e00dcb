"""A small record book in memory, with just what a judge may ask of a ledger."""

from zoneinfo import ZoneInfo

from lotwalk.judge import Judge, RuleSet
from lotwalk.ledger.entry import Content, Entry, NewText
from lotwalk.ledger.evidence_model import Registration, Thing
from lotwalk.ledger.use import Use
from lotwalk.values.codes import expand
from lotwalk.values.roles import MAKES, Role
from lotwalk.values.times import read_when
from lotwalk.values.units import Units

UTC = ZoneInfo("UTC")
RULES = RuleSet.load("us")


def ppm(text):
    return Units.load("us").read_range(text, ("concentration",))


def least(text):
    return Units.load("us").read(text, ("concentration",))


def time(text):
    return Units.load("us").read(text, ("time",))


def degrees(text):
    return Units.load("us").read(text, ("temperature",))


def when(text):
    return read_when(text, UTC)


class Book:
    """Entries with what they use and tell, in a time zone. `rules` may be set to another rule set."""

    def __init__(self, rules=RULES, zone=UTC):
        self.rules = rules
        self.zone = zone
        self.entries = []
        self.written = 0
        self.things = {}
        self.told = []

    def add(self, kind, at, values=None, *, uses=(), tells=(), line=0, group=0):
        """Add an entry; `uses` are (role, field, codes), `tells` are (fact, codes)."""
        time = read_when(at, self.zone)
        self.written += 1
        number = self.written
        found = tuple(
            Use(Role.named(role) if role else None, code, field)
            for role, field, codes in uses
            for code in expand(codes)
        )
        text = NewText(Content(at, ("TO",), dict(values or {}), found, (), self.zone))
        entry = Entry(number, number, kind, time.start, time.end, group, line, number, text)
        self.entries.append(entry)
        self.told += [(fact, code, entry) for fact, codes in tells for code in codes.split(", ")]
        return entry

    def drop(self, entry):
        """Void an entry."""
        self.entries.remove(entry)
        self.told = [told for told in self.told if told[2] is not entry]

    # What a judge may ask.

    def maker(self, code):
        making = [e for e in self.entries if any(u.role in MAKES and u.code == code for u in e.uses)]
        return making[-1] if making else None

    def thing(self, code):
        return self.things.get(code)

    def taking(self, code):
        found = [one for one in self.entries if any(u.role is Role.TOOK and u.code == code for u in one.uses)]
        return sorted(found, key=lambda one: (one.start, one.end, one.line or one.seq))

    def telling(self, fact, code):
        found = [entry for told, about, entry in self.told if told == fact and code in expand(about, entries=True)]
        return sorted(found, key=lambda entry: (entry.start, entry.end, entry.line))

    def uses_of(self, code):
        contact = (Role.TOUCHED, Role.CLEARED, None)
        found = [e for e in self.entries if any(u.role in contact and u.code == code for u in e.uses)]
        return sorted(found, key=lambda entry: (entry.start, entry.end, entry.line))

    def fillings(self, entry):
        return []

    def still_in(self, code, before):
        return iter(())

    def registrations(self, code):
        making = [e for e in self.entries if any(u.role in MAKES and u.code == code for u in e.uses)]
        return [Registration(entry.number, entry.recorded_at, entry) for entry in making]

    def by_number(self, number):
        return next((entry for entry in self.entries if entry.number == number), None)

    # What the tests of one subject share.

    def equipment(self, codes, **values):
        for code in expand(codes):
            self.things[code] = Thing(code, "medium", "item")
        return self.add("equipment", "2026-01-01", {"type": "medium", **values}, uses=[("names", "codes", codes)])

    def receipt(self, lot="BL-1", at="2026-01-02", label=None, **values):
        uses = [("made", "lot", lot)] + ([("about", "label", label)] if label else [])
        told = {"product": "Bleach", "type": "sanitiser", "expires": "2027-01-01", **values}
        return self.add("supplies-receipt", at, {k: v for k, v in told.items() if v is not None}, uses=uses)

    def solution(self, lot="SOL-1", product="BL-1", at="2026-03-02 09:00", **values):
        tells = [("measured", lot)] if "reading" in values else []
        uses = [("made", "lot", lot), ("took", "product", product)]
        place = {name: values.pop(name) for name in ("group", "line") if name in values}
        return self.add("solution", at, values, uses=uses, tells=tells, **place)

    def washing(self, items, at="2026-03-02 17:00", *, clean=True, **place):
        fact = "washed" if clean else "unclean"
        return self.add("washing", at, {"method": "scraped"}, uses=[("touched", "items", items)],
                        tells=[(fact, items)], **place)  # fmt: skip

    def reading(self, at, reading, solution="SOL-1", strips=None, **place):
        uses = [("about", "solution", solution)] + ([("about", "with", strips)] if strips else [])
        return self.add(
            "solution-check", at, {"reading": ppm(reading)}, uses=uses, tells=[("measured", solution)], **place
        )

    def use(self, items, at, kind="harvest", **place):
        return self.add(kind, at, {}, uses=[("touched", "equipment", items)], **place)

    def dip(self, items, at="2026-03-02 17:40", solution="SOL-1", rinse=None, strips=None, line=0, group=0, **values):
        uses = [("", "items", items)] + ([("took", "solution", solution)] if solution else [])
        uses += [("drew", "rinse_water", rinse)] if rinse else []
        uses += [("about", "with", strips)] if strips else []
        given = {"contact": time("2 min"), **values}
        tells = [("measured", solution)] if "reading" in values and solution else []
        kept = {name: value for name, value in given.items() if value is not None}
        return self.add("sanitising", at, kept, uses=uses, tells=tells, line=line, group=group)

    def verdict(self, entry, name="sanitising", field="items"):
        codes = [use.code for use in entry.uses if use.field == field]
        return Judge(self.rules).judge(name, entry, codes, self)

    def water(self, code="WELL", **values):
        return self.add("water-source", "2026-01-01", {"type": "ground", **values}, uses=[("names", "code", code)])

    def test(self, at, result, source="WELL", **values):
        uses = [("", "source", source)]
        return self.add("water-test", at, {"e_coli": result, **values}, uses=uses, tells=[("tested", source)])

    def mended(self, at, about):
        return self.add("corrective-action", at, {"about": [about], "closed": at[:10]}, tells=[("mended", about)])

    def water_verdict(self, entry):
        return self.verdict(entry, "water", "source")


def clean_book(**receipt):
    """Return a book in which M-001..M-024 are washed, and SOL-1 is made of a bleach with a label of 100-200 ppm."""
    book = Book()
    book.equipment("M-001..M-024")
    numbers = {"label_min": least("100 ppm"), "label_max": least("200 ppm"), "label_contact": time("2 min")}
    book.receipt(**{"active": "sodium hypochlorite", **numbers, **receipt})
    book.solution()
    book.washing("M-001..M-024")
    return book


def breaks(verdict):
    return [f"{reason}" for reason in verdict.reasons if reason.kind == "break"]


def of_kind(verdict, kind):
    return [f"{reason}" for reason in verdict.reasons if reason.kind == kind]
