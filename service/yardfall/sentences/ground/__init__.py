"""The ground, and how it was surveyed."""
