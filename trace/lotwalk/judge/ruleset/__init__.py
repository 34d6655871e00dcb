"""Rule sets: limits and intervals in force, read from YAML."""
