from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
import yaml

from lotwalk.kinds.library import Kinds
from lotwalk.kinds.model import Setting
from lotwalk.values.units import Units

ENTRIES = Path(__file__).parents[1] / "kinds" / "entries.yaml"


@pytest.fixture(scope="session")
def kinds() -> Kinds:
    return Kinds.load()


@pytest.fixture(scope="session")
def setting() -> Setting:
    return Setting(Units.load("metric"), ZoneInfo("Europe/London"))


def entries() -> dict[str, dict[str, object]]:
    """One full entry of each kind. All scalars are text, as on a sheet."""
    common = {"at": "2026-03-02 09:10", "by": "TO", "place": "WASH", "note": "a note", "files": ["a.pdf"]}
    listed = yaml.load(ENTRIES.read_text(encoding="utf-8"), Loader=yaml.BaseLoader)
    return {entry["kind"]: common | entry for entry in listed}
