"""Mass balance: what was made of a lot, where it went, and what is missing. Amounts are exact decimals."""
