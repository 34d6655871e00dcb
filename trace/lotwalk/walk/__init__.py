"""The walk: from a thing forward to all it can have reached, or back to all that can have reached it."""
