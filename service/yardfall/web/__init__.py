"""The HTTP face: schemas, calls, problems, and the page."""
