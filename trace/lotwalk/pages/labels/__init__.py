"""Labels for media, trays and packs."""
