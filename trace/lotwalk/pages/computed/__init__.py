"""The rows of a log that the program works out: gaps, items, lots, water, paragraphs."""
