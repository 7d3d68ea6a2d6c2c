"""One migration a file, each named by its number."""
