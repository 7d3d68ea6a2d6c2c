"""The sources that whoever runs the planner named, and what they have at a place."""
