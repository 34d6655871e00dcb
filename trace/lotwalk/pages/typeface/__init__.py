"""Letters on paper: typefaces, what stands in for a missing letter, and lines of text."""
