"""A recall in sentences, that screen and paper share."""
