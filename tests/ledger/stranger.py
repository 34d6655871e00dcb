"""The README's program for a stranger, run as a stranger would: without Lotwalk."""

import contextlib
import io
import json
import re
import subprocess
import sys
from pathlib import Path
from unittest import mock

README = (Path(__file__).parents[2] / "README.md").read_text("utf-8")
(PROGRAM,) = re.findall(r"^```python\n(# check\.py\n.*?)^```$", README, re.MULTILINE | re.DOTALL)
_COMPILED = compile(PROGRAM, "check.py", "exec")


def run(folder, proof, head):
    """Run it in a process of its own that finds no module but the standard library's: (exit status, what it said)."""
    (folder / "check.py").write_text(PROGRAM, "utf-8")
    (folder / "proof.json").write_text(json.dumps(proof), "utf-8")
    command = [sys.executable, "-I", "-S", "check.py", "proof.json", head]
    done = subprocess.run(command, cwd=folder, capture_output=True, text=True, check=False)
    return done.returncode, done.stdout + done.stderr


def proves(proof, head):
    """Whether it says that this is proved; the same program in this process, for many proofs."""
    said = io.StringIO()
    opening = mock.patch("builtins.open", lambda *_, **__: io.StringIO(json.dumps(proof)))
    with opening, mock.patch.object(sys, "argv", ["check.py", "proof.json", head]), contextlib.redirect_stdout(said):
        try:
            exec(_COMPILED, {})
        except SystemExit as leaving:
            assert str(leaving.code).startswith("NOT PROVED"), leaving.code
            return False
        except (ValueError, IndexError, KeyError, TypeError):
            # What is no JSON or no hash any more ends it as well.
            return False
    return said.getvalue().startswith("Proved")


def words(head):
    return f"{head.size}:{head.root.hex()}"
