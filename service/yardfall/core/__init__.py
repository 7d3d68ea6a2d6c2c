"""The sums. Standard library, numpy and scipy only: no files, no web, no database."""
