"""Reads the calculator's YAML, every value as text."""

from collections.abc import Mapping
from pathlib import Path
from typing import Any

import yaml

from lotwalk.data import folder
from lotwalk.errors import KindError

SHIPPED = folder("schemas") / "mixing"
_Loader: Any = getattr(yaml, "CBaseLoader", yaml.BaseLoader)


def read(path: Path, top: str) -> Any:
    """Return what stands under the one key `top` of a file. Raises KindError for anything else."""
    try:
        content = yaml.load(path.read_text(encoding="utf-8"), Loader=_Loader)
    except (OSError, UnicodeDecodeError, yaml.YAMLError) as why:
        raise KindError(f"{path.name}: cannot be read: {' '.join(str(why).split())}") from None
    if not isinstance(content, Mapping) or set(content) != {top}:
        raise KindError(f"{path.name}: one key, `{top}`, was expected")
    return content[top]
