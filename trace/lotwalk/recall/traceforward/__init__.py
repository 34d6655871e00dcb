"""Forward from the causes to all that they could concern, level by level."""
