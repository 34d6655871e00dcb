"""One module for each command: words in, words out."""
