"""The water in the pipe, and what stands at its outlet."""
