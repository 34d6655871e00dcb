"""What to do in a recall: what to hold, whom to call, what stands on the packages."""
