"""The offline page: what it carries, and the script that computes on it with the shipped kernels.

`state` gathers all that Python prepares: records of players, worlds, hitters and policies, layouts,
constants. `script` puts it and the modules beside it (*.mjs) into one text that a browser runs as a
worker. `spot.mjs` tells how the script is asked and what it answers.
"""
