"""The command line: words in, words out. What is done stands in the packages below."""
