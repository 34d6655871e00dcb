"""The style, the types and the wheel are checked by the same command as everything else."""

import os
import subprocess
import sys
import venv
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings

ROOT = Path(__file__).parents[2]


@pytest.mark.parametrize(
    "arguments",
    [
        ["ruff", "check", "--no-cache", "--output-format", "concise"],
        ["ruff", "format", "--check", "--no-cache"],
        ["mypy", "--no-error-summary"],
    ],
    ids=["lint", "format", "types"],
)
def test_the_code_passes(arguments):
    done = subprocess.run([sys.executable, "-m", *arguments], cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr


def test_an_installed_wheel_finds_its_data_from_anywhere(tmp_path):
    """Built, installed without the checkout, run from another folder: the data folders travel inside the wheel."""
    subprocess.run(
        [sys.executable, "-m", "pip", "wheel", "--quiet", "--no-deps", "--wheel-dir", str(tmp_path), str(ROOT)],
        check=True,
        capture_output=True,
    )
    wheel = next(tmp_path.glob("lotwalk-*.whl"))
    environment = tmp_path / "env"
    venv.create(environment, with_pip=True, system_site_packages=False)
    python = environment / "bin" / "python"
    subprocess.run(
        [python, "-m", "pip", "install", "--quiet", "--no-deps", str(wheel)], check=True, capture_output=True
    )
    # The environment borrows the dependencies of this one, but not its lotwalk.
    site = next(path for path in map(Path, sys.path) if path.name == "site-packages")
    code = (
        "import sys; sys.path.append(sys.argv[1]);"
        "from lotwalk.book import Book; import lotwalk;"
        "from lotwalk.data import folder;"
        "book = Book.start(sys.argv[2], name='F', location='L', timezone='UTC', rules='us');"
        "print(lotwalk.__file__, len(book.ledger.kinds.names), (folder('samples') / 'README.md').is_file())"
    )
    done = subprocess.run(
        [python, "-c", code, str(site), str(tmp_path / "wheel.db")],
        cwd=tmp_path,
        env={name: value for name, value in os.environ.items() if name != "PYTHONPATH"},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    where, kinds, samples = done.stdout.split()
    assert Path(where).is_relative_to(environment)
    assert int(kinds) >= 45
    assert samples == "True"


def test_no_test_of_generated_values_fails_because_the_machine_is_busy():
    assert settings.default.deadline is None
    assert HealthCheck.too_slow in settings.default.suppress_health_check
