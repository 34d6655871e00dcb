"""The record book, for the command line and for Python programs: open it, write in it, ask it.

with Book.open("lotwalk.db") as book:
    book.record("disposal", at="2026-03-02 17:00", by="NK", ...)
    answer = book.recall("Q-1")
"""

from lotwalk.book.book import SETTINGS_KIND, Book
from lotwalk.book.rules import DEFAULT_RULES, rules_in_force

__all__ = ["DEFAULT_RULES", "SETTINGS_KIND", "Book", "rules_in_force"]
