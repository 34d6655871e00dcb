"""Papers for the bad day: the recall report, and the trace of one lot or delivery."""
