"""One cause or one thing of a recall, looked at closely."""
