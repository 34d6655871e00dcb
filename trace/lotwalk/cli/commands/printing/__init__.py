"""Commands that print paper: reports, the papers of a bad day, labels and forms."""
