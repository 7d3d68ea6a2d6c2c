"""What a plan comes to, why, on what conditions, and what would mend it."""
