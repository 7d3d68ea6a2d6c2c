"""The papers of a plan: what leaves the screen and goes to the trench.

Everything here works on a `Job`: the answer to POST /plan as the contract words it, in the
caller's units, with places already put on a plane and on the globe. Nothing here reads files,
knows a route's request or plans anything.
"""
