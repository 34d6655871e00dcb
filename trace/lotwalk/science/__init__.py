"""Published chemistry and laboratory notation as pure functions, each with its source beside it."""
