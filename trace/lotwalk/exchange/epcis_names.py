"""Identifiers for what leaves the farm: GS1's where the farm has the numbers, else the farm's own. None is made up.

A lot of an article whose GTIN lies under the farm's company prefix is a GS1 Digital Link, or `urn:epc:class:lgtin`.
Anything else has an address under the farm's own domain where the settings name one, or else a UUID that follows from
the ledger's first entry and the code, so that it is the same in every export and in no other farm's.
"""

import uuid
from collections.abc import Sequence
from dataclasses import dataclass, field
from urllib.parse import quote, urlsplit

from lotwalk.errors import NotUnderstood
from lotwalk.exchange.farm import Farm
from lotwalk.exchange.reading import Reader
from lotwalk.values.codes import fold
from lotwalk.values.gs1 import RESOLVER, Article, gtin14, has_prefix

_PREFIX, _ADDRESS = "company_prefix", "link_address"


@dataclass(slots=True)
class Names:
    """Gives identifiers. `article` is the path from a lot's making to its GTIN; `notices` says what has none, and why.

    `urns` are GS1's lots in the form of EPC URNs, by their Digital Links.
    """

    farm: Farm
    reader: Reader
    article: Sequence[str]
    notices: list[str] = field(default_factory=list)
    urns: dict[str, str] = field(default_factory=dict)
    _lots: dict[str, str] = field(default_factory=dict)

    @property
    def _domain(self) -> str:
        """The farm's own address, or nothing."""
        address = self.farm.field(_ADDRESS).rstrip("/")
        return "" if urlsplit(address).hostname == urlsplit(RESOLVER).hostname else address

    @property
    def namespace(self) -> str:
        """The namespace of the farm's own terms."""
        return f"{self._domain}/terms/" if self._domain else f"{self.own('terms', '')}#"

    def own(self, what: str, name: str) -> str:
        """Return the farm's own identifier of something, such as a document by its number."""
        if self._domain:
            return "/".join(filter(None, (self._domain, what, quote(name, safe=""))))
        ledger = uuid.uuid5(uuid.NAMESPACE_URL, f"ni:///sha-256;{self.farm.first}")
        return f"urn:uuid:{uuid.uuid5(ledger, f'{what}/{fold(name)}')}"

    @property
    def farm_itself(self) -> str:
        """The farm, as a party and as a place."""
        return self.own("farm", "")

    def thing(self, code: str) -> str:
        """Return the identifier of a place, a partner or a paper."""
        thing = self.reader.thing(code)
        return self.own(thing.kind if thing else "thing", thing.code if thing else code)

    def lot(self, code: str) -> str:
        """Return the identifier of a lot."""
        if code not in self._lots:
            self._lots[code] = self._article(code) or self.thing(code)
        return self._lots[code]

    def _article(self, code: str) -> str:
        made = self.reader.maker(code)
        told = self.reader.follow(made, self.article) if made else []
        prefix = self.farm.field(_PREFIX)
        if not told or not prefix:
            return ""
        try:
            gtin = gtin14(told[0])
            if not has_prefix(gtin, prefix):
                raise NotUnderstood(f"the GTIN {told[0]} does not start with the farm's prefix {prefix}")
            article = Article(gtin, code)
        except NotUnderstood as why:
            self.notices.append(f"{code}: the farm's own identifier, since {why.what}.")
            return ""
        link = article.link()
        self.urns[link] = article.urn(prefix)
        return link
