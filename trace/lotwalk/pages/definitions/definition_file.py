"""Reads the keys of a report definition, with every mistake named by file, line and key."""

from collections.abc import Mapping

from lotwalk.errors import NotUnderstood, Refused
from lotwalk.judge.ruleset.limits import CONFIDENCES
from lotwalk.kinds.library import Kinds
from lotwalk.pages.cautions import caution
from lotwalk.pages.definitions.definition_words import Collected, near
from lotwalk.pages.definitions.model import Citation, Definition, Paragraph, Section, Where
from lotwalk.pages.definitions.section_file import KEYS as SECTION_KEYS
from lotwalk.pages.definitions.section_file import VERDICT, SectionReader
from lotwalk.values.text import Fields, Written

_KEYS = (
    "title",
    "based_on",
    "subject",
    "language",
    "page",
    "asks",
    *SECTION_KEYS,
    "sections",
    "paragraphs",
    "key",
    VERDICT,
    "cautions",
    "legend",
    "citations",
    "signatures",
)
_NEEDED = ("title", "subject", "cautions", "signatures", "empty")
_PAGES = ("portrait", "landscape")
_PARAGRAPH_KEYS = (
    "rule",
    "says",
    "confidence",
    "rules",
    "kinds",
    "where",
    "when",
    "report",
    "outside",
    "checks",
    "weeks",
)
_MOST_SIGNATURES = 3
_LONGEST_SIGNATURE = 40


def read_definition(name: str, written: Fields, sources: Mapping[str, str], source: str, kinds: Kinds) -> Definition:
    """Return the definition that these keys hold; `sources` are the files that the keys come from.

    Raises Refused with every mistake.
    """
    return _Reader(Collected(written, sources, source), kinds).definition(name)


class _Reader:
    """Reads one report definition, collecting what is wrong with it."""

    def __init__(self, collected: Collected, kinds: Kinds) -> None:
        self._collected = collected
        self._written = collected.written
        self._library = kinds
        self._readers: list[SectionReader] = []

    def definition(self, name: str) -> Definition:
        """Return the definition. Raises Refused."""
        collected, written = self._collected, self._written
        for key in written:
            if key not in _KEYS:
                what = f"a report has no key {key}{near(key, _KEYS)}"
                collected.wrong(key, what, f"one of {', '.join(_KEYS)}")
        for key in _NEEDED:
            if key not in written:
                collected.wrong(key, "it is missing", "every report has one")
        empty = self._text("empty")
        sections = tuple(self._sections(empty))
        explained = self._explained()
        passed, failed = self._verdict(sections)
        signatures = self._words("signatures")
        if len(signatures) > _MOST_SIGNATURES or any(len(who) > _LONGEST_SIGNATURE for who in signatures):
            room = f"at most {_MOST_SIGNATURES}, each of {_LONGEST_SIGNATURE} letters, to leave room for signing"
            collected.wrong("signatures", "these are too many or too long", room)
        page = collected.choice("page", written.get("page", "portrait"), _PAGES)
        definition = Definition(
            name=name,
            title=self._text("title"),
            subject=self._text("subject"),
            language=self._text("language", "en"),
            landscape=page == "landscape",
            asks=self._asks(),
            sections=sections,
            paragraphs=tuple(self._paragraphs()),
            key=explained,
            passed=passed,
            failed=failed,
            cautions=tuple(self._cautions()),
            legend=self._words("legend"),
            citations=tuple(self._citations()),
            signatures=signatures,
            empty=empty,
        )
        if collected.problems:
            raise Refused(collected.problems)
        return definition

    def _text(self, key: str, default: str = "") -> str:
        return self._collected.plain(key, self._written[key]) if key in self._written else default

    def _words(self, key: str) -> tuple[str, ...]:
        return self._collected.listed(key, self._written.get(key, []))

    def _asks(self) -> tuple[str, ...]:
        names = self._collected.one_or_more("asks", self._written.get("asks", []))
        known = {*self._library.things, *(thing.cls for thing in self._library.things.values())}
        for name in names:
            self._collected.choice("asks", name, sorted(known))
        return names

    def _sections(self, empty: str) -> list[Section]:
        shared = {key: self._written[key] for key in SECTION_KEYS if key in self._written}
        if "sections" not in self._written:
            self._readers.append(SectionReader(self._collected, self._library, "", Fields(shared)))
            return [self._readers[-1].section(empty)]
        found = []
        listed = self._collected.rows("sections", self._written["sections"], "a list of sections")
        for number, one in enumerate(listed, 1):
            key = f"sections[{number}]"
            own = self._collected.mapping(key, one, ("title", *SECTION_KEYS))
            if "title" not in own:
                self._collected.wrong(f"{key}.title", "it is missing", "every section has one", one)
            reader = SectionReader(self._collected, self._library, f"{key}.", Fields({**shared, **own}, line=own.line))
            self._readers.append(reader)
            found.append(reader.section(empty))
        return found

    def _explained(self) -> tuple[str, ...]:
        explained = self._words("key")
        for value in explained:
            if value.count(".") != 1:
                self._collected.wrong(
                    "key", f"{value} explains nothing", "a field and one of what it names, such as by.name"
                )
            holding = [
                reader
                for reader in self._readers
                if any(value.partition(".")[0] in kind.fields for kind in reader.kinds)
            ]
            for reader in (holding or self._readers)[:1]:
                reader.check_value("key", value)
        return explained

    def _verdict(self, sections: tuple[Section, ...]) -> tuple[str, str]:
        shown = any(VERDICT in column.values for section in sections if section.kinds for column in section.columns)
        if VERDICT not in self._written:
            if shown:
                expected = "the words for passed and failed, since a column shows them"
                self._collected.wrong(VERDICT, "it is missing", expected)
            return "", ""
        words = self._collected.mapping(VERDICT, self._written[VERDICT], ("passed", "failed"))
        passed, failed = (self._collected.plain(f"{VERDICT}.{key}", words.get(key, "")) for key in ("passed", "failed"))
        return passed, failed

    def _cautions(self) -> list[tuple[str, str]]:
        """Cautions are a mapping of a subject to a sentence, or a list of those and of names in `cautions.yaml`."""
        value = self._written.get("cautions", Fields())
        listed = value if isinstance(value, list) else [value]
        if not all(listed) or not listed:
            if "cautions" in self._written:
                expected = "names of cautions, or a subject and a sentence for each"
                self._collected.wrong("cautions", "there is none", expected)
            return []
        found = []
        for one in listed:
            if isinstance(one, Fields):
                found += [(name, self._collected.plain(f"cautions.{name}", text)) for name, text in one.items()]
                continue
            try:
                known = caution(self._collected.plain("cautions", one))
                found.append((known.subject, known.says))
            except NotUnderstood as why:
                self._collected.wrong("cautions", why.what, why.expected, one)
        return found

    def _citations(self) -> list[Citation]:
        listed = self._collected.rows("citations", self._written.get("citations", []), "rule, says and confidence")
        return [
            self._citation(key, self._collected.mapping(key, one, ("rule", "says", "confidence")), one)
            for key, one in ((f"citations[{number}]", one) for number, one in enumerate(listed, 1))
        ]

    def _citation(self, key: str, fields: Fields, written: Written) -> Citation:
        confidence = str(fields.get("confidence", ""))
        if confidence not in CONFIDENCES:
            what = f"{confidence or 'nothing'} is not known"
            self._collected.wrong(f"{key}.confidence", what, ", ".join(CONFIDENCES), written)
        rule, says = (self._collected.plain(f"{key}.{part}", fields.get(part, "")) for part in ("rule", "says"))
        return Citation(rule, says, confidence)

    def _paragraphs(self) -> list[Paragraph]:
        listed = self._collected.rows("paragraphs", self._written.get("paragraphs", []), "a list of paragraphs")
        return [self._paragraph(f"paragraphs[{number}]", one) for number, one in enumerate(listed, 1)]

    def _paragraph(self, key: str, written: Written) -> Paragraph:
        collected = self._collected
        fields = collected.mapping(key, written, _PARAGRAPH_KEYS)
        kinds = collected.one_or_more(f"{key}.kinds", fields.get("kinds", []))
        if not kinds and "outside" not in fields:
            collected.wrong(key, "it holds neither kinds nor outside", "kinds of record, or why none holds it", written)
        for name in kinds:
            collected.choice(f"{key}.kinds", name, self._library.names, written)
        when = fields.get("when", Fields())
        needed = Fields(when) if isinstance(when, Fields) else Fields()
        kind = str(needed.pop("kind", ""))
        if "when" in fields:
            collected.choice(f"{key}.when.kind", kind, self._library.names, written)
        return Paragraph(
            citation=self._citation(key, fields, written),
            rules=collected.one_or_more(f"{key}.rules", fields.get("rules", [])),
            kinds=kinds,
            where=self._where(f"{key}.where", fields.get("where", Fields())),
            when=kind,
            when_where=self._where(f"{key}.when", needed),
            report=str(fields.get("report", "")),
            checks=collected.one_or_more(f"{key}.checks", fields.get("checks", [])),
            weeks=collected.yes(f"{key}.weeks", fields.get("weeks", "no"), written),
            outside=" ".join(str(fields.get("outside", "")).split()),
        )

    def _where(self, key: str, value: Written) -> Where:
        if not isinstance(value, Fields):
            self._collected.wrong(key, "this is no mapping", "fields with the words that they hold", value)
            return ()
        return tuple((name, self._collected.one_or_more(f"{key}.{name}", words)) for name, words in value.items())
