"""Rule sets: the limits and intervals in force, each with its citation, read from YAML that a grower can edit."""

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass, replace
from decimal import Decimal
from pathlib import Path
from typing import TypeVar

from lotwalk.data import folder
from lotwalk.errors import NotUnderstood, Problem, Refused
from lotwalk.judge.ruleset.limits import Active, Heat, Limit
from lotwalk.judge.ruleset.rules_file import RulesFile, read_documents
from lotwalk.values.units import Amount

_MOST_BASES = 10
_WITHDRAWN = {
    "sanitising.without_label": (
        "US FDA Food Code 4-501.114 and 4-703.11, a model code for food establishments",
        "US FDA Food Code 4-501.114 and 4-703.11, where the state or county has adopted it",
    )
}
"""Limits that shipped rule sets held once, by a source that does not say so: the Food Code sends to the label.

A book keeps the text of its rule set, and with it the limit, which counts no more.
"""
_Value = TypeVar("_Value")


@dataclass(frozen=True, slots=True)
class RuleSet:
    """The limits and intervals in force.

    `text` is the YAML of the rule set and of those it is based on, in that order; `digest` its SHA-256 in hex.
    Reading `text` again gives the same rule set, without any file. `based_on` names the one under it. `sections` are
    those that the text speaks of, be it to take away what they hold: one from before there was a section does not.
    """

    title: str
    purpose: str
    text: str
    digest: str
    cautions: tuple[str, ...]
    limits: Mapping[str, Limit]
    actives: Mapping[str, Active]
    heat: Heat | None
    based_on: str | None = None
    sections: frozenset[str] = frozenset()

    @classmethod
    def load(cls, name: str) -> "RuleSet":
        """Return a shipped rule set by its name, or a grower's own by the path of its file.

        Raises NotUnderstood when there is none, and Refused with every mistake in its text.
        """
        path = _find(name, Path.cwd())
        texts = [_text_of(path)]
        seen = [path.resolve()]
        while based_on := _base_of(texts[-1], seen[-1].name):
            base = _find(based_on, seen[-1].parent).resolve()
            if base in seen or len(seen) == _MOST_BASES:
                raise Refused([Problem("the rule set is based on itself", field="based_on", source=path.name)])
            seen.append(base)
            texts.append(_text_of(base))
        text = "\n---\n".join(part.rstrip("\n") for part in texts) + "\n" if len(texts) > 1 else texts[0]
        return cls.read(text, [file.name for file in seen])

    @classmethod
    def read(cls, text: str, names: list[str] | None = None) -> "RuleSet":
        """Return the rule set that `text` holds; `names` are the files it came from, for messages.

        Raises Refused with every mistake.
        """
        parts = read_documents(text, names or ["rule set"])
        limits: dict[str, Limit] = {}
        actives: dict[str, Active] = {}
        heat: Heat | None = None
        cautions: list[str] = []
        for part in reversed(parts):
            limits = {key: limit for key, limit in (limits | part.limits).items() if key not in part.taken_away}
            limits = {key: limit for key, limit in limits.items() if limit.source not in _WITHDRAWN.get(key, ())}
            actives = {name: _over(actives.get(name), active) for name, active in (actives | part.actives).items()}
            heat = part.heat or heat
            cautions = [*part.cautions, *cautions]
        return cls(
            title=parts[0].title,
            purpose=parts[0].purpose,
            text=text,
            digest=hashlib.sha256(text.encode()).hexdigest(),
            cautions=tuple(dict.fromkeys(cautions)),
            limits=limits,
            actives=actives,
            heat=heat,
            based_on=parts[0].based_on,
            sections=frozenset(key.partition(".")[0] for part in parts for key in (*part.limits, *part.taken_away)),
        )

    @staticmethod
    def shipped() -> tuple[str, ...]:
        """Return the names of the rule sets that come with the program."""
        return tuple(sorted(path.stem for path in _shipped_folder().glob("*.yaml")))

    def amount(self, key: str) -> Amount | None:
        """Return a limit as an amount in canonical units, or None where the rule set has none."""
        return self._value(key, Amount)

    def flag(self, key: str) -> bool:
        """Return a yes-or-no limit; a missing one is no."""
        return bool(self._value(key, bool))

    def number(self, key: str) -> Decimal | None:
        """Return a limit that is a bare number, or None where the rule set has none."""
        return self._value(key, Decimal)

    def words(self, key: str) -> tuple[str, ...]:
        """Return a limit that is a list of words; a missing one is empty."""
        return self._value(key, tuple) or ()

    def active(self, ingredient: object) -> Active | None:
        """Return what is known of an active ingredient by any of its names, or None.

        A name counts where it stands as whole words in the ingredient: "sodium hypochlorite 8.25 %". Of several the
        longest counts: chlorine dioxide is no chlorine.
        """
        words = f" {' '.join(str(ingredient or '').casefold().replace(',', ' ').split())} "
        found = [
            (len(name), active)
            for active in self.actives.values()
            for name in active.names
            if f" {name.casefold()} " in words
        ]
        return max(found, key=lambda one: one[0])[1] if found else None

    def _value(self, key: str, form: type[_Value]) -> _Value | None:
        limit = self.limits.get(key)
        return limit.value if limit and isinstance(limit.value, form) else None


def _over(base: Active | None, own: Active) -> Active:
    """Return an active ingredient with what its own rule set says over what the one below says."""
    if base is None or base is own:
        return replace(own, names=own.names or (own.name,))
    return Active(own.name, own.names or base.names, {**base.limits, **own.limits}, own.table or base.table)


def _shipped_folder() -> Path:
    return folder("schemas") / "rules"


def _find(name: str, beside: Path) -> Path:
    """Return the file of a rule set: a shipped name, else a path, relative to `beside`."""
    shipped = _shipped_folder() / f"{name}.yaml"
    if name in RuleSet.shipped():
        return shipped
    own = beside / Path(name).expanduser()
    if not own.is_file():
        raise NotUnderstood(f"there is no rule set {name}", f"{', '.join(RuleSet.shipped())}, or the path of a file")
    return own


def _text_of(path: Path) -> str:
    try:
        return path.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as why:
        raise Refused([Problem(f"cannot be read: {why}", "a text file", source=path.name)]) from None


def _base_of(text: str, name: str) -> str | None:
    parts: list[RulesFile] = read_documents(text, [name])
    if len(parts) != 1:
        raise Refused([Problem("it holds several rule sets", "one, without `---` between its lines", source=name)])
    return parts[0].based_on
