"""The sample farm's ledger, loaded once for all tests. Who writes to it copies it first."""

import atexit
import shutil
import tempfile
from functools import cache
from pathlib import Path

from lotwalk import demo


@cache
def ledger() -> Path:
    """Where the ledger stands, in a folder that goes when the tests end."""
    where = Path(tempfile.mkdtemp(prefix="lotwalk-sample-"))
    atexit.register(shutil.rmtree, where, ignore_errors=True)
    demo.load_all(str(where / "farm.db")).ledger.engine.dispose()
    return where / "farm.db"
