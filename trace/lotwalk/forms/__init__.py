"""Forms to fill in on a phone or a tablet: how their boxes are named, and how a filled one is read back as entries."""
