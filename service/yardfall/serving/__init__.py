"""The front door: connections, whose turn it is, and how the service ends."""
