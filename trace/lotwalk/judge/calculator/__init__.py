"""What the calculator of mixes asks of the judges."""
