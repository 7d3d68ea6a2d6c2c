"""What the contract says of every field, by name; the words that stand for values."""
