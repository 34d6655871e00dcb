"""Blank forms, printed for the clipboard or to be filled in on a screen, laid out from the kind files."""
