"""One command a file: options in, one call of the API, words and files out."""
