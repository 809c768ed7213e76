"""Parameter sets of a professional world that fit a published record, many and not one."""
