"""Ground that whoever runs the planner named: tiles of elevations, lots and buildings.

Addresses are asked by `web_file` alone, and only below a root that was named.
"""
