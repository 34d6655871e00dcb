"""Maps of walks: what was reached, drawn from left to right as time runs."""
