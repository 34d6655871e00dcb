"""Reads the keys of a report definition, with every mistake named by file, line and key."""

import difflib
from collections.abc import Collection, Mapping

from lotwalk.errors import NotUnderstood, Problem, Refused
from lotwalk.judge.limits import CONFIDENCES
from lotwalk.kinds.library import Kinds
from lotwalk.kinds.model import Field, Kind
from lotwalk.pages.cautions import caution
from lotwalk.pages.model import Citation, Column, Definition
from lotwalk.values.text import Fields, Written, line_of

VERDICT = "verdict"
WORDS: Mapping[str, str] = {
    "entry": "the entry's name, such as E12",
    "kind": "the kind of record",
    VERDICT: "what the book makes of it",
}
"""Values that are no field of a record."""

_KEYS = (
    "title",
    "based_on",
    "subject",
    "language",
    "page",
    "kinds",
    "columns",
    "below",
    "key",
    VERDICT,
    "cautions",
    "legend",
    "citations",
    "signatures",
    "empty",
)
_NEEDED = ("title", "subject", "kinds", "columns", "cautions", "signatures", "empty")
_COLUMN_KEYS = ("title", "value", "width", "joined", "labelled", "mark")
_PAGES = ("portrait", "landscape")
_MOST_COLUMNS = 16
_MOST_SIGNATURES = 3
_LONGEST_SIGNATURE = 40


def read_definition(name: str, written: Fields, sources: Mapping[str, str], source: str, kinds: Kinds) -> Definition:
    """Return the definition that these keys hold; `sources` are the files that the keys come from.

    Raises Refused with every mistake.
    """
    return _Reader(written, sources, source, kinds).definition(name)


class _Reader:
    """Reads one report definition, collecting what is wrong with it."""

    def __init__(self, written: Fields, sources: Mapping[str, str], source: str, kinds: Kinds) -> None:
        self._written = written
        self._sources = sources
        self._source = source
        self._library = kinds
        self._kinds: list[Kind] = []
        self._problems: list[Problem] = []

    def definition(self, name: str) -> Definition:
        """Return the definition. Raises Refused."""
        for key in self._written:
            if key not in _KEYS:
                self._wrong(key, f"a report has no key {key}{_near(key, _KEYS)}", f"one of {', '.join(_KEYS)}")
        for key in _NEEDED:
            if key not in self._written:
                self._wrong(key, "it is missing", "every report has one")
        self._read_kinds()
        columns = tuple(self._columns())
        below = self._words("below")
        for value in below:
            self._check_value("below", value)
        explained = self._words("key")
        for value in explained:
            if value.count(".") != 1:
                self._wrong("key", f"{value} explains nothing", "a field and one of what it names, such as by.name")
            self._check_value("key", value)
        passed, failed = self._verdict(any(VERDICT in column.values for column in columns))
        signatures = self._words("signatures")
        if len(signatures) > _MOST_SIGNATURES or any(len(who) > _LONGEST_SIGNATURE for who in signatures):
            room = f"at most {_MOST_SIGNATURES}, each of {_LONGEST_SIGNATURE} letters, to leave room for signing"
            self._wrong("signatures", "these are too many or too long", room)
        page = self._text("page", "portrait")
        if page not in _PAGES:
            self._wrong("page", f"{page} is not known", " or ".join(_PAGES))
        definition = Definition(
            name=name,
            title=self._text("title"),
            subject=self._text("subject"),
            language=self._text("language", "en"),
            landscape=page == "landscape",
            kinds=tuple(kind.name for kind in self._kinds),
            columns=columns,
            below=below,
            key=explained,
            passed=passed,
            failed=failed,
            cautions=tuple(self._cautions()),
            legend=self._words("legend"),
            citations=tuple(self._citations()),
            signatures=signatures,
            empty=self._text("empty"),
        )
        if self._problems:
            raise Refused(self._problems)
        return definition

    def _wrong(self, key: str, what: str, expected: str, written: Written | None = None) -> None:
        top = key.partition(".")[0].partition("[")[0]
        line = line_of(written) or line_of(self._written.get(top))
        self._problems.append(Problem(what, expected, key, self._sources.get(top, self._source), line))

    def _text(self, key: str, default: str = "") -> str:
        value = self._written.get(key, default)
        return self._plain(key, value) if key in self._written else default

    def _plain(self, key: str, value: Written) -> str:
        if not isinstance(value, str) or not value.strip():
            self._wrong(key, "this holds no words", "a few words", value)
            return ""
        return " ".join(value.split())

    def _words(self, key: str) -> tuple[str, ...]:
        return self._listed(key, self._written.get(key, []))

    def _listed(self, key: str, value: Written) -> tuple[str, ...]:
        if not isinstance(value, list):
            self._wrong(key, "this is no list", "a list of words", value)
            return ()
        return tuple(self._plain(f"{key}[{number}]", word) for number, word in enumerate(value, 1))

    def _mapping(self, key: str, value: Written, known: Collection[str]) -> Fields:
        if not isinstance(value, Fields):
            self._wrong(key, "this is no mapping", ", ".join(known), value)
            return Fields()
        for name in value:
            if name not in known:
                self._wrong(f"{key}.{name}", f"{name} is not known here{_near(name, known)}", ", ".join(known), value)
        return value

    def _read_kinds(self) -> None:
        names = self._words("kinds")
        if "kinds" in self._written and not names:
            self._wrong("kinds", "there is none", "at least one kind of record")
        for name in names:
            try:
                self._kinds.append(self._library[name])
            except NotUnderstood as why:
                self._wrong("kinds", why.what, why.expected)

    def _columns(self) -> list[Column]:
        value = self._written.get("columns", [])
        if not isinstance(value, list) or not 1 <= len(value) <= _MOST_COLUMNS:
            if "columns" in self._written:
                self._wrong("columns", "this is no list of columns", f"1 to {_MOST_COLUMNS} columns")
            return []
        return [self._column(f"columns[{number}]", one) for number, one in enumerate(value, 1)]

    def _column(self, key: str, written: Written) -> Column:
        fields = self._mapping(key, written, _COLUMN_KEYS)
        values = fields.get("value", "")
        names = (values,) if isinstance(values, str) else self._listed(f"{key}.value", values)
        for name in names:
            self._check_value(f"{key}.value", name, written)
        return Column(
            title=self._plain(f"{key}.title", fields.get("title", "")),
            values=tuple(names),
            width=self._width(f"{key}.width", fields.get("width", ""), written),
            joined=self._yes(f"{key}.joined", fields.get("joined", "no"), written),
            labelled=self._yes(f"{key}.labelled", fields.get("labelled", "no"), written),
            mark=self._listed(f"{key}.mark", fields.get("mark", [])),
        )

    def _yes(self, key: str, value: Written, column: Written) -> bool:
        if value not in ("yes", "no"):
            self._wrong(key, f"{value} is neither yes nor no", "yes or no", column)
        return value == "yes"

    def _width(self, key: str, value: Written, column: Written) -> float:
        digits = str(value)
        if not (digits.isascii() and digits.isdigit() and 1 <= int(digits[:4]) <= 100 and len(digits) <= 3):
            self._wrong(key, f"{value or 'nothing'} is no width", "a whole number from 1 to 100, its share", column)
            return 1
        return int(digits)

    def _check_value(self, key: str, value: str, written: Written | None = None) -> None:
        """A value is a word of `WORDS`, a field, or fields of what a field names: `solution.product`."""
        if value in WORDS or not self._kinds:
            return
        first, *rest = value.split(".")
        fields: list[Field] = [kind.fields[first] for kind in self._kinds if first in kind.fields]
        if not fields:
            known = sorted({*WORDS, *(name for kind in self._kinds for name in kind.fields)})
            self._wrong(key, f"no kind of this report has a field {first}{_near(first, known)}", "a field", written)
        elif rest and not all(field.form == "codes" for field in fields):
            self._wrong(key, f"{first} names no thing, so {value} leads nowhere", "a field that holds codes", written)
        for name in rest:
            if not any(name in self._library[kind].fields for kind in self._library.names):
                self._wrong(key, f"no kind of record has a field {name}", "a field of what made or names it", written)

    def _verdict(self, needed: bool) -> tuple[str, str]:
        if VERDICT not in self._written:
            if needed:
                self._wrong(VERDICT, "it is missing", "the words for passed and failed, since a column shows them")
            return "", ""
        words = self._mapping(VERDICT, self._written[VERDICT], ("passed", "failed"))
        passed, failed = (self._plain(f"{VERDICT}.{key}", words.get(key, "")) for key in ("passed", "failed"))
        return passed, failed

    def _cautions(self) -> list[tuple[str, str]]:
        """Cautions are a mapping of a subject to a sentence, or a list of those and of names in `cautions.yaml`."""
        value = self._written.get("cautions", Fields())
        listed = value if isinstance(value, list) else [value]
        if not all(listed) or not listed:
            if "cautions" in self._written:
                self._wrong("cautions", "there is none", "names of cautions, or a subject and a sentence for each")
            return []
        found = []
        for one in listed:
            if isinstance(one, Fields):
                found += [(subject, self._plain(f"cautions.{subject}", text)) for subject, text in one.items()]
                continue
            try:
                known = caution(self._plain("cautions", one))
                found.append((known.subject, known.says))
            except NotUnderstood as why:
                self._wrong("cautions", why.what, why.expected, one)
        return found

    def _citations(self) -> list[Citation]:
        value = self._written.get("citations", [])
        if not isinstance(value, list):
            self._wrong("citations", "this is no list", "a list of rule, says and confidence")
            return []
        found = []
        for number, one in enumerate(value, 1):
            key = f"citations[{number}]"
            fields = self._mapping(key, one, ("rule", "says", "confidence"))
            confidence = str(fields.get("confidence", ""))
            if confidence not in CONFIDENCES:
                self._wrong(f"{key}.confidence", f"{confidence or 'nothing'} is not known", ", ".join(CONFIDENCES), one)
            rule, says = (self._plain(f"{key}.{part}", fields.get(part, "")) for part in ("rule", "says"))
            found.append(Citation(rule, says, confidence))
        return found


def _near(word: str, known: Collection[str]) -> str:
    close = difflib.get_close_matches(word, known, n=1)
    return f" (did you mean {close[0]}?)" if close else ""
