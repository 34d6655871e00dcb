"""No form of import is overlooked by those tests that say who may import whom."""

import pytest
from tests.house.imports import UNSEEN, imported


@pytest.mark.parametrize(
    ("source", "found"),
    [
        ("import lotwalk.cli", {"lotwalk.cli"}),
        ("import os, lotwalk.cli.main as main", {"os", "lotwalk.cli.main"}),
        ("import lotwalk", {"lotwalk"}),
        ("from lotwalk import cli", {"lotwalk.cli"}),
        ("from lotwalk import (\n    book,\n    cli as words,\n)", {"lotwalk.book", "lotwalk.cli"}),
        ("from lotwalk import *", {"lotwalk.*"}),
        ("from lotwalk.cli import main", {"lotwalk.cli.main"}),
        ("from lotwalk.cli.main import program", {"lotwalk.cli.main.program"}),
        ("from . import cli", {".cli"}),
        ("from .. import cli", {"..cli"}),
        ("from .cli import main", {".cli.main"}),
        ("from ..cli.main import program", {"..cli.main.program"}),
        ("import importlib\nimportlib.import_module('lotwalk.cli')", {"importlib", "lotwalk.cli"}),
        ("import importlib as i\ni.import_module(name='lotwalk.cli')", {"importlib", "lotwalk.cli"}),
        ("from importlib import import_module\nimport_module('lotwalk.cli')",
         {"importlib.import_module", "lotwalk.cli"}),
        ("import_module('.cli', 'lotwalk')", {UNSEEN}),
        ("import_module(f'lotwalk.{name}')", {UNSEEN}),
        ("import_module(name)", {UNSEEN}),
        ("import_module(*names)", {UNSEEN}),
        ("from importlib import import_module as load\nload('lotwalk.cli')", {"importlib.import_module", UNSEEN}),
        ("import importlib\nload = importlib.import_module\nload('lotwalk.cli')", {"importlib", UNSEEN}),
        ("list(map(__import__, names))", {UNSEEN}),
        ("__import__('lotwalk.cli')", {"lotwalk.cli"}),
        ("import builtins\nbuiltins.__import__('lotwalk.cli')", {"builtins", "lotwalk.cli"}),
        ("__import__('lotwalk', fromlist=['cli'])", {UNSEEN}),
        ("from typing import TYPE_CHECKING\nif TYPE_CHECKING:\n    from lotwalk.cli import main",
         {"typing.TYPE_CHECKING", "lotwalk.cli.main"}),
        ("def f():\n    from lotwalk import cli\n    return cli", {"lotwalk.cli"}),
        ("class A:\n    async def f(self):\n        with x:\n            import lotwalk.cli", {"lotwalk.cli"}),
        ("f = lambda: __import__('lotwalk.cli')", {"lotwalk.cli"}),
        ("def f(main=__import__('lotwalk.cli')): pass", {"lotwalk.cli"}),
        ("'import lotwalk.cli'\nname = 'lotwalk.cli'", set()),
    ],
)  # fmt: skip
def test_each_form_of_import_is_found(source, found):
    assert imported(source) == found
