"""Files and coordinates in, plain arrays out."""
