"""The week plan: the problem, the search, and judges that do not trust the search."""
