"""The day: what was published, what happened, where it stands, and how to repair it."""
