"""Reads the calculator's YAML, every value as text."""

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from lotwalk.data import folder
from lotwalk.errors import KindError
from lotwalk.values.yaml_text import file_text, words_of

SHIPPED = folder("schemas") / "mixing"


def read(path: Path, top: str) -> Any:
    """Return what stands under the one key `top` of a file. Raises KindError for anything else."""
    content = words_of(file_text(path), path.name)
    if not isinstance(content, Mapping) or set(content) != {top}:
        raise KindError(f"{path.name}: one key, `{top}`, was expected")
    return content[top]
