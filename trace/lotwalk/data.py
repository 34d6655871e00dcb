"""Where the data folders are, in a wheel, an editable install and a checkout alike."""

from pathlib import Path

_PACKAGE = Path(__file__).resolve().parent


def folder(name: str) -> Path:
    """Return the folder `schemas`, `reports` or `samples`.

    A wheel carries the folders inside the package; a checkout, and an editable install of one, has them
    two levels up, beside the source root.
    """
    inside = _PACKAGE / name
    return inside if inside.is_dir() else _PACKAGE.parent.parent / name
