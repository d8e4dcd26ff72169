"""Hand edits of a planned week: drafts, locks, planning again, comparing, checking."""
