"""The report of a study: one page that opens offline, made from the result folder's files alone."""
