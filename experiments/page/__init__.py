"""The offline page: what it carries, and the script that computes on it with the shipped kernels.

`state` gathers all that Python prepares: records of players, worlds, hitters and policies, layouts,
constants. `script` puts it and the modules beside it (*.mjs) into one text that a browser runs as a
worker. `spot.mjs` tells how the script is asked and what it answers.

`build` makes the page: `facts` and `texts` are what its screen knows beforehand, and `screen` holds
the markup, the style and the modules that show (`main.mjs` first), joined as those that compute.
"""

PAGE = "where-to-wait.html"
