"""The trench: how it is set out and checked, and a pipe that lies already."""
