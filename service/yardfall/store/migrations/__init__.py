"""How the tables came to be what they are, a step a file; run by `store.migration`."""
