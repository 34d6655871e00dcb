"""What may hurt somebody, told at once: what must never meet, gas, and allergens that no package declares."""
