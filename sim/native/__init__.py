"""Kernels that were compiled ahead of time, from the same source, and travel with the package.

`kernels.json` lists what is there: every kernel that Python code calls, with the types it is called
with, the hash of the source it was made from, and an object for each platform. `load` finds and
calls them without a compiler; `build` makes them anew. What is not there, or is of another version
of the source, is compiled on the user's machine as before (`sim.just_in_time`).
"""
