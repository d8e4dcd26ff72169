"""Long work in the background: what a job is, the queue, and the kinds of work."""
