"""Report definitions, read from YAML that a grower can change."""
