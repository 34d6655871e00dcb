from collections.abc import Callable
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
import yaml

from lotwalk.errors import Refused
from lotwalk.kinds.check import check
from lotwalk.kinds.library import Kinds
from lotwalk.kinds.model import Checked, Setting
from lotwalk.values.units import Units

Read = Callable[..., Checked]


@pytest.fixture(scope="session")
def kinds() -> Kinds:
    return Kinds.load()


@pytest.fixture(scope="session")
def setting() -> Setting:
    return Setting(Units.load("metric"), ZoneInfo("Europe/London"))


@pytest.fixture(scope="session")
def read(kinds: Kinds, setting: Setting) -> Read:
    """Check an entry of a kind, signed and dated unless it says otherwise."""

    def read(kind: str, **fields: object) -> Checked:
        return check(kinds[kind], {"at": "2026-03-02 09:10", "by": "TO"} | fields, setting, kinds)

    return read


@pytest.fixture(scope="session")
def refusal(read: Read) -> Callable[..., list[str]]:
    """The problems of an entry that must be refused, as text."""

    def refusal(kind: str, **fields: object) -> list[str]:
        with pytest.raises(Refused) as caught:
            read(kind, **fields)
        return [str(problem) for problem in caught.value.problems]

    return refusal


@pytest.fixture(scope="session")
def entries() -> dict[str, dict[str, object]]:
    """One full entry of each kind. All scalars are text, as on a sheet."""
    text = (Path(__file__).parent / "entries.yaml").read_text(encoding="utf-8")
    common = {"at": "2026-03-02 09:10", "by": "TO", "place": "WASH", "note": "a note", "files": ["a.pdf"]}
    return {entry["kind"]: common | entry for entry in yaml.load(text, Loader=yaml.BaseLoader)}
