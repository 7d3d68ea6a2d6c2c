"""Where a pipe can come out in a yard: the lot, its search, lines laid, how sure, the routes."""
