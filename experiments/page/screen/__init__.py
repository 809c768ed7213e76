"""What the page shows: markup, style, and the modules of its script (`main.mjs` first)."""
