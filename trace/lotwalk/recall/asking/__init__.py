"""What a recall is asked about: complaints, deliveries, lots, buyers, and the lots that they stand for."""
