"""What a person writes, read: amounts, times, codes; and the bytes and hashes that a ledger keeps of it."""
